/*
 * The child decodes and writes a head, then the planes, to a pipe.  What it writes is not trusted:
 * everything in the head is checked, and what makes the program lay out memory is checked first.
 */
#define _GNU_SOURCE /* pipe2() */
#include "image/confined.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/sha256.h"
#include "base/shown.h"
#include "image/decoder.h"
#include "image/lockdown.h"

#define MAX_SECONDS 30         /* of processor time: 100 megapixels of TIFF take 5 */
#define WAITS 2                /* times that, since others may use the processor */
#define MAX_MESSAGE 1000       /* bytes */
#define BYTES_A_PIXEL 20.0     /* planes, turned planes, and what libtiff takes */
#define MORE_BYTES (64U << 20) /* for tables and libraries */

/* Until a child that is done has ended. */
#define END_STEPS 1000
#define END_STEP_US 1000

#define LOCKED_OUT 3 /* exit status of a child that could not be confined */

/* Of a picture; or the error, when `width` is 0. */
typedef struct
{
  guint32 width, height, bits;
  guint32 format; /* index */
  guint32 has_colour, lossy, has_rgb;
  guint32 tone;
  guint32 pages;
  double gamma, pixel_aspect;
  guint64 n_clear;
  guint32 codes[WS_IMAGE_CODES];
  guint32 code;              /* of an error */
  char message[MAX_MESSAGE]; /* ends in a zero byte */
} Head;

/* ---- The child ------------------------------------------------------------------------ */

/* It ends without a place to write counts of lines to: GCOVR_EXCL_START */

static gboolean
write_whole (int fd, const void *bytes, gsize n_bytes)
{
  const guint8 *at = bytes;
  while (n_bytes > 0)
  {
    const ssize_t n = write (fd, at, n_bytes);
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return FALSE;
    at += n;
    n_bytes -= (gsize)n;
  }
  return TRUE;
}

static void
fill_head (Head *head, const WsImage *image, const GError *error)
{
  memset (head, 0, sizeof *head);
  if (image == NULL)
  {
    head->code = error != NULL ? (guint32)error->code : 0;
    g_strlcpy (head->message, error != NULL ? error->message : "", sizeof head->message);
    return;
  }
  head->width = image->width;
  head->height = image->height;
  head->bits = image->bits;
  head->format = wsi_image_format_index (image->format);
  head->has_colour = image->has_colour ? 1 : 0;
  head->lossy = image->lossy ? 1 : 0;
  head->has_rgb = image->rgb != NULL ? 1 : 0;
  head->tone = image->tone;
  head->gamma = image->gamma;
  head->pixel_aspect = image->pixel_aspect;
  head->pages = image->pages;
  head->n_clear = image->n_clear;
  memcpy (head->codes, image->codes, sizeof head->codes);
}

static G_NORETURN void
be_child (const WsConfinedTask *task, int to)
{
  const double pixels = 1e6 * task->limits.max_megapixels;
  const WsLockdown lockdown = {
    .kept_fd = to,
    .max_bytes = (guint64)fmin (BYTES_A_PIXEL * pixels + MORE_BYTES, 0x1p62),
    .max_seconds = task->max_seconds,
  };
  GError *error = NULL;
  Head head;
  /* The parent's handlers aren't for here. */
  for (int number = 1; number < NSIG; number++)
    signal (number, SIG_DFL);
  if (!wsi_lock_down (&lockdown))
    _exit (LOCKED_OUT);
  const WsImage *image =
    task->decode (task->bytes, task->n_bytes, task->name, &task->limits, task->flags, &error);
  fill_head (&head, image, error);
  gboolean good = write_whole (to, &head, sizeof head);
  if (image != NULL)
  {
    const gsize n = (gsize)image->width * image->height;
    good = good && write_whole (to, image->linear, n * sizeof *image->linear) &&
           (image->rgb == NULL || write_whole (to, image->rgb, 3 * n));
  }
  _exit (good ? 0 : 1);
}

