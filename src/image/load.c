#include "image/confined.h"
#include "image/decoder.h"

#include <errno.h>
#include <fcntl.h>
#ifdef __GLIBC__
#include <malloc.h>
#endif
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/sha256.h"
#include "base/shown.h"
#include "image/foreign.h"
#include "image/light.h"
#include "image/reread.h"

static const WsImageLimits default_limits = WS_IMAGE_LIMITS_DEFAULT;

static const WsImageFormat *const formats[] = {
  &wsi_image_format_png,
  &wsi_image_format_jpeg,
  &wsi_image_format_tiff,
  &wsi_image_format_bmp,
};

static const WsImageFormat *
format_of (const WsImageSource *source)
{
  for (gsize i = 0; i < G_N_ELEMENTS (formats); i++)
    if (formats[i]->matches (source))
      return formats[i];
  return NULL;
}

gboolean
wsi_image_open_reader (const guint8 *bytes, gsize n_bytes, GError **error)
{
  const WsImageSource source = { .bytes = bytes, .n_bytes = n_bytes };
  const WsImageFormat *format = format_of (&source);
  return format == NULL || format->open == NULL || format->open (error);
}

static const char *
foreign_kind (const WsImageSource *source)
{
  const char *kind = wsi_foreign_kind (source->bytes, source->n_bytes);
  return kind != NULL ? kind : "not a picture we can read";
}

guint
wsi_image_format_index (const char *name)
{
  guint i = 0;
  while (i < G_N_ELEMENTS (formats) && !g_str_equal (formats[i]->name, name))
    i++;
  return i;
}

const char *
wsi_image_format_name (guint index)
{
  return index < G_N_ELEMENTS (formats) ? formats[index]->name : NULL;
}

static WsImage *
decode_source (const WsImageSource *source, GError **error)
{
  if (source->n_bytes == 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: an empty file; copy the picture again",
                 source->name);
    return NULL;
  }
  const WsImageFormat *format = format_of (source);
  if (format == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: %s; what is read is PNG, JPEG, TIFF and BMP",
                 source->name, foreign_kind (source));
    return NULL;
  }

  WsImage *image = format->decode (source, error);
  if (image == NULL)
    return NULL;
  image->format = format->name;
  image->flags = source->flags;
  wsi_sha256_hex (source->bytes, source->n_bytes, image->sha256);
  return image;
}

static gboolean
check_file_bytes (const char *name, guint64 n_bytes, const WsImageLimits *limits, GError **error)
{
  if (n_bytes <= limits->max_file_bytes)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE,
               "%s: the file is larger than the limit of %.1f MB; take a smaller picture or raise "
               "the limit",
               name, (double)limits->max_file_bytes / 1e6);
  return FALSE;
}

static WsImage *
decode_bytes (const guint8 *bytes, gsize n_bytes, const char *name, const WsImageLimits *limits,
              WsImageFlags flags, GError **error)
{
  const WsImageLimits *chosen = limits != NULL ? limits : &default_limits;
  g_autofree char *shown = wsi_shown (name);

  if (!check_file_bytes (shown, n_bytes, chosen, error))
    return NULL;
  const WsImageSource source = {
    .bytes = bytes,
    .n_bytes = n_bytes,
    .name = shown,
    .max_megapixels = chosen->max_megapixels,
    .flags = flags,
  };
  return decode_source (&source, error);
}

WsImage *
ws_image_decode (const guint8 *bytes, gsize n_bytes, const char *name, const WsImageLimits *limits,
                 WsImageFlags flags, GError **error)
{
  return decode_bytes (bytes, n_bytes, name, limits, flags & ~(guint)WSI_IMAGE_SPARSE, error);
}

static gboolean
read_all (int fd, guint8 *bytes, gsize n_bytes)
{
  gsize done = 0;
  while (done < n_bytes)
  {
    const ssize_t n = read (fd, bytes + done, n_bytes - done);
    if (n < 0 && errno == EINTR)
      continue;
    if (n < 0)
      return FALSE;
    if (n == 0)
    {
      errno = EIO;
      return FALSE;
    }
    done += (gsize)n;
  }
  return TRUE;
}

