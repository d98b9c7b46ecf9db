/*
 * Pictures decoded in a child process: the same picture, and decoders that a picture has taken
 * over do no harm.
 */
#define _GNU_SOURCE
#include "base/testing.h"

#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <tiffio.h>
#include <whetsight/error.h>

#include "image/confined.h"
#include "image/lockdown.h"

#define PICTURE WS_SOURCE_DIR "/images/point-offset.jpg"
#define DRAWING WS_SOURCE_DIR "/images/good-118.png"

/* Seen changed if a decoder reached it. */
static guint touched;

/* Never cleared. */
static volatile gboolean for_ever = TRUE;

/* ---- Decoders that were taken over ------------------------------------------------------ */

#define DECODER(name)                                                                              \
  static WsImage *name (const guint8 *bytes G_GNUC_UNUSED, gsize n_bytes G_GNUC_UNUSED,            \
                        const char *called G_GNUC_UNUSED,                                          \
                        const WsImageLimits *limits G_GNUC_UNUSED,                                 \
                        WsImageFlags flags G_GNUC_UNUSED, GError **error G_GNUC_UNUSED)

DECODER (aborts)
{
  touched++;
  abort ();
}

DECODER (crashes)
{
  touched++;
  raise (SIGSEGV);
  return NULL;
}

DECODER (loops)
{
  while (for_ever)
    touched++;
  return NULL;
}

DECODER (waits)
{
  g_usleep (60 * G_USEC_PER_SEC);
  return NULL;
}

DECODER (takes_memory)
{
  while (for_ever)
  {
    char *taken = g_malloc (64 << 20);
    memset (taken, 1, 64 << 20);
  }
  return NULL;
}

DECODER (opens_a_file)
{
  if (open (DRAWING, O_RDONLY) >= 0)
    return ws_image_new (1, 1, error);
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "no file");
  return NULL;
}

DECODER (calls_home)
{
  if (socket (AF_INET, SOCK_STREAM, 0) >= 0)
    return ws_image_new (1, 1, error);
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "no network");
  return NULL;
}

DECODER (makes_a_process)
{
  if (fork () >= 0)
    return ws_image_new (1, 1, error);
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "no process");
  return NULL;
}

/* To whatever is open, which is the way back. */
static void
write_anywhere (const void *bytes, gsize n_bytes)
{
  for (int fd = 3; fd < 1024; fd++)
    if (write (fd, bytes, n_bytes) == (gssize)n_bytes)
      touched++;
}

DECODER (lies)
{
  guint8 head[4096];
  memset (head, 0xFF, sizeof head);
  write_anywhere (head, sizeof head);
  while (for_ever)
    touched++;
  return NULL;
}

DECODER (tells_nonsense)
{
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "two\nlines \x1b[2J");
  return NULL;
}

DECODER (tells_bytes)
{
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, "no \xFF text");
  return NULL;
}

DECODER (says_nothing)
{
  return NULL;
}

DECODER (ends_well)
{
  _exit (0);
}

/* Beyond the limits of the task. */
DECODER (grows)
{
  return ws_image_new (2000, 2000, error);
}

/* ---- Tests ------------------------------------------------------------------------------ */

static guint
open_files (void)
{
  guint n = 0;
  GDir *dir = g_dir_open ("/proc/self/fd", 0, NULL);
  assert_non_null (dir);
  while (g_dir_read_name (dir) != NULL)
    n++;
  g_dir_close (dir);
  return n;
}

/* What is told, in one line; the program goes on as it was. */
static char *
told_of (WsImageDecoder decode, int code)
{
  const WsConfinedTask task = { .decode = decode,
                                .bytes = (const guint8 *)"x",
                                .n_bytes = 1,
                                .name = "p.png",
                                .limits = { .max_megapixels = 1, .max_file_bytes = 1000 },
                                .max_seconds = 1 };
  const guint files = open_files ();
  GError *error = NULL;
  touched = 0;
  assert_null (wsi_image_decode_confined (&task, &error));
  assert_non_null (error);
  assert_int_equal (error->domain, WS_ERROR);
  assert_int_equal (error->code, code);
  assert_lacks (error->message, "\n");
  assert_lacks (error->message, "\x1b");
  assert_true (g_utf8_validate (error->message, -1, NULL));
  assert_int_equal (touched, 0);
  assert_int_equal (open_files (), files);
  char *message = g_strdup (error->message);
  g_error_free (error);
  return message;
}

static void
check_told (WsImageDecoder decode, int code, const char *expected)
{
  g_autofree char *message = told_of (decode, code);
  assert_contains (message, expected);
}

static void
test_broken_decoders (void **state)
{
  (void)state;
  check_told (aborts, WS_ERROR_DATA, "p.png: its decoder broke off");
  check_told (crashes, WS_ERROR_DATA, "p.png: its decoder broke off");
  check_told (ends_well, WS_ERROR_DATA, "p.png: its decoder broke off");
  check_told (says_nothing, WS_ERROR_INTERNAL, "p.png: can't be decoded here");
}

static void
test_without_end (void **state)
{
  (void)state;
  check_told (loops, WS_ERROR_DATA, "p.png: decoding takes too long");
}

/* Sleeping is nothing that a decoder needs; without the filter the time is up. */
static void
test_waiting (void **state)
{
  (void)state;
  check_told (waits, WS_ERROR_DATA,
              wsi_lockdown_has_filter () ? "what no picture needs" : "takes too long");
}

