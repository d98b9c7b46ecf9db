#include "image/decoder.h"
#include "image/passing.h"
#include "image/png_errors.h"
#include "image/png_rows.h"
#include "image/profile.h"
#include "image/spare.h"
#include "image/taken.h"
#include "image/taken_pixels.h"

#include <setjmp.h>
#include <string.h>

/* Enough for any honest profile or text; stops chunks that blow up when unpacked. */
#define MAX_CHUNK_BYTES (4U << 20)
#define MAX_CHUNKS 256U

/* Where chunks begin, and what each has beside its data: length, name, checksum. */
#define PNG_FIRST_CHUNK 8
#define PNG_CHUNK_FRAME 12

/* No note of a camera's is longer. */
#define MAX_NOTE 200

/* PNG gamma is in parts of 100000: 45455 stands for light = code ^ 2.2. */
#define PNG_GAMMA_SCALE 100000
#define PNG_GAMMA_MIN (PNG_GAMMA_SCALE / 5)
#define PNG_GAMMA_MAX (PNG_GAMMA_SCALE * 5)

/* PNG 3rd edition, 8.1: where each pass starts and how far apart its pixels lie. */
static const struct
{
  guint x0, y0, dx, dy;
} adam7[] = {
  { 0, 0, 8, 8 }, { 4, 0, 8, 8 }, { 0, 4, 4, 8 }, { 2, 0, 4, 4 },
  { 0, 2, 2, 4 }, { 1, 0, 2, 2 }, { 0, 1, 1, 2 },
};

typedef struct
{
  const WsImageSource *source;
  gsize at; /* next byte to hand out */
  png_structp png;
  png_infop info;
  guint channels; /* as delivered; 0: indices into `palette` */
  WsLight light;
  WsPalette palette;
  guint8 *row;
  guint16 *narrow_linear; /* one row of an interlaced picture's pass */
  guint8 *narrow_rgb;
  WsImage *image;
  WsPngMessage message; /* libpng's, when it gave up */
  GError **error;       /* ours */
} Reader;

static gboolean
matches (const WsImageSource *source)
{
  return source->n_bytes >= 4 && memcmp (source->bytes, "\x89PNG", 4) == 0;
}

static void
read_bytes (png_structp png, png_bytep to, size_t n)
{
  Reader *reader = png_get_io_ptr (png);
  if (n > reader->source->n_bytes - reader->at)
    png_error (png, "the file ends too early");
  memcpy (to, reader->source->bytes + reader->at, n);
  reader->at += n;
}

static void
set_limits (png_structp png)
{
  png_set_user_limits (png, G_MAXINT / 4, G_MAXINT / 4);
  png_set_chunk_malloc_max (png, MAX_CHUNK_BYTES);
  png_set_chunk_cache_max (png, MAX_CHUNKS);
  png_set_crc_action (png, PNG_CRC_ERROR_QUIT, PNG_CRC_ERROR_QUIT);
}

static WsProfileFound
read_profile (Reader *reader, WsToneCurve *curve)
{
  png_charp name;
  png_bytep bytes;
  png_uint_32 n_bytes;
  int compression;
  const gboolean coloured =
    (png_get_color_type (reader->png, reader->info) & PNG_COLOR_MASK_COLOR) != 0;
  if (!png_get_iCCP (reader->png, reader->info, &name, &compression, &bytes, &n_bytes))
    return WS_PROFILE_UNUSED;
  return wsi_profile_read (bytes, n_bytes, coloured, curve);
}

/* A profile goes before sRGB, that before gAMA (PNG 3rd edition, 4.3); libpng takes a profile known
 * to be sRGB for an sRGB chunk.  cICP is not looked at. */