static void
set_unreadable (const char *name, const char *reason, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: can't be read (%s); check its name", name,
               reason);
}

/* The open file's content.  Read, not mapped: a file cut short meanwhile would end the
 * program. */
static guint8 *
read_open_file (int fd, const char *name, const WsImageLimits *limits, gsize *n_bytes,
                GError **error)
{
  struct stat about;

  if (fstat (fd, &about) != 0)
  {
    set_unreadable (name, g_strerror (errno), error);
    return NULL;
  }
  if (!S_ISREG (about.st_mode))
  {
    set_unreadable (name, "not a file", error);
    return NULL;
  }
  if (!check_file_bytes (name, (guint64)about.st_size, limits, error))
    return NULL;

  *n_bytes = (gsize)about.st_size;
  g_autofree guint8 *bytes = g_try_malloc (*n_bytes + 1);
  if (bytes == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_TOO_LARGE, "%s: no memory to read it", name);
  else if (!read_all (fd, bytes, *n_bytes))
    set_unreadable (name, g_strerror (errno), error);
  else
    return g_steal_pointer (&bytes);
  return NULL;
}

guint8 *
wsi_image_read_file (const char *path, const WsImageLimits *limits, gsize *n_bytes, GError **error)
{
  g_autofree char *shown = wsi_shown (path);
  /* Not to wait for a pipe's other end. */
  const int fd = open (path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (fd < 0)
  {
    set_unreadable (shown, g_strerror (errno), error);
    return NULL;
  }
  guint8 *bytes = read_open_file (fd, shown, limits, n_bytes, error);
  close (fd);
  return bytes;
}

/* For confined decoding, which is asked for apart. */
static WsImage *
decode_confined (const guint8 *bytes, gsize n_bytes, const char *name, const WsImageLimits *limits,
                 WsImageFlags flags, GError **error)
{
  g_autofree char *shown = wsi_shown (name);
  WsImage *image = wsi_image_decode_bytes_confined (
    bytes, n_bytes, shown, limits,
    flags & ~(guint)(WS_IMAGE_CONFINED | WS_IMAGE_CODED | WSI_IMAGE_SPARSE), error);
  if (image != NULL)
    image->flags = flags;
  return image;
}

/* Of a picture few of whose pixels were kept: its file, to be decoded again. */
typedef struct
{
  GBytes *bytes; /* one of both */
  WsReread *reread;
  guint flags;
} Kept;

static void
kept_free (gpointer data)
{
  Kept *kept = data;
  g_clear_pointer (&kept->bytes, g_bytes_unref);
  wsi_reread_free (kept->reread);
  g_free (kept);
}

static GBytes *
bytes_of (const Kept *kept)
{
  return kept->bytes != NULL ? g_bytes_ref (kept->bytes) : wsi_reread_again (kept->reread);
}

/* A picture's, of which few were kept. */
static guint8 *
decode_again (gpointer data)
{
  const Kept *kept = data;
  /* It has passed the caller's limits before. */
  const WsImageLimits limits = { G_MAXDOUBLE, G_MAXUINT64 };
  gsize n_bytes;
  g_autoptr (GBytes) file = bytes_of (kept);
  if (file == NULL)
    return NULL;
  const guint8 *bytes = g_bytes_get_data (file, &n_bytes);
  g_autoptr (WsImage) image =
    ws_image_decode (bytes, n_bytes, "the picture", &limits, kept->flags, NULL);
  if (image == NULL)
    return NULL;
  return image->coded != NULL ? g_steal_pointer (&image->coded)
                              : (guint8 *)g_steal_pointer (&image->linear);
}

static void
keep (WsImage *image, GBytes *bytes, WsReread *reread, guint flags)
{
  Kept *kept = g_new (Kept, 1);
  *kept = (Kept){ bytes != NULL ? g_bytes_ref (bytes) : NULL, reread, flags };
  wsi_sparse_keep_file (image->sparse, decode_again, kept, kept_free);
}

/* Piece by piece, which takes no memory of its own; NULL where that can't be, or it is no sound
 * file: what it is then is found with all of its bytes. */
static WsImage *
load_in_pieces (const char *path, const WsImageLimits *limits, WsImageFlags flags)
{
  g_autoptr (WsReread) file = wsi_reread_open (path, limits->max_file_bytes);
  if (file == NULL)
    return NULL;
  WsImageSource source = {
    .more = wsi_reread_more,
    .data = file,
    .name = path,
    .max_megapixels = limits->max_megapixels,
    .flags = flags,
  };
  source.bytes = wsi_reread_first (file, &source.n_bytes);
  const WsImageFormat *format = format_of (&source);
  if (format == NULL || !format->in_pieces)
    return NULL;
  g_autoptr (WsImage) image = format->decode (&source, NULL);
  if (image == NULL || !wsi_reread_finish (file, image->sha256))
    return NULL;
  image->format = format->name;
  image->flags = flags;
  keep (image, NULL, g_steal_pointer (&file), flags);
#ifdef __GLIBC__
  /* What reading took lies in between what is kept, and measuring would need more beside it. */
  malloc_trim (0);
#endif
  return g_steal_pointer (&image);
}

static WsImage *
load_whole (const char *path, const WsImageLimits *limits, WsImageFlags flags, GError **error)
{
  gsize n_bytes = 0;
  g_autofree guint8 *bytes = wsi_image_read_file (path, limits, &n_bytes, error);
  if (bytes == NULL)
    return NULL;
  WsImage *image = flags & WS_IMAGE_CONFINED
                     ? decode_confined (bytes, n_bytes, path, limits, flags, error)
                     : decode_bytes (bytes, n_bytes, path, limits, flags, error);
  const gboolean has_colour = image != NULL && image->has_colour && image->rgb == NULL;
  if (!has_colour && (image == NULL || image->sparse == NULL))
    return image;
  g_autoptr (GBytes) file = g_bytes_new_take (g_steal_pointer (&bytes), n_bytes);
  if (image->sparse != NULL)
    keep (image, file, NULL, flags);
  image->file = has_colour ? g_steal_pointer (&file) : NULL;
  return image;
}

WsImage *
ws_image_load (const char *path, const WsImageLimits *limits, WsImageFlags flags, GError **error)
{
  const WsImageLimits *chosen = limits != NULL ? limits : &default_limits;
  const guint sparse = WSI_IMAGE_SPARSE | WS_IMAGE_CODED;
  const gboolean may_be_sparse =
    (flags & sparse) == sparse && !(flags & (WS_IMAGE_COLOUR | WS_IMAGE_CONFINED));
  WsImage *image = may_be_sparse ? load_in_pieces (path, chosen, flags) : NULL;
  return image != NULL ? image : load_whole (path, chosen, flags, error);
}

GBytes *
wsi_image_file (const WsImage *image)
{
  if (image->file != NULL)
    return g_bytes_ref (image->file);
  return image->sparse != NULL && image->has_colour ? bytes_of (wsi_sparse_file (image->sparse))
                                                    : NULL;
}

WsImage *
ws_image_in_colour (const WsImage *image)
{
  gsize n_bytes;
  g_autoptr (GBytes) file = wsi_image_file (image);
  if (file == NULL)
    return NULL;
  const guint8 *bytes = g_bytes_get_data (file, &n_bytes);
  /* It has passed the caller's limits before. */
  const WsImageLimits limits = { G_MAXDOUBLE, G_MAXUINT64 };
  const WsImageLimits usual = WS_IMAGE_LIMITS_DEFAULT;
  if (image->flags & WS_IMAGE_CONFINED)
    return decode_confined (bytes, n_bytes, "the picture", &usual, image->flags | WS_IMAGE_COLOUR,
                            NULL);
  return ws_image_decode (bytes, n_bytes, "the picture", &limits, image->flags | WS_IMAGE_COLOUR,
                          NULL);
}
