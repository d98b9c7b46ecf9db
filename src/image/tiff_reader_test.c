/*
 * TIFF files written by libtiff, read back; and the same ones damaged.  With WHETSIGHT_SEEDS=FOLDER
 * they are also written there, to start fuzzing from.
 */
#include "base/testing.h"

#include <tiffio.h>
#include <whetsight/error.h>

#include "image/decoder.h"

/* No multiple of a tile's or of a byte's pixels. */
enum
{
  WIDTH = 37,
  HEIGHT = 21,
  TILE = 16,
  STRIP = 8,
  MOST_CHANGES = 150 /* of a file, one at a time */
};

typedef struct
{
  const char *name;
  guint bits, samples, photometric, compression;
  guint extra; /* what the last sample is: EXTRASAMPLE_…; or NO_EXTRA */
  gboolean planar, tiled;
  const char *mode;  /* beyond "w" */
  guint strip;       /* rows; 0 for STRIP */
  double tolerance;  /* of light, 0 .. 1; 0 for a rounding */
  guint orientation; /* 0 for none */
} Kind;

#define NO_EXTRA 99U
#define PLAIN .extra = NO_EXTRA, .mode = ""
#define ROUNDING (2.0 / WS_IMAGE_FULL_SCALE)

static const Kind kinds[] = {
  { "grey-1", 1, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, PLAIN },
  { "grey-1-inverted", 1, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_NONE, PLAIN },
  { "grey-2", 2, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, PLAIN },
  { "grey-4", 4, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_LZW, PLAIN },
  { "grey-4-inverted", 4, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_NONE, PLAIN },
  { "grey-8", 8, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, PLAIN },
  { "grey-8-inverted", 8, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_NONE, PLAIN },
  { "grey-8-one-strip", 8, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_LZW, PLAIN, .strip = HEIGHT },
  { "grey-8-packbits", 8, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_PACKBITS, PLAIN },
  { "grey-8-deflate", 8, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_ADOBE_DEFLATE, PLAIN },
  { "grey-8-tiled", 8, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, PLAIN, .tiled = TRUE },
  { "grey-8-jpeg", 8, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_JPEG, PLAIN, .tolerance = 0.08 },
  { "grey-8-alpha", 8, 2, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, .extra = 2, .mode = "" },
  { "grey-8-inverted-alpha", 8, 2, PHOTOMETRIC_MINISWHITE, COMPRESSION_NONE, .extra = 2,
    .mode = "" },
  { "grey-12", 12, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, PLAIN },
  { "grey-16", 16, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_LZW, PLAIN },
  { "grey-16-inverted", 16, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_NONE, PLAIN },
  { "grey-16-big-endian", 16, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, .extra = NO_EXTRA,
    .mode = "b" },
  { "grey-16-bigtiff", 16, 1, PHOTOMETRIC_MINISBLACK, COMPRESSION_NONE, .extra = NO_EXTRA,
    .mode = "8" },
  { "grey-16-alpha-tiled", 16, 2, PHOTOMETRIC_MINISBLACK, COMPRESSION_LZW, .extra = 2, .mode = "",
    .tiled = TRUE },
  { "fax-rle", 1, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_CCITTRLE, PLAIN },
  { "fax-3", 1, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_CCITTFAX3, PLAIN },
  { "fax-4", 1, 1, PHOTOMETRIC_MINISWHITE, COMPRESSION_CCITTFAX4, PLAIN },
  { "palette-1", 1, 1, PHOTOMETRIC_PALETTE, COMPRESSION_NONE, PLAIN },
  { "palette-4", 4, 1, PHOTOMETRIC_PALETTE, COMPRESSION_NONE, PLAIN },
  { "palette-8-tiled", 8, 1, PHOTOMETRIC_PALETTE, COMPRESSION_LZW, PLAIN, .tiled = TRUE },
  { "rgb-4", 4, 3, PHOTOMETRIC_RGB, COMPRESSION_NONE, PLAIN },
  { "rgb-8", 8, 3, PHOTOMETRIC_RGB, COMPRESSION_LZW, PLAIN },
  { "rgb-8-turned", 8, 3, PHOTOMETRIC_RGB, COMPRESSION_NONE, PLAIN, .orientation = 3 },
  { "rgb-8-planar", 8, 3, PHOTOMETRIC_RGB, COMPRESSION_NONE, PLAIN, .planar = TRUE },
  { "rgb-8-planar-one-strip", 8, 3, PHOTOMETRIC_RGB, COMPRESSION_LZW, PLAIN, .planar = TRUE,
    .strip = HEIGHT },
  { "rgb-8-tiled", 8, 3, PHOTOMETRIC_RGB, COMPRESSION_ADOBE_DEFLATE, PLAIN, .tiled = TRUE },
  { "rgb-8-tiled-planar", 8, 3, PHOTOMETRIC_RGB, COMPRESSION_LZW, PLAIN, .tiled = TRUE,
    .planar = TRUE },
  { "rgb-8-jpeg", 8, 3, PHOTOMETRIC_YCBCR, COMPRESSION_JPEG, PLAIN, .strip = 16,
    .tolerance = 0.12 },
  { "rgb-8-jpeg-tiled", 8, 3, PHOTOMETRIC_YCBCR, COMPRESSION_JPEG, PLAIN, .tiled = TRUE,
    .tolerance = 0.12 },
  { "rgb-8-spare", 8, 4, PHOTOMETRIC_RGB, COMPRESSION_NONE, .extra = 0, .mode = "" },
  { "rgb-8-alpha", 8, 4, PHOTOMETRIC_RGB, COMPRESSION_NONE, .extra = 2, .mode = "" },
  { "rgb-8-alpha-planar", 8, 4, PHOTOMETRIC_RGB, COMPRESSION_LZW, .extra = 2, .mode = "",
    .planar = TRUE },
  /* Of multiplied codes a unit is much light where the alpha is small. */
  { "rgb-8-multiplied", 8, 4, PHOTOMETRIC_RGB, COMPRESSION_NONE, .extra = 1, .mode = "",
    .tolerance = 0.01 },
  { "rgb-16", 16, 3, PHOTOMETRIC_RGB, COMPRESSION_ADOBE_DEFLATE, PLAIN },
  { "rgb-16-planar", 16, 3, PHOTOMETRIC_RGB, COMPRESSION_LZW, PLAIN, .planar = TRUE },
  { "rgb-16-alpha", 16, 4, PHOTOMETRIC_RGB, COMPRESSION_NONE, .extra = 2, .mode = "" },
  { "rgb-16-multiplied", 16, 4, PHOTOMETRIC_RGB, COMPRESSION_NONE, .extra = 1, .mode = "",
    .tolerance = 0.0002 },
  { "cmyk-8", 8, 4, PHOTOMETRIC_SEPARATED, COMPRESSION_NONE, PLAIN, .tolerance = 0.02 },
  { "cmyk-8-tiled", 8, 4, PHOTOMETRIC_SEPARATED, COMPRESSION_NONE, PLAIN, .tiled = TRUE,
    .tolerance = 0.02 },
};