static gboolean
read_tone (Reader *reader, WsToneCurve *curve)
{
  int intent;
  png_fixed_point gamma;

  if (wsi_tone_told (reader->source->flags, curve))
    return TRUE;
  const WsProfileFound found = read_profile (reader, curve);
  if (found == WS_PROFILE_WRONG)
    wsi_image_set_unsupported (reader->source, "PNG", WS_PROFILE_IS_WRONG, reader->error);
  if (found != WS_PROFILE_UNUSED)
    return found == WS_PROFILE_READ;
  *curve = (WsToneCurve){ .tone = WS_TONE_SRGB_ASSUMED };
  if (png_get_sRGB (reader->png, reader->info, &intent))
    curve->tone = WS_TONE_SRGB;
  else if (png_get_gAMA_fixed (reader->png, reader->info, &gamma))
  {
    if (gamma < PNG_GAMMA_MIN || gamma > PNG_GAMMA_MAX)
    {
      wsi_image_set_unsupported (reader->source, "PNG", "a gamma out of all reason", reader->error);
      return FALSE;
    }
    curve->tone = gamma == PNG_GAMMA_SCALE ? WS_TONE_LINEAR : WS_TONE_GAMMA;
    curve->gamma = curve->tone == WS_TONE_GAMMA ? (double)PNG_GAMMA_SCALE / gamma : 0.0;
  }
  return TRUE;
}

/* Colours by index for a palette; TRUE if any of them is not grey. */
static gboolean
read_palette (const Reader *reader, guint8 *rgba)
{
  png_colorp colours = NULL;
  png_bytep alpha = NULL;
  int n_colours = 0, n_alpha = 0;
  gboolean coloured = FALSE;

  png_get_PLTE (reader->png, reader->info, &colours, &n_colours);
  png_get_tRNS (reader->png, reader->info, &alpha, &n_alpha, NULL);
  for (int i = 0; i < MIN (n_colours, 256); i++)
  {
    const png_color colour = colours[i];
    const guint8 entry[4] = { colour.red, colour.green, colour.blue,
                              i < n_alpha ? alpha[i] : 0xFF };
    memcpy (rgba + 4 * i, entry, sizeof entry);
    coloured |= colour.red != colour.green || colour.green != colour.blue;
  }
  return coloured;
}

/* Greys by code, for 1 to 8 bits; one of them may be transparent. */
static void
read_greys (const Reader *reader, guint bits, guint8 *rgba)
{
  const guint max = (1U << bits) - 1;
  png_color_16p clear = NULL;

  for (guint code = 0; code <= max; code++)
    memset (rgba + 4 * code, (int)(code * 255 / max), 3);
  png_get_tRNS (reader->png, reader->info, NULL, NULL, &clear);
  if (clear != NULL && clear->gray <= max)
    rgba[4 * clear->gray + 3] = 0;
}

static gboolean
is_indexed (const Reader *reader)
{
  const guint type = png_get_color_type (reader->png, reader->info);
  return type == PNG_COLOR_TYPE_PALETTE ||
         (type == PNG_COLOR_TYPE_GRAY && png_get_bit_depth (reader->png, reader->info) <= 8);
}

static gboolean
prepare_pixels (Reader *reader, WsToneCurve *curve)
{
  const guint type = png_get_color_type (reader->png, reader->info);
  const guint bits = png_get_bit_depth (reader->png, reader->info);
  gboolean coloured = (type & PNG_COLOR_MASK_COLOR) != 0;

  if (!read_tone (reader, curve))
    return FALSE;
  wsi_light_init (&reader->light, curve, bits == 16 ? 16 : 8, reader->source->flags);
  reader->light.clear = &reader->image->n_clear;
  reader->light.codes = bits <= 8 ? reader->image->codes : NULL;
  if (is_indexed (reader))
  {
    guint8 rgba[4 * 256];
    wsi_grey_ramp (rgba);
    if (type == PNG_COLOR_TYPE_PALETTE)
      coloured = read_palette (reader, rgba);
    else
      read_greys (reader, bits, rgba);
    wsi_palette_init (&reader->palette, &reader->light, rgba);
    if (reader->image->linear == NULL)
      memcpy (reader->image->light, reader->palette.linear, sizeof reader->image->light);
    png_set_packing (reader->png);
  }
  else if (png_get_valid (reader->png, reader->info, PNG_INFO_tRNS))
    png_set_tRNS_to_alpha (reader->png);
  if (bits == 16 && G_BYTE_ORDER == G_LITTLE_ENDIAN)
    png_set_swap (reader->png);
  reader->image->bits = bits;
  reader->image->has_colour = coloured;
  return TRUE;
}

