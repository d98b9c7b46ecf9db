/*
 * TIFF and BigTIFF, decoded by libtiff.  Of several pages the first is read, unless it is the
 * preview of another, as in cameras' raw files.
 *
 * Grey, palette and RGB come as they were stored, up to 16 bits; what libtiff turns into 8-bit RGB
 * only (CMYK, L*a*b*, YCbCr outside JPEG) comes through that.  The file says nothing that is used
 * of its tones: without a colour profile codes are taken for sRGB.
 */
#include "image/profile.h"
#include "image/tiff_file.h"

#include <string.h>

enum
{
  MAX_CHANNELS = 4,
  MAX_PALETTE_BITS = 8,
  MAX_BITS = 16
};

/* Compressions that pictures come in.  Others that libtiff may know are for other data, or take
 * memory that no limit of ours holds for. */
static const struct
{
  guint scheme;
  gboolean lossy; /* or may be: the file doesn't tell for WebP */
} compressions[] = {
  { COMPRESSION_NONE, FALSE },      { COMPRESSION_CCITTRLE, FALSE },
  { COMPRESSION_CCITTFAX3, FALSE }, { COMPRESSION_CCITTFAX4, FALSE },
  { COMPRESSION_LZW, FALSE },       { COMPRESSION_OJPEG, TRUE },
  { COMPRESSION_JPEG, TRUE },       { COMPRESSION_ADOBE_DEFLATE, FALSE },
  { COMPRESSION_DEFLATE, FALSE },   { COMPRESSION_CCITTRLEW, FALSE },
  { COMPRESSION_PACKBITS, FALSE },  { COMPRESSION_ZSTD, FALSE },
  { COMPRESSION_WEBP, TRUE },
};

typedef struct
{
  const WsImageSource *source;
  WsTiffFile file;
  guint photometric, compression;
  guint bits;                /* of a sample in the file */
  guint stored;              /* samples of a pixel */
  guint channels;            /* that are read: grey or RGB, and alpha; 0: indices into `palette` */
  guint index[MAX_CHANNELS]; /* of each among the stored */
  gboolean planar;           /* each sample has a plane of its own */
  gboolean inverted;         /* 0 is white */
  gboolean multiplied;       /* colours hold the alpha already */
  gboolean as_rgba;          /* libtiff turns it into RGB */
  guint block_width, block_height;
  gsize row_bytes;  /* of a block of one plane */
  guint8 *block;    /* what libtiff decodes at a time, plane after plane */
  guint16 *samples; /* a row of it, as WsLight wants them */
  WsLight light;
  WsPalette palette;
  WsImage *image;
  GError **error;
} Reader;

static gboolean
matches (const WsImageSource *source)
{
  static const char signatures[][5] = { "II*\0", "MM\0*", "II+\0", "MM\0+" };
  for (gsize i = 0; source->n_bytes >= 4 && i < G_N_ELEMENTS (signatures); i++)
    if (memcmp (source->bytes, signatures[i], 4) == 0)
      return TRUE;
  return FALSE;
}

/* Both return FALSE. */
static gboolean
set_damaged (const Reader *reader, const char *otherwise)
{
  const char *message = reader->file.message;
  wsi_image_set_damaged (reader->source, "TIFF", *message != '\0' ? message : otherwise,
                         reader->error);
  return FALSE;
}

static gboolean
set_unsupported (const Reader *reader, const char *detail)
{
  wsi_image_set_unsupported (reader->source, "TIFF", detail, reader->error);
  return FALSE;
}

/* ---- What kind it is --------------------------------------------------------------- */

static gboolean
check_compression (const Reader *reader, gboolean *lossy)
{
  for (gsize i = 0; i < G_N_ELEMENTS (compressions); i++)
    if (compressions[i].scheme == reader->compression &&
        TIFFIsCODECConfigured ((guint16)reader->compression))
    {
      *lossy = compressions[i].lossy;
      return TRUE;
    }
  g_autofree char *detail = g_strdup_printf ("compression %u", reader->compression);
  return set_unsupported (reader, detail);
}

/* TIFF 6.0, section 18: what the samples beyond the colours mean.  Those without a meaning aren't
 * looked at. */