/* ---- Writing ----------------------------------------------------------------------- */

typedef struct
{
  GByteArray *bytes;
  guint64 at;
} Sink;

static tmsize_t
sink_read (thandle_t handle, void *to, tmsize_t n)
{
  Sink *sink = handle;
  const guint64 taken = MIN ((guint64)n, sink->bytes->len - MIN (sink->at, sink->bytes->len));
  memcpy (to, sink->bytes->data + sink->at, taken);
  sink->at += taken;
  return (tmsize_t)taken;
}

static tmsize_t
sink_write (thandle_t handle, void *from, tmsize_t n)
{
  Sink *sink = handle;
  const guint64 end = sink->at + (guint64)n;
  if (end > sink->bytes->len)
    g_byte_array_set_size (sink->bytes, (guint)end);
  memcpy (sink->bytes->data + sink->at, from, (gsize)n);
  sink->at = end;
  return n;
}

static toff_t
sink_seek (thandle_t handle, toff_t offset, int whence)
{
  Sink *sink = handle;
  sink->at = offset + (whence == SEEK_CUR ? sink->at : whence == SEEK_END ? sink->bytes->len : 0);
  return sink->at;
}

static int
sink_close (thandle_t handle)
{
  (void)handle;
  return 0;
}

static toff_t
sink_size (thandle_t handle)
{
  return ((Sink *)handle)->bytes->len;
}