/* NULL unless it is a line of text. */
static char *
note_of (const png_text *text)
{
  const gsize n = MAX (text->text_length, text->itxt_length);
  if (text->text == NULL || n == 0 || n > MAX_NOTE ||
      !g_utf8_validate (text->text, (gssize)n, NULL))
    return NULL;
  for (gsize i = 0; i < n; i++)
    if (g_ascii_iscntrl (text->text[i]))
      return NULL;
  return g_strndup (text->text, n);
}

/* How it was taken, where `whetsight capture` took it. */
static void
read_notes (Reader *reader)
{
  png_textp texts = NULL;
  int n_texts = 0;
  png_get_text (reader->png, reader->info, &texts, &n_texts);
  reader->image->taken = g_new0 (WsTaken, 1);
  char **notes = reader->image->taken->of;
  for (int i = 0; i < n_texts; i++)
    for (WsTakenName name = 0; name < WS_N_TAKEN; name++)
      if (notes[name] == NULL && g_str_equal (texts[i].key, wsi_taken_keyword (name)))
        notes[name] = note_of (&texts[i]);
  if (!wsi_taken_is_whole (reader->image->taken))
    g_clear_pointer (&reader->image->taken, wsi_taken_free);
  else if (!(reader->source->flags & (WS_IMAGE_TOLD_SRGB | WS_IMAGE_TOLD_LINEAR)))
    wsi_taken_apply (reader->image->taken, reader->image);
}

/* One of at most 256 greys or colours for each pixel, row after row. */
static gboolean
may_stay_coded (const Reader *reader)
{
  return wsi_image_wants_codes (reader->source) && is_indexed (reader) &&
         png_get_interlace_type (reader->png, reader->info) == PNG_INTERLACE_NONE;
}

/* Of a file that comes in pieces all of the pixels can't be kept. */
static WsImage *
new_image (const Reader *reader, guint width, guint height)
{
  const WsImageSource *source = reader->source;
  const gboolean coded = may_stay_coded (reader);
  if (source->more != NULL)
    return wsi_image_check_size (source, width, height, reader->error)
             ? wsi_image_new_sparse (width, height, coded ? 1 : 2)
             : NULL;
  return coded ? wsi_image_new_coded_within (source, width, height, reader->error)
               : wsi_image_new_within (source, width, height, reader->error);
}

static gboolean
prepare (Reader *reader)
{
  WsToneCurve curve;

  set_limits (reader->png);
  png_set_read_fn (reader->png, reader, read_bytes);
  png_read_info (reader->png, reader->info);
  const guint width = png_get_image_width (reader->png, reader->info);
  const guint height = png_get_image_height (reader->png, reader->info);
  reader->image = new_image (reader, width, height);
  if (reader->image == NULL || !prepare_pixels (reader, &curve))
    return FALSE;
  png_uint_32 along_x = 0, along_y = 0;
  int unit;
  if (png_get_pHYs (reader->png, reader->info, &along_x, &along_y, &unit))
    reader->image->pixel_aspect = wsi_image_aspect (along_x, along_y);
  reader->image->tone = curve.tone;
  reader->image->gamma = curve.gamma;
  read_notes (reader);
  if (reader->image->sparse != NULL && !reader->image->lossy)
    wsi_passing_begin (reader->image->sparse);

  png_read_update_info (reader->png, reader->info);
  reader->channels = is_indexed (reader) ? 0 : png_get_channels (reader->png, reader->info);
  reader->row = g_try_malloc (png_get_rowbytes (reader->png, reader->info));
  return reader->row != NULL || wsi_image_set_no_room (reader->source, reader->error);
}

static void
read_row (Reader *reader, guint n, guint16 *linear, guint8 *rgb)
{
  png_read_row (reader->png, reader->row, NULL);
  if (reader->channels == 0)
    wsi_palette_row (&reader->palette, reader->row, n, linear, rgb);
  else
    wsi_light_row (&reader->light, reader->row, reader->channels, n, linear, rgb);
}