static void
find_alpha (Reader *reader, guint n_colours)
{
  guint16 n = 0;
  const guint16 *kinds = NULL;
  TIFFGetFieldDefaulted (reader->file.tiff, TIFFTAG_EXTRASAMPLES, &n, &kinds);
  for (guint i = 0; i < n && n_colours + i < reader->stored; i++)
    if (kinds[i] == EXTRASAMPLE_ASSOCALPHA || kinds[i] == EXTRASAMPLE_UNASSALPHA)
    {
      reader->index[n_colours] = n_colours + i;
      reader->channels = n_colours + 1;
      reader->multiplied = kinds[i] == EXTRASAMPLE_ASSOCALPHA;
      return;
    }
}

/* Of a JPEG's colours libjpeg makes RGB, which it does for every way they may be stored. */
static void
choose_channels (Reader *reader)
{
  const guint colours = reader->photometric == PHOTOMETRIC_RGB ? 3 : 1;
  for (guint i = 0; i < MAX_CHANNELS; i++)
    reader->index[i] = i;
  if (reader->photometric == PHOTOMETRIC_YCBCR && reader->compression == COMPRESSION_JPEG)
  {
    TIFFSetField (reader->file.tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
    reader->channels = 3;
    return;
  }
  reader->as_rgba =
    reader->photometric > PHOTOMETRIC_PALETTE || reader->compression == COMPRESSION_OJPEG;
  if (reader->as_rgba)
  {
    reader->channels = 3;
    return;
  }
  reader->inverted = reader->photometric == PHOTOMETRIC_MINISWHITE;
  reader->channels = reader->photometric == PHOTOMETRIC_PALETTE ? 0 : colours;
  if (reader->channels > 0)
    find_alpha (reader, colours);
}

static gboolean
check_samples (const Reader *reader)
{
  const guint format = wsi_tiff_file_short (&reader->file, TIFFTAG_SAMPLEFORMAT);
  const guint most = reader->photometric == PHOTOMETRIC_PALETTE ? MAX_PALETTE_BITS : MAX_BITS;
  char why[1024] = ""; /* as long as libtiff's message may be */
  if (format != SAMPLEFORMAT_UINT && format != SAMPLEFORMAT_VOID)
    return set_unsupported (reader, "its samples are no whole numbers without sign");
  if (reader->bits == 0 || reader->bits > most)
  {
    g_snprintf (why, sizeof why, "%u bits a sample", reader->bits);
    return set_unsupported (reader, why);
  }
  if (reader->stored < MAX (reader->channels, 1))
    return set_damaged (reader, "it has too few samples a pixel");
  return !reader->as_rgba || TIFFRGBAImageOK (reader->file.tiff, why) ||
         set_unsupported (reader, why);
}

/* ---- Colours and light ------------------------------------------------------------- */

/* 16 bits a value (TIFF 6.0, section 5); some writers fill 8 only, as libtiff finds too. */
static gboolean
read_palette (Reader *reader, guint8 *rgba)
{
  const guint16 *map[3] = { NULL };
  const guint n = 1U << reader->bits;
  gboolean coloured = FALSE;
  guint largest = 0;

  if (!TIFFGetField (reader->file.tiff, TIFFTAG_COLORMAP, &map[0], &map[1], &map[2]))
    return set_damaged (reader, "its palette is missing");
  for (guint c = 0; c < 3; c++)
    for (guint i = 0; i < n; i++)
      largest = MAX (largest, map[c][i]);
  for (guint i = 0; i < n; i++)
  {
    for (guint c = 0; c < 3; c++)
      rgba[4 * i + c] = (guint8)(largest < 256 ? map[c][i] : map[c][i] * 255U / 65535);
    coloured |= rgba[4 * i] != rgba[4 * i + 1] || rgba[4 * i + 1] != rgba[4 * i + 2];
  }
  reader->image->has_colour = coloured;
  return TRUE;
}

static gboolean
read_tone (Reader *reader, WsToneCurve *curve)
{
  void *bytes = NULL;
  guint32 n_bytes = 0;
  if (wsi_tone_told (reader->source->flags, curve))
    return TRUE;
  *curve = (WsToneCurve){ .tone = WS_TONE_SRGB_ASSUMED };
  if (!TIFFGetField (reader->file.tiff, TIFFTAG_ICCPROFILE, &n_bytes, &bytes))
    return TRUE;
  WsToneCurve profile;
  const WsProfileFound found = wsi_profile_read (bytes, n_bytes, reader->channels != 1, &profile);
  if (found == WS_PROFILE_WRONG)
    wsi_image_set_unsupported (reader->source, "TIFF", WS_PROFILE_IS_WRONG, reader->error);
  if (found == WS_PROFILE_READ)
    *curve = profile;
  return found != WS_PROFILE_WRONG;
}

static gboolean
prepare_light (Reader *reader)
{
  WsToneCurve curve;
  guint8 rgba[4 * 256];

  if (!read_tone (reader, &curve))
    return FALSE;
  float along_x = 0, along_y = 0;
  if (TIFFGetField (reader->file.tiff, TIFFTAG_XRESOLUTION, &along_x) &&
      TIFFGetField (reader->file.tiff, TIFFTAG_YRESOLUTION, &along_y))
    reader->image->pixel_aspect = wsi_image_aspect ((double)along_x, (double)along_y);
  reader->image->tone = curve.tone;
  reader->image->bits = reader->bits;
  reader->image->has_colour = reader->channels >= 3;
  wsi_light_init (&reader->light, &curve, reader->bits > 8 && !reader->as_rgba ? 16 : 8,
                  reader->source->flags);
  reader->light.clear = &reader->image->n_clear;
  reader->light.codes =
    reader->image->lossy || reader->light.bits != 8 ? NULL : reader->image->codes;
  if (reader->channels > 0)
    return TRUE;
  wsi_grey_ramp (rgba);
  if (!read_palette (reader, rgba))
    return FALSE;
  wsi_palette_init (&reader->palette, &reader->light, rgba);
  return TRUE;
}

/* ---- Samples ----------------------------------------------------------------------- */

/* Bits from the most significant on, rows padded to whole bytes (TIFF 6.0, section 3); libtiff
 * gives 16 in the machine's byte order. */
static inline guint
sample_at (const guint8 *row, gsize i, guint bits)
{
  if (bits == 8)
    return row[i];
  if (bits == 16)
    return ((const guint16 *)(const void *)row)[i];
  guint value = 0;
  for (gsize bit = i * bits; bit < (i + 1) * bits; bit++)
    value = value << 1 | ((guint)row[bit / 8] >> (7 - bit % 8) & 1U);
  return value;
}

/* A code as WsLight wants it, over the whole range. */
static guint
full_range (const Reader *reader, guint code, gboolean inverted)
{
  const guint most = (1U << reader->bits) - 1;
  const guint full = reader->light.bits == 16 ? 0xFFFF : 0xFF;
  return ((inverted ? most - code : code) * full + most / 2) / most;
}

static void
put_sample (const Reader *reader, gsize at, guint value)
{
  if (reader->light.bits == 16)
    reader->samples[at] = (guint16)value;
  else
    ((guint8 *)reader->samples)[at] = (guint8)value;
}

static guint
get_sample (const Reader *reader, gsize at)
{
  return reader->light.bits == 16 ? reader->samples[at] : ((const guint8 *)reader->samples)[at];
}

/* Colours that hold the alpha come without it: WsLight lays them over white itself. */
static void
divide_by_alpha (const Reader *reader, guint n)
{
  const guint full = reader->light.bits == 16 ? 0xFFFF : 0xFF;
  for (gsize i = 0; i < n; i++)
  {
    const gsize at = i * reader->channels;
    const guint alpha = get_sample (reader, at + reader->channels - 1);
    for (gsize c = 0; alpha > 0 && c + 1 < reader->channels; c++)
      put_sample (reader, at + c,
                  MIN (full, (get_sample (reader, at + c) * full + alpha / 2) / alpha));
  }
}

/* The first `n` pixels of a block's row, channel beside channel. */
static void
gather (const Reader *reader, guint row, guint n)
{
  const gsize plane_bytes = reader->row_bytes * reader->block_height;
  const guint8 *first = reader->block + reader->row_bytes * row;
  const guint channels = MAX (reader->channels, 1);
  const guint step = reader->planar ? 1 : reader->stored;

  for (guint c = 0; c < channels; c++)
  {
    const guint8 *from = reader->planar ? first + plane_bytes * c : first;
    const gsize offset = reader->planar ? 0 : reader->index[c];
    /* Colours are an odd number: an even one has alpha last, which is never upside down. */
    const gboolean is_alpha = channels % 2 == 0 && c + 1 == channels;
    for (gsize i = 0; i < n; i++)
    {
      const guint code = sample_at (from, i * step + offset, reader->bits);
      put_sample (reader, i * channels + c,
                  reader->channels == 0 ? code
                                        : full_range (reader, code, reader->inverted && !is_alpha));
    }
  }
  if (reader->multiplied)
    divide_by_alpha (reader, n);
}

/* What libtiff decodes may be just what is wanted. */
static gboolean
is_ready (const Reader *reader)
{
  const gboolean whole = reader->bits == 8 || reader->bits == 16;
  const gboolean in_order = reader->stored == MAX (reader->channels, 1);
  return whole && in_order && (!reader->planar || reader->stored == 1) && !reader->inverted &&
         !reader->multiplied;
}

static void
convert_row (const Reader *reader, guint row, guint x, guint y, guint n)
{
  const void *samples = reader->block + reader->row_bytes * row;
  guint16 *linear = wsi_image_linear_row (reader->image, y) + x;
  guint8 *rgb = wsi_image_rgb_row (reader->image, y);
  if (rgb != NULL)
    rgb += 3 * (gsize)x;
  if (!is_ready (reader))
  {
    gather (reader, row, n);
    samples = reader->samples;
  }
  if (reader->channels == 0)
    wsi_palette_row (&reader->palette, samples, n, linear, rgb);
  else
    wsi_light_row (&reader->light, samples, reader->channels, n, linear, rgb);
}

/* ---- Blocks ------------------------------------------------------------------------ */

/* Tiles, whole strips of one plane each, or single rows where all samples of a pixel are together:
 * then no strip is ever held. */
static gboolean
choose_blocks (Reader *reader)
{
  TIFF *tiff = reader->file.tiff;
  const guint height = reader->image->height;
  guint32 tile_width = 0, tile_height = 0, strip_height = 0;

  reader->block_width = reader->image->width;
  reader->block_height = 1;
  if (TIFFIsTiled (tiff))
  {
    TIFFGetField (tiff, TIFFTAG_TILEWIDTH, &tile_width);
    TIFFGetField (tiff, TIFFTAG_TILELENGTH, &tile_height);
    if (tile_width == 0 || tile_height == 0)
      return set_damaged (reader, "its tiles have no size");
    reader->block_width = tile_width;
    reader->block_height = tile_height;
    reader->row_bytes = (gsize)TIFFTileRowSize64 (tiff);
    return wsi_image_check_size (reader->source, tile_width, tile_height, reader->error);
  }
  TIFFGetFieldDefaulted (tiff, TIFFTAG_ROWSPERSTRIP, &strip_height);
  if (reader->planar)
    reader->block_height = CLAMP (strip_height, 1, height);
  reader->row_bytes = (gsize)TIFFScanlineSize64 (tiff);
  return TRUE;
}

static gboolean
allocate_blocks (Reader *reader)
{
  const guint planes = reader->planar ? MAX (reader->channels, 1) : 1;
  const guint together = reader->planar ? 1 : reader->stored;
  const guint64 row_bits = (guint64)reader->block_width * together * reader->bits;

  if (reader->row_bytes < (row_bits + 7) / 8)
    return set_damaged (reader, "its rows are too short");
  if (reader->row_bytes <= G_MAXSIZE / planes / reader->block_height)
    reader->block = g_try_malloc0_n (reader->row_bytes * planes, reader->block_height);
  reader->samples = g_try_malloc_n (reader->block_width, MAX_CHANNELS * sizeof *reader->samples);
  if (reader->block != NULL && reader->samples != NULL)
    return TRUE;
  g_set_error (reader->error, WS_ERROR, WS_ERROR_TOO_LARGE,
               "%s: no memory for its strips or tiles; take a smaller picture",
               reader->source->name);
  return FALSE;
}

/* FALSE when libtiff failed, or said that something is wrong. */
static gboolean
read_block (Reader *reader, guint x, guint y, guint plane, guint8 *to)
{
  TIFF *tiff = reader->file.tiff;
  const guint stored = reader->planar ? reader->index[plane] : 0;
  const guint rows = MIN (reader->block_height, reader->image->height - y);
  tmsize_t wanted = (tmsize_t)(reader->row_bytes * rows);
  tmsize_t got;

  if (TIFFIsTiled (tiff))
  {
    wanted = (tmsize_t)(reader->row_bytes * reader->block_height);
    got = TIFFReadEncodedTile (tiff, TIFFComputeTile (tiff, x, y, 0, (guint16)stored), to, wanted);
  }
  else if (reader->planar)
    got = TIFFReadEncodedStrip (tiff, TIFFComputeStrip (tiff, y, (guint16)stored), to, wanted);
  else
    got = TIFFReadScanline (tiff, to, y, 0) > 0 ? wanted : -1;
  return got >= wanted && reader->file.message[0] == '\0';
}

static gboolean
read_planes (Reader *reader, guint x, guint y)
{
  const guint planes = reader->planar ? MAX (reader->channels, 1) : 1;
  const gsize plane_bytes = reader->row_bytes * reader->block_height;
  for (guint plane = 0; plane < planes; plane++)
    if (!read_block (reader, x, y, plane, reader->block + plane_bytes * plane))
      return set_damaged (reader, "it can't be decoded");
  return TRUE;
}

static gboolean
read_blocks (Reader *reader)
{
  const guint width = reader->image->width, height = reader->image->height;

  if (!choose_blocks (reader) || !allocate_blocks (reader))
    return FALSE;
  for (guint y = 0; y < height; y += reader->block_height)
    for (guint x = 0; x < width; x += reader->block_width)
    {
      const guint rows = MIN (reader->block_height, height - y);
      if (!read_planes (reader, x, y))
        return FALSE;
      for (guint row = 0; row < rows; row++)
        convert_row (reader, row, x, y + row, MIN (reader->block_width, width - x));
    }
  return TRUE;
}

/* ---- By way of libtiff's own RGB --------------------------------------------------- */

/* `from` holds red, green, blue and alpha in bytes from the least significant on. */
static void
convert_rgba (const Reader *reader, const guint32 *from, guint y)
{
  guint8 *samples = (guint8 *)reader->samples;
  for (gsize i = 0; i < reader->image->width; i++)
  {
    samples[3 * i] = (guint8)TIFFGetR (from[i]);
    samples[3 * i + 1] = (guint8)TIFFGetG (from[i]);
    samples[3 * i + 2] = (guint8)TIFFGetB (from[i]);
  }
  wsi_light_row (&reader->light, samples, 3, reader->image->width,
                 wsi_image_linear_row (reader->image, y), wsi_image_rgb_row (reader->image, y));
}

/* A strip's or a tile's height at a time, as stored: the picture is turned later. */
static gboolean
read_bands (Reader *reader, TIFFRGBAImage *rgba)
{
  const guint width = reader->image->width, height = reader->image->height;
  guint32 *band = (guint32 *)(void *)reader->block;
  rgba->req_orientation = rgba->orientation;
  for (guint y = 0; y < height; y += reader->block_height)
  {
    const guint rows = MIN (reader->block_height, height - y);
    rgba->row_offset = (int)y;
    if (!TIFFRGBAImageGet (rgba, band, width, rows) || reader->file.message[0] != '\0')
      return set_damaged (reader, "it can't be decoded");
    for (guint row = 0; row < rows; row++)
      convert_rgba (reader, band + (gsize)row * width, y + row);
  }
  return TRUE;
}

static gboolean
read_as_rgba (Reader *reader)
{
  TIFF *tiff = reader->file.tiff;
  TIFFRGBAImage rgba;
  char why[1024] = "";
  guint32 band_height = 0;

  if (TIFFIsTiled (tiff))
    TIFFGetField (tiff, TIFFTAG_TILELENGTH, &band_height);
  else
    TIFFGetFieldDefaulted (tiff, TIFFTAG_ROWSPERSTRIP, &band_height);
  reader->stored = 4;
  reader->bits = 8;
  reader->planar = FALSE;
  reader->block_width = reader->image->width;
  reader->block_height = CLAMP (band_height, 1, reader->image->height);
  reader->row_bytes = sizeof (guint32) * (gsize)reader->image->width;
  if (!allocate_blocks (reader))
    return FALSE;
  if (!TIFFRGBAImageBegin (&rgba, tiff, 1, why))
    return set_unsupported (reader, why);
  const gboolean done = read_bands (reader, &rgba);
  TIFFRGBAImageEnd (&rgba);
  return done;
}

/* ---- All of it --------------------------------------------------------------------- */

static void
read_kind (Reader *reader)
{
  const WsTiffFile *file = &reader->file;
  guint16 photometric;
  reader->compression = wsi_tiff_file_short (file, TIFFTAG_COMPRESSION);
  reader->bits = wsi_tiff_file_short (file, TIFFTAG_BITSPERSAMPLE);
  reader->stored = wsi_tiff_file_short (file, TIFFTAG_SAMPLESPERPIXEL);
  /* The tag has no default; without it, what the number of samples suggests. */
  if (TIFFGetField (file->tiff, TIFFTAG_PHOTOMETRIC, &photometric))
    reader->photometric = photometric;
  else
    reader->photometric = reader->stored >= 3 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK;
  reader->planar = wsi_tiff_file_short (file, TIFFTAG_PLANARCONFIG) == PLANARCONFIG_SEPARATE;
  choose_channels (reader);
}

static gboolean
is_raw (TIFF *tiff)
{
  guint32 kind = 0;
  const guint8 *version = NULL;
  return (TIFFGetField (tiff, TIFFTAG_SUBFILETYPE, &kind) && kind & FILETYPE_REDUCEDIMAGE) ||
         TIFFGetField (tiff, TIFFTAG_DNGVERSION, &version);
}

static gboolean
read_picture (Reader *reader)
{
  TIFF *tiff = reader->file.tiff;
  guint32 width = 0, height = 0;
  gboolean lossy = FALSE;

  TIFFGetField (tiff, TIFFTAG_IMAGEWIDTH, &width);
  TIFFGetField (tiff, TIFFTAG_IMAGELENGTH, &height);
  if (width == 0 || height == 0 || reader->file.message[0] != '\0')
    return set_damaged (reader, "its size is missing");
  if (is_raw (tiff))
    return set_unsupported (reader, "a camera's raw data, or a preview of them");
  read_kind (reader);
  if (!wsi_image_check_size (reader->source, width, height, reader->error) ||
      !check_compression (reader, &lossy) || !check_samples (reader))
    return FALSE;
  reader->image = wsi_image_new_within (reader->source, width, height, reader->error);
  if (reader->image == NULL)
    return FALSE;
  reader->image->lossy = lossy;
  if (!prepare_light (reader))
    return FALSE;
  reader->file.reading_pixels = TRUE;
  return (reader->as_rgba ? read_as_rgba (reader) : read_blocks (reader)) &&
         wsi_image_orient (reader->image, wsi_tiff_file_short (&reader->file, TIFFTAG_ORIENTATION),
                           reader->error);
}

static WsImage *
decode (const WsImageSource *source, GError **error)
{
  Reader reader = { .source = source, .error = error };
  WsImage *image = NULL;

  if (!wsi_late_has_tiff (error))
    return NULL;
  if (!wsi_tiff_file_open (&reader.file, source))
    set_damaged (&reader, "it has no page");
  else if (read_picture (&reader))
  {
    image = g_steal_pointer (&reader.image);
    image->pages = MAX (TIFFNumberOfDirectories (reader.file.tiff), 1);
  }

  wsi_tiff_file_close (&reader.file);
  wsi_light_clear (&reader.light);
  g_free (reader.block);
  g_free (reader.samples);
  ws_image_free (reader.image);
  return image;
}

const WsImageFormat wsi_image_format_tiff = { "TIFF", matches, decode, wsi_late_has_tiff, FALSE };