/* Of pixel (x, y), smooth so that JPEG loses little; the alpha is the fourth or the second. */
static guint
code_of (const Kind *kind, guint x, guint y, guint sample)
{
  const guint most = (1U << kind->bits) - 1;
  const gboolean alpha = kind->extra != NO_EXTRA && sample + 1 == kind->samples;
  const double way = alpha ? (HEIGHT + 3.0 - y) / (HEIGHT + 3.0)
                           : 0.1 + 0.8 * (x + 0.5 * y + 3.0 * sample) / (WIDTH + 0.5 * HEIGHT + 9);
  if (kind->extra == EXTRASAMPLE_ASSOCALPHA && !alpha)
    return (guint)(way * code_of (kind, x, y, kind->samples - 1));
  return (guint)(way * most + 0.5);
}

static void
put_code (guint8 *row, gsize at, guint bits, guint code)
{
  if (bits == 16)
    ((guint16 *)(void *)row)[at] = (guint16)code;
  else
    for (guint bit = 0; bit < bits; bit++)
      if (code >> (bits - 1 - bit) & 1)
        row[(at * bits + bit) / 8] |= (guint8)(0x80 >> (at * bits + bit) % 8);
}

static guint16
palette_entry (guint index, guint colour)
{
  return (guint16)(257 * (colour == 1 ? 255 - index : (colour + 1) * 11 * index % 256));
}