static void
read_coded_row (Reader *reader, guint8 *row)
{
  png_read_row (reader->png, row, NULL);
  wsi_palette_count (&reader->palette, row, reader->image->width);
}

/* One of the passes of an interlaced picture: its pixels are a coarser picture, spread
 * out here. */
static void
read_pass (Reader *reader, guint pass)
{
  const WsImage *image = reader->image;
  const guint x0 = adam7[pass].x0, dx = adam7[pass].dx;
  const guint y0 = adam7[pass].y0, dy = adam7[pass].dy;

  if (image->width <= x0)
    return;
  const guint n = (image->width - x0 + dx - 1) / dx;
  for (guint y = y0; y < image->height; y += dy)
  {
    guint16 *linear = wsi_image_linear_row (image, y);
    guint8 *rgb = wsi_image_rgb_row (image, y);
    read_row (reader, n, reader->narrow_linear, reader->narrow_rgb);
    for (guint i = 0; i < n; i++)
      linear[x0 + i * dx] = reader->narrow_linear[i];
    for (guint i = 0; reader->narrow_rgb != NULL && i < n; i++)
      memcpy (rgb + 3 * (gsize)(x0 + i * dx), reader->narrow_rgb + 3 * (gsize)i, 3);
  }
}

/* Samples of two bytes, in the machine's order. */
static const void *
swapped (const guint8 *row, gsize n, guint8 *room)
{
  guint16 *samples = (guint16 *)(void *)room;
  for (gsize i = 0; i < n; i++)
    samples[i] = (guint16)(row[2 * i] << 8 | row[2 * i + 1]);
  return samples;
}

/* A row of samples as the file has them. */
static void
take_samples (Reader *reader, const guint8 *row, guint16 *linear, guint8 *rgb)
{
  const guint n = reader->image->width;
  const void *samples = row;
  if (reader->light.bits == 16)
    samples = swapped (row, (gsize)n * reader->channels, reader->row);
  wsi_light_row (&reader->light, samples, reader->channels, n, linear, rgb);
}

static void
take_sparsely (Reader *reader, guint y, const guint8 *row)
{
  const WsImage *image = reader->image;
  WsSparse *sparse = image->sparse;
  void *place = wsi_sparse_place (sparse, y);
  if (reader->channels == 0)
  {
    wsi_palette_count (&reader->palette, row, image->width);
    memcpy (place, row, image->width);
  }
  else
    take_samples (reader, row, place, NULL);
  wsi_sparse_take (sparse, y, image->light);
  if (sparse->passing != NULL)
    wsi_passing_take (sparse, y, image->light);
  if (y + 1 < image->height)
    return;
  wsi_sparse_end (sparse);
  if (sparse->passing != NULL)
    wsi_passing_end (sparse->passing);
}

static void
take_row (gpointer data, guint y, const guint8 *row)
{
  Reader *reader = data;
  const WsImage *image = reader->image;
  if (image->sparse != NULL)
    take_sparsely (reader, y, row);
  else if (image->coded != NULL)
    wsi_palette_count (&reader->palette, row, image->width);
  else if (reader->channels == 0)
    wsi_palette_row (&reader->palette, row, image->width, wsi_image_linear_row (image, y),
                     wsi_image_rgb_row (image, y));
  else
    take_samples (reader, row, wsi_image_linear_row (image, y), wsi_image_rgb_row (image, y));
}

/* FALSE where nothing was read, and libpng has to. */
static gboolean
read_fast (Reader *reader)
{
  WsImage *image = reader->image;
  const guint bits = png_get_bit_depth (reader->png, reader->info);
  const guint channels = MAX (reader->channels, 1);
  const gsize row_bytes = (gsize)image->width * channels * (bits / 8);
  if (image->bits < 8 || row_bytes != png_get_rowbytes (reader->png, reader->info) ||
      png_get_interlace_type (reader->png, reader->info) != PNG_INTERLACE_NONE ||
      (reader->channels != 0 && png_get_valid (reader->png, reader->info, PNG_INFO_tRNS)))
    return FALSE;
  const WsPngRows rows = {
    .bytes = reader->source->bytes,
    .n_bytes = reader->source->n_bytes,
    .at = reader->at,
    .more = reader->source->more,
    .more_data = reader->source->data,
    .row_bytes = row_bytes,
    .pixel_bytes = channels * (bits / 8),
    .n_rows = image->height,
    .plane = image->coded,
    .take = take_row,
    .data = reader,
  };
  if (wsi_png_rows_read (&rows))
    return TRUE;
  memset (image->codes, 0, sizeof image->codes);
  image->n_clear = 0;
  return FALSE;
}