/* GCOVR_EXCL_STOP */

/* ---- The parent ----------------------------------------------------------------------- */

typedef struct
{
  const WsConfinedTask *task;
  int from;
  gint64 end; /* of its time, µs */
  gboolean is_late;
  gboolean is_done; /* wrote all that it will */
} Child;

/* FALSE when there is no more, or no more time. */
static gboolean
read_whole (Child *child, void *bytes, gsize n_bytes)
{
  guint8 *at = bytes;
  while (n_bytes > 0)
  {
    struct pollfd from = { .fd = child->from, .events = POLLIN };
    const gint64 left = child->end - g_get_monotonic_time ();
    const int ready = left > 0 ? poll (&from, 1, (int)(left / 1000 + 1)) : 0;
    child->is_late = ready == 0;
    if (ready == 0)
      return FALSE;
    const ssize_t n = ready < 0 ? -1 : read (child->from, at, n_bytes);
    if (n < 0 && errno == EINTR)
      continue;
    child->is_done = n == 0;
    if (n <= 0)
      return FALSE;
    at += n;
    n_bytes -= (gsize)n;
  }
  return TRUE;
}

static gboolean
head_is_sound (const Child *child, const Head *head)
{
  const guint32 wants_colour = child->task->flags & WS_IMAGE_COLOUR ? 1 : 0;
  return head->height > 0 && head->width <= G_MAXINT / 4 && head->height <= G_MAXINT / 4 &&
         (double)head->width * head->height <= 1e6 * child->task->limits.max_megapixels &&
         head->bits >= 1 && head->bits <= 16 && wsi_image_format_name (head->format) != NULL &&
         head->has_colour <= 1 && head->lossy <= 1 && head->has_rgb == wants_colour &&
         head->pages > 0 && head->n_clear <= (guint64)head->width * head->height &&
         head->tone <= WS_TONE_PROFILE && head->gamma >= 0 && head->gamma <= 10 &&
         head->pixel_aspect >= 0 && isfinite (head->pixel_aspect);
}

/* The child's own error: one line, whatever it wrote. */
static void
set_told (const WsConfinedTask *task, Head *head, GError **error)
{
  const gboolean known = head->code == WS_ERROR_DATA || head->code == WS_ERROR_TOO_LARGE;
  head->message[sizeof head->message - 1] = '\0';
  for (char *c = head->message; *c != '\0'; c++)
    if (g_ascii_iscntrl (*c))
      *c = '?';
  if (known && head->message[0] != '\0' && g_utf8_validate (head->message, -1, NULL))
    g_set_error_literal (error, WS_ERROR, (gint)head->code, head->message);
  else
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "%s: can't be decoded here", task->name);
}

static WsImage *
take_image (Child *child, GError **error)
{
  Head head;
  if (!read_whole (child, &head, sizeof head))
    return NULL;
  if (head.width == 0)
  {
    set_told (child->task, &head, error);
    return NULL;
  }
  if (!head_is_sound (child, &head))
    return NULL;
  g_autoptr (WsImage) image = ws_image_new (head.width, head.height, error);
  if (image == NULL)
    return NULL;
  const gsize n = (gsize)head.width * head.height;
  image->bits = head.bits;
  image->format = wsi_image_format_name (head.format);
  image->has_colour = head.has_colour != 0;
  image->lossy = head.lossy != 0;
  image->tone = (WsTone)head.tone;
  image->gamma = head.gamma;
  image->pixel_aspect = head.pixel_aspect;
  image->pages = head.pages;
  image->n_clear = head.n_clear;
  memcpy (image->codes, head.codes, sizeof image->codes);
  image->flags = child->task->flags;
  image->rgb = head.has_rgb ? g_try_malloc_n (n, 3) : NULL;
  if (head.has_rgb && image->rgb == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE, "%s: no memory for its pixels",
                 child->task->name);
    return NULL;
  }
  return read_whole (child, image->linear, n * sizeof *image->linear) &&
             (image->rgb == NULL || read_whole (child, image->rgb, 3 * n))
           ? g_steal_pointer (&image)
           : NULL;
}