static void
set_tags (TIFF *tiff, const Kind *kind)
{
  TIFFSetField (tiff, TIFFTAG_IMAGEWIDTH, WIDTH);
  TIFFSetField (tiff, TIFFTAG_IMAGELENGTH, HEIGHT);
  TIFFSetField (tiff, TIFFTAG_BITSPERSAMPLE, kind->bits);
  TIFFSetField (tiff, TIFFTAG_SAMPLESPERPIXEL, kind->samples);
  TIFFSetField (tiff, TIFFTAG_PHOTOMETRIC, kind->photometric);
  TIFFSetField (tiff, TIFFTAG_COMPRESSION, kind->compression);
  TIFFSetField (tiff, TIFFTAG_PLANARCONFIG,
                kind->planar ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
  if (kind->compression == COMPRESSION_JPEG)
  {
    TIFFSetField (tiff, TIFFTAG_JPEGQUALITY, 95);
    if (kind->photometric == PHOTOMETRIC_YCBCR)
      TIFFSetField (tiff, TIFFTAG_JPEGCOLORMODE, JPEGCOLORMODE_RGB);
  }
  if (kind->compression == COMPRESSION_LZW && kind->bits >= 8)
    TIFFSetField (tiff, TIFFTAG_PREDICTOR, 2);
  if (kind->orientation != 0)
    TIFFSetField (tiff, TIFFTAG_ORIENTATION, kind->orientation);
  if (kind->extra != NO_EXTRA)
    TIFFSetField (tiff, TIFFTAG_EXTRASAMPLES, 1, (guint16[]){ (guint16)kind->extra });
  if (kind->photometric == PHOTOMETRIC_PALETTE)
  {
    guint16 map[3][256];
    for (guint c = 0; c < 3; c++)
      for (guint i = 0; i < 256; i++)
        map[c][i] = palette_entry (i, c);
    TIFFSetField (tiff, TIFFTAG_COLORMAP, map[0], map[1], map[2]);
  }
}

/* The pixels from (x, y) on, of all samples or of one plane. */
static void
fill (const Kind *kind, guint8 *to, gsize row_bytes, guint x, guint y, guint rows, guint plane)
{
  const guint together = kind->planar ? 1 : kind->samples;
  const guint columns = kind->tiled ? TILE : WIDTH;
  memset (to, 0, row_bytes * rows);
  for (guint j = 0; j < rows; j++)
    for (guint i = 0; i < columns; i++)
      for (guint s = 0; s < together; s++)
        put_code (to + j * row_bytes, i * together + s, kind->bits,
                  code_of (kind, MIN (x + i, WIDTH - 1), MIN (y + j, HEIGHT - 1),
                           kind->planar ? plane : s));
}

static void
write_page (TIFF *tiff, const Kind *kind)
{
  const guint planes = kind->planar ? kind->samples : 1;
  set_tags (tiff, kind);
  if (kind->tiled)
  {
    TIFFSetField (tiff, TIFFTAG_TILEWIDTH, TILE);
    TIFFSetField (tiff, TIFFTAG_TILELENGTH, TILE);
  }
  else
    TIFFSetField (tiff, TIFFTAG_ROWSPERSTRIP, kind->strip != 0 ? kind->strip : STRIP);
  const gsize row_bytes = (gsize)(kind->tiled ? TIFFTileRowSize (tiff) : TIFFScanlineSize (tiff));
  g_autofree guint8 *block = g_malloc (row_bytes * TILE);
  for (guint plane = 0; plane < planes; plane++)
    for (guint y = 0; y < HEIGHT; y += kind->tiled ? TILE : 1)
      for (guint x = 0; x < (kind->tiled ? WIDTH : 1); x += TILE)
      {
        fill (kind, block, row_bytes, x, y, kind->tiled ? TILE : 1, plane);
        assert_true (
          kind->tiled ? TIFFWriteEncodedTile (tiff, TIFFComputeTile (tiff, x, y, 0, (guint16)plane),
                                              block, (tmsize_t)row_bytes * TILE) > 0
                      : TIFFWriteScanline (tiff, block, y, (guint16)plane) > 0);
      }
}

/* One page for each kind. */
static GByteArray *
write_pages (const Kind *const *pages, guint n)
{
  Sink sink = { g_byte_array_new (), 0 };
  g_autofree char *mode = g_strdup_printf ("w%s", pages[0]->mode);
  TIFF *tiff = TIFFClientOpen ("test", mode, &sink, sink_read, sink_write, sink_seek, sink_close,
                               sink_size, NULL, NULL);
  assert_non_null (tiff);
  for (guint i = 0; i < n; i++)
  {
    write_page (tiff, pages[i]);
    assert_true (TIFFWriteDirectory (tiff));
  }
  TIFFClose (tiff);
  return sink.bytes;
}

static GByteArray *
write_kind (const Kind *kind)
{
  return write_pages (&kind, 1);
}

static const Kind *
kind_of (const char *name)
{
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    if (g_str_equal (kinds[i].name, name))
      return &kinds[i];
  fail_msg ("no kind %s", name);
  return NULL;
}

/* ---- What it should be read as ------------------------------------------------------ */

/* Red, green and blue in linear light, over white. */
static void
light_of (const Kind *kind, guint x, guint y, double light[3])
{
  const double most = (1U << kind->bits) - 1;
  const guint extra = kind->extra == NO_EXTRA ? 0 : 1;
  const guint colours = kind->samples - extra;
  const gboolean has_alpha = extra == 1 && kind->extra != EXTRASAMPLE_UNSPECIFIED;
  const double alpha = has_alpha ? code_of (kind, x, y, colours) / most : 1.0;
  for (guint c = 0; c < 3; c++)
  {
    double code = code_of (kind, x, y, colours >= 3 ? c : 0) / most;
    if (kind->photometric == PHOTOMETRIC_PALETTE)
      code = palette_entry (code_of (kind, x, y, 0), c) / 65535.0;
    else if (kind->photometric == PHOTOMETRIC_MINISWHITE)
      code = 1.0 - code;
    else if (kind->photometric == PHOTOMETRIC_SEPARATED)
      code = (1.0 - code) * (1.0 - code_of (kind, x, y, 3) / most);
    if (kind->extra == EXTRASAMPLE_ASSOCALPHA)
      code = MIN (code / alpha, 1.0);
    light[c] = 1.0 - (1.0 - wsi_srgb_to_linear (code)) * alpha;
  }
}

static void
check_pixel (const Kind *kind, const WsImage *image, guint x, guint y)
{
  const guint column = kind->orientation == 3 ? WIDTH - 1 - x : x;
  const guint row = kind->orientation == 3 ? HEIGHT - 1 - y : y;
  const gsize i = (gsize)row * WIDTH + column;
  const double tolerance = MAX (kind->tolerance, ROUNDING);
  double light[3];
  light_of (kind, x, y, light);
  /* Rec. ITU-R BT.709-6, 3.2. */
  assert_near (image->linear[i] / (double)WS_IMAGE_FULL_SCALE,
               0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2], tolerance);
  for (guint c = 0; c < 3; c++)
    assert_near (image->rgb[3 * i + c], 255.0 * wsi_linear_to_srgb (light[c]),
                 kind->tolerance > 0.0 ? 22.0 : 0.51);
}