static void
test_memory (void **state)
{
  (void)state;
#if defined(__SANITIZE_ADDRESS__)
  skip_for ("sanitizers take address space without end");
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
  skip_for ("sanitizers take address space without end");
#endif
#endif
  check_told (takes_memory, WS_ERROR_DATA, "more memory than pictures need");
}

static void
test_nothing_to_reach (void **state)
{
  (void)state;
  check_told (opens_a_file, WS_ERROR_DATA, "no file");
  if (!wsi_lockdown_has_filter ())
    skip_for ("no filter of system calls in this build");
  check_told (calls_home, WS_ERROR_DATA, "what no picture needs");
  check_told (makes_a_process, WS_ERROR_DATA, "what no picture needs");
}

static void
test_lies (void **state)
{
  (void)state;
  check_told (lies, WS_ERROR_DATA, "broke off");
  check_told (grows, WS_ERROR_DATA, "broke off");
  check_told (tells_nonsense, WS_ERROR_DATA, "two?lines ?[2J");
  check_told (tells_bytes, WS_ERROR_INTERNAL, "p.png: can't be decoded here");
}

static void
check_same (const char *path, WsImageFlags flags)
{
  GError *error = NULL;
  g_autoptr (WsImage) plain = ws_image_load (path, NULL, flags, &error);
  assert_null (error);
  g_autoptr (WsImage) image = wsi_image_read_confined (path, NULL, flags, &error);
  assert_null (error);
  const gsize n = (gsize)plain->width * plain->height;
  assert_int_equal (image->width, plain->width);
  assert_int_equal (image->height, plain->height);
  assert_memory_equal (image->linear, plain->linear, n * sizeof *plain->linear);
  assert_int_equal (image->rgb != NULL, plain->rgb != NULL);
  if (plain->rgb != NULL)
    assert_memory_equal (image->rgb, plain->rgb, 3 * n);
  assert_string_equal (image->format, plain->format);
  assert_int_equal (image->bits, plain->bits);
  assert_int_equal (image->has_colour, plain->has_colour);
  assert_int_equal (image->lossy, plain->lossy);
  assert_int_equal (image->tone, plain->tone);
  assert_near (image->gamma, plain->gamma, 0);
  assert_string_equal (image->sha256, plain->sha256);
}

static void
test_same_picture (void **state)
{
  (void)state;
  check_same (PICTURE, WS_IMAGE_GREY);
  check_same (PICTURE, WS_IMAGE_COLOUR);
  check_same (DRAWING, WS_IMAGE_GREY);
  check_same (DRAWING, WS_IMAGE_COLOUR);
}

/* A library that is opened when it is first needed can't be from behind the filter.  This is the
 * first TIFF of the process. */
static void
test_late_library (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("confined-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "p.tiff", NULL);
  guint8 row[3] = { 0, 128, 255 };
  TIFF *tiff = TIFFOpen (path, "w");
  TIFFSetField (tiff, TIFFTAG_IMAGEWIDTH, 3);
  TIFFSetField (tiff, TIFFTAG_IMAGELENGTH, 1);
  TIFFSetField (tiff, TIFFTAG_BITSPERSAMPLE, 8);
  TIFFSetField (tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
  assert_int_equal (TIFFWriteScanline (tiff, row, 0, 0), 1);
  TIFFClose (tiff);
  GError *error = NULL;
  g_autoptr (WsImage) image = wsi_image_read_confined (path, NULL, WS_IMAGE_GREY, &error);
  assert_null (error);
  assert_int_equal (image->width, 3);
  assert_int_equal (image->linear[2], WS_IMAGE_FULL_SCALE);
  check_same (path, WS_IMAGE_GREY);
  g_unlink (path);
  g_rmdir (folder);
}

/* Told as by ws_image_load(). */
static void
test_same_errors (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("confined-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "p.png", NULL);
  static const struct
  {
    const char *bytes;
    gsize n;
  } files[] = { { "", 0 }, { "text", 4 }, { "\x89PNG\r\n\x1a\nno more", 15 } };
  for (gsize i = 0; i < G_N_ELEMENTS (files); i++)
  {
    GError *plain = NULL, *error = NULL;
    assert_true (g_file_set_contents (path, files[i].bytes, (gssize)files[i].n, NULL));
    assert_null (ws_image_load (path, NULL, WS_IMAGE_GREY, &plain));
    assert_null (wsi_image_read_confined (path, NULL, WS_IMAGE_GREY, &error));
    assert_string_equal (error->message, plain->message);
    assert_int_equal (error->code, plain->code);
    g_error_free (plain);
    g_error_free (error);
  }
  const WsImageLimits small = { .max_megapixels = 0.1, .max_file_bytes = 1 << 24 };
  GError *error = NULL;
  assert_null (wsi_image_read_confined (DRAWING, &small, WS_IMAGE_GREY, &error));
  assert_int_equal (error->code, WS_ERROR_TOO_LARGE);
  g_clear_error (&error);
  g_unlink (path);
  g_rmdir (folder);
  assert_null (wsi_image_read_confined (path, NULL, WS_IMAGE_GREY, &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  g_error_free (error);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_broken_decoders),  cmocka_unit_test (test_without_end),
    cmocka_unit_test (test_waiting),          cmocka_unit_test (test_memory),
    cmocka_unit_test (test_nothing_to_reach), cmocka_unit_test (test_lies),
    cmocka_unit_test (test_same_picture),     cmocka_unit_test (test_same_errors),
    cmocka_unit_test (test_late_library),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