static gboolean
read_pixels (Reader *reader)
{
  const WsImage *image = reader->image;

  if (read_fast (reader))
    return TRUE;
  if (reader->source->more != NULL)
    return FALSE;
  if (image->coded != NULL)
    for (guint y = 0; y < image->height; y++)
      read_coded_row (reader, wsi_image_coded_row (image, y));
  else if (png_get_interlace_type (reader->png, reader->info) == PNG_INTERLACE_NONE)
    for (guint y = 0; y < image->height; y++)
      read_row (reader, image->width, wsi_image_linear_row (image, y),
                wsi_image_rgb_row (image, y));
  else
  {
    reader->narrow_linear = g_try_new (guint16, image->width);
    reader->narrow_rgb = image->rgb != NULL ? g_try_new (guint8, 3 * (gsize)image->width) : NULL;
    if (reader->narrow_linear == NULL || (image->rgb != NULL && reader->narrow_rgb == NULL))
      return wsi_image_set_no_room (reader->source, reader->error);
    for (guint pass = 0; pass < G_N_ELEMENTS (adam7); pass++)
      read_pass (reader, pass);
  }
  png_read_end (reader->png, NULL);
  return TRUE;
}

/* Every call of libpng that may jump is made below this frame. */
static gboolean
read_guarded (Reader *reader)
{
  if (setjmp (png_jmpbuf (reader->png)))
  {
    wsi_image_set_damaged (reader->source, "PNG", reader->message.text, reader->error);
    return FALSE;
  }
  return prepare (reader) && read_pixels (reader);
}

/* PNG 3rd edition, 11.3.6.1: it stands before the pixels; libpng doesn't know it. */
static gboolean
is_animated (const WsImageSource *source)
{
  for (gsize at = PNG_FIRST_CHUNK; at + 8 <= source->n_bytes;)
  {
    const guint8 *chunk = source->bytes + at;
    const gsize n = (gsize)chunk[0] << 24 | (gsize)chunk[1] << 16 | (gsize)chunk[2] << 8 | chunk[3];
    if (memcmp (chunk + 4, "acTL", 4) == 0)
      return TRUE;
    if (memcmp (chunk + 4, "IDAT", 4) == 0 || n > source->n_bytes - at)
      return FALSE;
    at += n + PNG_CHUNK_FRAME;
  }
  return FALSE;
}

static WsImage *
decode (const WsImageSource *source, GError **error)
{
  if (is_animated (source))
  {
    wsi_image_set_unsupported (source, "PNG", "animated, with more than one picture", error);
    return NULL;
  }
  Reader *reader = g_new0 (Reader, 1);
  WsImage *image = NULL;

  reader->source = source;
  reader->error = error;
  reader->png = png_create_read_struct (PNG_LIBPNG_VER_STRING, &reader->message, wsi_png_give_up,
                                        wsi_png_ignore_warning);
  reader->info = reader->png != NULL ? png_create_info_struct (reader->png) : NULL;
  if (reader->info == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "%s: libpng can't be used", source->name);
  else if (read_guarded (reader))
    image = g_steal_pointer (&reader->image);

  png_destroy_read_struct (&reader->png, &reader->info, NULL);
  wsi_light_clear (&reader->light);
  g_free (reader->row);
  g_free (reader->narrow_linear);
  g_free (reader->narrow_rgb);
  ws_image_free (reader->image);
  g_free (reader);
  return image;
}

const WsImageFormat wsi_image_format_png = { "PNG", matches, decode, wsi_png_rows_open, TRUE };