static WsImage *
decode (const GByteArray *file, WsImageFlags flags, GError **error)
{
  return ws_image_decode (file->data, file->len, "test", NULL, flags, error);
}

static void
check_kind (const Kind *kind)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (GByteArray) file = write_kind (kind);
  g_autoptr (WsImage) image = decode (file, WS_IMAGE_COLOUR, &error);
  g_autoptr (WsImage) grey = decode (file, WS_IMAGE_GREY, NULL);
  if (image == NULL)
    fail_msg ("%s: %s", kind->name, error->message);
  assert_int_equal (image->width, WIDTH);
  assert_int_equal (image->height, HEIGHT);
  assert_int_equal (image->bits, kind->bits);
  assert_string_equal (image->format, "TIFF");
  assert_int_equal (image->tone, WS_TONE_SRGB_ASSUMED);
  assert_int_equal (image->lossy, kind->compression == COMPRESSION_JPEG);
  assert_int_equal (image->has_colour,
                    kind->samples >= 3 || kind->photometric == PHOTOMETRIC_PALETTE);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
      check_pixel (kind, image, x, y);
  assert_null (grey->rgb);
  assert_memory_equal (grey->linear, image->linear, 2 * WIDTH * HEIGHT);
}

static void
keep_seed (const Kind *kind)
{
  const char *folder = g_getenv ("WHETSIGHT_SEEDS");
  if (folder == NULL)
    return;
  g_autoptr (GByteArray) file = write_kind (kind);
  g_autofree char *name = g_strdup_printf ("%s.tif", kind->name);
  g_autofree char *path = g_build_filename (folder, name, NULL);
  assert_true (g_file_set_contents (path, (const char *)file->data, file->len, NULL));
}

static void
every_kind_is_read (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
  {
    print_message ("%s\n", kinds[i].name);
    check_kind (&kinds[i]);
    keep_seed (&kinds[i]);
  }
}