/* Why there is no picture, when the child didn't say so itself. */
static void
set_broken_off (const Child *child, int status, GError **error)
{
  const char *name = child->task->name;
  const int number = WIFSIGNALED (status) ? WTERMSIG (status) : 0;
  if (WIFEXITED (status) && WEXITSTATUS (status) == LOCKED_OUT)
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL,
                 "%s: not decoded: pictures from elsewhere are decoded in a confined process only, "
                 "and this system grants none",
                 name);
  else if (child->is_late || number == SIGXCPU)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: decoding takes too long; this is no honest picture", name);
  else if (number == SIGSYS)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: decoding it asks for what no picture needs; this is no honest picture", name);
  else
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "%s: its decoder broke off, or wants more memory than pictures need; this is no "
                 "honest picture",
                 name);
}

/* One that is done ends soon, and how it ends tells what was wrong; others aren't waited for.
 * Returns the status. */
static int
end_child (const Child *child, pid_t pid)
{
  int status = 0;
  for (int i = 0; child->is_done && i < END_STEPS; i++)
  {
    if (waitpid (pid, &status, WNOHANG) == pid)
      return status;
    g_usleep (END_STEP_US);
  }
  kill (pid, SIGKILL);
  while (waitpid (pid, &status, 0) < 0 && errno == EINTR)
    ;
  return status;
}

static WsImage *
hear_child (const WsConfinedTask *task, pid_t pid, int from, GError **error)
{
  const gint64 wait = (gint64)WAITS * task->max_seconds * G_USEC_PER_SEC;
  Child child = { .task = task, .from = from, .end = g_get_monotonic_time () + wait };
  GError *told = NULL;
  WsImage *image = take_image (&child, &told);
  close (from);
  const int status = end_child (&child, pid);
  if (image == NULL && told == NULL)
    set_broken_off (&child, status, &told);
  if (told != NULL)
    g_propagate_error (error, told);
  return image;
}

WsImage *
wsi_image_decode_confined (const WsConfinedTask *task, GError **error)
{
  int ends[2];
  if (!wsi_image_open_reader (task->bytes, task->n_bytes, error))
    return NULL;
  if (pipe2 (ends, O_CLOEXEC) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "%s: no pipe to decode it by (%s)", task->name,
                 g_strerror (errno));
    return NULL;
  }
  const pid_t pid = fork ();
  if (pid == 0)
    be_child (task, ends[1]);
  close (ends[1]);
  if (pid > 0)
    return hear_child (task, pid, ends[0], error);
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "%s: no process to decode it in (%s)",
               task->name, g_strerror (errno));
  close (ends[0]);
  return NULL;
}

WsImage *
wsi_image_decode_bytes_confined (const guint8 *bytes, gsize n_bytes, const char *name,
                                 const WsImageLimits *limits, WsImageFlags flags, GError **error)
{
  const WsConfinedTask task = {
    ws_image_decode, bytes, n_bytes, name, *limits, flags, MAX_SECONDS
  };
  WsImage *image = wsi_image_decode_confined (&task, error);
  if (image != NULL)
    wsi_sha256_hex (bytes, n_bytes, image->sha256);
  return image;
}

WsImage *
wsi_image_read_confined (const char *path, const WsImageLimits *limits, WsImageFlags flags,
                         GError **error)
{
  const WsImageLimits chosen = limits != NULL ? *limits : (WsImageLimits)WS_IMAGE_LIMITS_DEFAULT;
  gsize n_bytes = 0;
  g_autofree guint8 *bytes = wsi_image_read_file (path, &chosen, &n_bytes, error);
  if (bytes == NULL)
    return NULL;
  g_autofree char *shown = wsi_shown (path);
  return wsi_image_decode_bytes_confined (bytes, n_bytes, shown, &chosen, flags, error);
}
