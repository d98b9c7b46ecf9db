#include "image/tiff_file.h"

#include <stdio.h>
#include <string.h>

/* The most that libtiff needs of a pixel at a time: four samples of 16 bits. */
#define MAX_PIXEL_BYTES 8.0

/* And for tables, however small the picture. */
#define TABLE_BYTES (1U << 20)

/* ---- Bytes from memory ------------------------------------------------------------- */

static tmsize_t
read_bytes (thandle_t handle, void *to, tmsize_t n)
{
  WsTiffFile *file = handle;
  const guint64 size = file->source->n_bytes;
  if (n <= 0 || file->at >= size)
    return 0;
  const guint64 taken = MIN ((guint64)n, size - file->at);
  memcpy (to, file->source->bytes + file->at, taken);
  file->at += taken;
  return (tmsize_t)taken;
}

static tmsize_t
write_nothing (thandle_t handle, void *from, tmsize_t n)
{
  (void)handle;
  (void)from;
  (void)n;
  return 0;
}

static toff_t
seek (thandle_t handle, toff_t offset, int whence)
{
  WsTiffFile *file = handle;
  const guint64 from = whence == SEEK_SET   ? 0
                       : whence == SEEK_CUR ? file->at
                                            : file->source->n_bytes;
  file->at = from + offset;
  return file->at;
}

static int
keep_open (thandle_t handle)
{
  (void)handle;
  return 0;
}

static toff_t
size_of (thandle_t handle)
{
  const WsTiffFile *file = handle;
  return file->source->n_bytes;
}

/* Never written to, since the file is opened for reading. */
static int
map (thandle_t handle, void **base, toff_t *size)
{
  const WsTiffFile *file = handle;
  *base = (void *)file->source->bytes;
  *size = file->source->n_bytes;
  return 1;
}

static void
unmap (thandle_t handle, void *base, toff_t size)
{
  (void)handle;
  (void)base;
  (void)size;
}

/* ---- Messages ---------------------------------------------------------------------- */

static void keep_message (WsTiffFile *file, const char *format, va_list arguments)
  G_GNUC_PRINTF (2, 0);

/* The first is the cause.  What it quotes of the file may be anything. */
static void
keep_message (WsTiffFile *file, const char *format, va_list arguments)
{
  if (file->message[0] != '\0')
    return;
  g_vsnprintf (file->message, sizeof file->message, format, arguments);
  for (char *c = file->message; *c != '\0'; c++)
    if (!g_ascii_isprint (*c))
      *c = '?';
}

static int hear_error (TIFF *tiff, void *data, const char *module, const char *format,
                       va_list arguments) G_GNUC_PRINTF (4, 0);
static int hear_warning (TIFF *tiff, void *data, const char *module, const char *format,
                         va_list arguments) G_GNUC_PRINTF (4, 0);

/* Both return 1: nobody else, and no handler that the whole process shares, hears of it. */
static int
hear_error (TIFF *tiff, void *data, const char *module, const char *format, va_list arguments)
{
  (void)tiff;
  (void)module;
  keep_message (data, format, arguments);
  return 1;
}

/* Warnings that tell of damage: a tag beyond the end of the file, and, of those while pixels are
 * decoded, those of JPEG and of fax codes, which mean that some were made up.  The others, as those
 * of tags that nobody knows, leave the pixels right. */
static gboolean
is_damage (const WsTiffFile *file, const char *module, const char *format)
{
  static const char *const decoders[] = { "JPEGLib", "LibJpeg", "Fax" };
  if (g_str_has_prefix (format, "IO error"))
    return TRUE;
  for (gsize i = 0; file->reading_pixels && i < G_N_ELEMENTS (decoders); i++)
    if (module != NULL && g_str_has_prefix (module, decoders[i]))
      return TRUE;
  return FALSE;
}

static int
hear_warning (TIFF *tiff, void *data, const char *module, const char *format, va_list arguments)
{
  (void)tiff;
  if (is_damage (data, module, format))
    keep_message (data, format, arguments);
  return 1;
}

/* ---- Opening ----------------------------------------------------------------------- */

static guint64
most_bytes (const WsImageSource *source)
{
  const double bytes = MAX_PIXEL_BYTES * 1e6 * source->max_megapixels + TABLE_BYTES;
  return bytes < (double)G_MAXSSIZE ? (guint64)bytes : 0;
}

/* "r": for reading; "c": strips stay as they are, since a picture in one strip is read row by row
 * anyway; "O": tables of strips are read as needed, however long they claim to be. */
gboolean
wsi_tiff_file_open (WsTiffFile *file, const WsImageSource *source)
{
  *file = (WsTiffFile){ .source = source, .max_bytes = most_bytes (source) };
  TIFFOpenOptions *options = TIFFOpenOptionsAlloc ();
  if (options == NULL)
    return FALSE;
  TIFFOpenOptionsSetMaxSingleMemAlloc (options, (tmsize_t)file->max_bytes);
  TIFFOpenOptionsSetErrorHandlerExtR (options, hear_error, file);
  TIFFOpenOptionsSetWarningHandlerExtR (options, hear_warning, file);
  file->tiff = TIFFClientOpenExt (source->name, "rcO", file, read_bytes, write_nothing, seek,
                                  keep_open, size_of, map, unmap, options);
  TIFFOpenOptionsFree (options);
  return file->tiff != NULL;
}

void
wsi_tiff_file_close (WsTiffFile *file)
{
  g_clear_pointer (&file->tiff, TIFFClose);
}

guint
wsi_tiff_file_short (const WsTiffFile *file, guint32 tag)
{
  guint16 value = 0;
  TIFFGetFieldDefaulted (file->tiff, tag, &value);
  return value;
}