static void
the_first_page_is_read (void **state)
{
  (void)state;
  const Kind *const pages[] = { kind_of ("grey-8"), kind_of ("rgb-8") };
  g_autoptr (GByteArray) alone = write_kind (pages[0]);
  g_autoptr (GByteArray) both = write_pages (pages, 2);
  g_autoptr (WsImage) expected = decode (alone, WS_IMAGE_GREY, NULL);
  g_autoptr (WsImage) image = decode (both, WS_IMAGE_GREY, NULL);
  assert_non_null (image);
  assert_false (image->has_colour);
  assert_memory_equal (image->linear, expected->linear, 2 * WIDTH * HEIGHT);
}

/* ---- Damage ------------------------------------------------------------------------- */

static guint32
number_at (const GByteArray *file, guint at, guint n)
{
  guint32 number = 0;
  for (guint i = n; i-- > 0;)
    number = number << 8 | file->data[at + i];
  return number;
}

static void
put_number (GByteArray *file, guint at, guint n, guint32 number)
{
  for (guint i = 0; i < n; i++)
    file->data[at + i] = (guint8)(number >> 8 * i);
}

/* Where the entry of a little-endian file's first directory stands; TIFF 6.0, section 2. */
static guint
entry_of (const GByteArray *file, guint tag)
{
  const guint directory = number_at (file, 4, 4);
  const guint n = number_at (file, directory, 2);
  for (guint i = 0; i < n; i++)
    if (number_at (file, directory + 2 + 12 * i, 2) == tag)
      return directory + 2 + 12 * i;
  fail_msg ("no tag %u", tag);
  return 0;
}

/* The file with another value of the tag, which has one, kept as it is. */
static GByteArray *
with_tag (const char *kind, guint tag, guint32 value)
{
  GByteArray *file = write_kind (kind_of (kind));
  const guint entry = entry_of (file, tag);
  put_number (file, entry + 8, number_at (file, entry + 2, 2) == 3 ? 2 : 4, value);
  return file;
}

static void
check_refused (GByteArray *file, WsErrorCode code)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsImage) image = decode (file, WS_IMAGE_COLOUR, &error);
  assert_null (image);
  assert_true (g_error_matches (error, WS_ERROR, (gint)code));
  assert_null (strchr (error->message, '\n'));
  assert_true (g_utf8_validate (error->message, -1, NULL));
  g_byte_array_unref (file);
}

static void
sizes_that_lie_are_refused (void **state)
{
  (void)state;
  static const char one[] = "grey-8-one-strip";
  check_refused (with_tag (one, TIFFTAG_IMAGEWIDTH, 0), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_IMAGELENGTH, 0), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_IMAGELENGTH, HEIGHT + 1), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_IMAGEWIDTH, 40000), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_STRIPOFFSETS, 1U << 30), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_STRIPBYTECOUNTS, 1), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_STRIPBYTECOUNTS, 40), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_BITSPERSAMPLE, 32), WS_ERROR_DATA);
  check_refused (with_tag (one, TIFFTAG_SAMPLESPERPIXEL, 3), WS_ERROR_DATA);
  check_refused (with_tag ("rgb-8", TIFFTAG_SAMPLESPERPIXEL, 2), WS_ERROR_DATA);
  check_refused (with_tag ("grey-8-tiled", TIFFTAG_TILEWIDTH, 0), WS_ERROR_DATA);
  check_refused (with_tag ("grey-8-tiled", TIFFTAG_TILELENGTH, 7), WS_ERROR_DATA);
}

static void
large_claims_take_no_memory (void **state)
{
  (void)state;
  GByteArray *picture = with_tag ("grey-8-one-strip", TIFFTAG_IMAGELENGTH, 60000);
  GByteArray *tile = with_tag ("grey-8-tiled", TIFFTAG_TILELENGTH, 60000);
  put_number (picture, entry_of (picture, TIFFTAG_IMAGEWIDTH) + 8, 2, 60000);
  put_number (tile, entry_of (tile, TIFFTAG_TILEWIDTH) + 8, 2, 60000);
  check_refused (picture, WS_ERROR_TOO_LARGE);
  check_refused (tile, WS_ERROR_TOO_LARGE);
}

static void
other_kinds_are_refused (void **state)
{
  (void)state;
  check_refused (with_tag ("grey-8", TIFFTAG_COMPRESSION, 34925), WS_ERROR_DATA);
  check_refused (with_tag ("grey-8", TIFFTAG_COMPRESSION, 12345), WS_ERROR_DATA);
  check_refused (with_tag ("grey-8", TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_CFA), WS_ERROR_DATA);
  g_autoptr (GError) error = NULL;
  g_autoptr (GByteArray) file = with_tag ("grey-8", TIFFTAG_COMPRESSION, 12345);
  assert_null (decode (file, WS_IMAGE_GREY, &error));
  assert_contains (error->message, "a kind of TIFF we can't read (compression 12345)");
}

/* A directory whose successor is itself is no matter: only the first is read. */
static void
a_directory_that_follows_itself_is_read (void **state)
{
  (void)state;
  g_autoptr (GByteArray) file = write_kind (kind_of ("grey-8"));
  const guint directory = number_at (file, 4, 4);
  put_number (file, directory + 2 + 12 * number_at (file, directory, 2), 4, directory);
  g_autoptr (WsImage) image = decode (file, WS_IMAGE_GREY, NULL);
  assert_non_null (image);
}

static void
truncated_files_are_refused (void **state)
{
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
  {
    g_autoptr (GByteArray) file = write_kind (&kinds[i]);
    for (guint n = 4; n < file->len; n += 5)
    {
      g_autoptr (GError) error = NULL;
      g_autofree guint8 *cut = g_memdup2 (file->data, n);
      g_autoptr (WsImage) image = ws_image_decode (cut, n, "cut", NULL, WS_IMAGE_GREY, &error);
      if (image != NULL)
        fail_msg ("%s cut to %u of %u bytes is read", kinds[i].name, n, file->len);
      assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    }
  }
}

static guint told;

static void
count_message (const char *module, const char *format, va_list arguments)
{
  (void)module;
  (void)format;
  (void)arguments;
  told++;
}

/* Neither harm, nor a word to handlers that the process shares. */
static void
changed_files_do_no_harm (void **state)
{
  (void)state;
  const WsImageLimits limits = { .max_megapixels = 0.05, .max_file_bytes = 1 << 20 };
  const TIFFErrorHandler on_error = TIFFSetErrorHandler (count_message);
  const TIFFErrorHandler on_warning = TIFFSetWarningHandler (count_message);
  told = 0;
  for (gsize k = 0; k < G_N_ELEMENTS (kinds); k++)
  {
    g_autoptr (GByteArray) file = write_kind (&kinds[k]);
    for (gsize i = 4 + k % 3; i < file->len; i += 1 + file->len / MOST_CHANGES)
    {
      g_autoptr (GError) error = NULL;
      file->data[i] ^= 0x81;
      g_autoptr (WsImage) image =
        ws_image_decode (file->data, file->len, "x", &limits, WS_IMAGE_GREY, &error);
      assert_true ((image == NULL) == (error != NULL));
      assert_true (error == NULL || strchr (error->message, '\n') == NULL);
      file->data[i] ^= 0x81;
    }
  }
  assert_int_equal (told, 0);
  assert_true (TIFFSetErrorHandler (on_error) == count_message);
  assert_true (TIFFSetWarningHandler (on_warning) == count_message);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (every_kind_is_read),
    cmocka_unit_test (the_first_page_is_read),
    cmocka_unit_test (sizes_that_lie_are_refused),
    cmocka_unit_test (large_claims_take_no_memory),
    cmocka_unit_test (other_kinds_are_refused),
    cmocka_unit_test (a_directory_that_follows_itself_is_read),
    cmocka_unit_test (truncated_files_are_refused),
    cmocka_unit_test (changed_files_do_no_harm),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
