#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <png.h>

#include <whetsight/error.h>

#include "image/both_ways_for_tests.h"
#include "image/decoder.h"

enum
{
  WIDTH = 37,
  HEIGHT = 29
};

/* What to write; all zero but type and bits is a plain file. */
typedef struct
{
  int type; /* PNG_COLOR_TYPE_* */
  int bits;
  gboolean interlaced;
  guint along_x, along_y; /* pHYs, or 0 */
  int gamma;              /* gAMA, parts of 100000, or 0 */
  gboolean srgb;
  gboolean clear; /* code 1, colour (1, 1, 1) or palette entry 1 is transparent */
} Spec;

static void
append (png_structp png, png_bytep bytes, size_t n)
{
  g_byte_array_append (png_get_io_ptr (png), bytes, (guint)n);
}

static void
flush (png_structp png)
{
  (void)png;
}

static guint
channels_of (int type)
{
  const guint colours = type & PNG_COLOR_MASK_COLOR && type != PNG_COLOR_TYPE_PALETTE ? 3 : 1;
  return colours + (type & PNG_COLOR_MASK_ALPHA ? 1 : 0);
}

/* A pattern that has every code of few bits and many of more. */
static guint
sample_at (const Spec *spec, guint x, guint y, guint channel)
{
  const guint mixed = (x * 7919U + y * 104729U + channel * 1299709U) * 2654435761U;
  return mixed >> (32 - spec->bits);
}

static png_color
palette_colour (guint i)
{
  return (png_color){ (png_byte)(i * 3), (png_byte)(255 - i), (png_byte)(i * 7) };
}

static void
write_chunks (png_structp png, png_infop info, const Spec *spec)
{
  png_color colours[256];
  png_byte alpha[2] = { 0xFF, 0 };
  const png_color_16 key = { .gray = 1, .red = 1, .green = 1, .blue = 1 };

  if (spec->type == PNG_COLOR_TYPE_PALETTE)
  {
    for (guint i = 0; i < 256; i++)
      colours[i] = palette_colour (i);
    png_set_PLTE (png, info, colours, 1 << spec->bits);
  }
  if (spec->clear)
    png_set_tRNS (png, info, alpha, 2, &key);
  if (spec->along_x != 0)
    png_set_pHYs (png, info, spec->along_x, spec->along_y, PNG_RESOLUTION_METER);
  if (spec->gamma != 0)
    png_set_gAMA_fixed (png, info, spec->gamma);
  if (spec->srgb)
    png_set_sRGB (png, info, PNG_sRGB_INTENT_PERCEPTUAL);
}

static void
fill_row (const Spec *spec, guint y, guint8 *row)
{
  const guint channels = channels_of (spec->type);
  for (guint x = 0; x < WIDTH; x++)
    for (guint c = 0; c < channels; c++)
    {
      const guint sample = sample_at (spec, x, y, c);
      if (spec->bits == 16)
        *row++ = (guint8)(sample >> 8);
      *row++ = (guint8)sample;
    }
}

static GByteArray *
encode (const Spec *spec)
{
  GByteArray *file = g_byte_array_new ();
  png_structp png = png_create_write_struct (PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
  png_infop info = png_create_info_struct (png);
  guint8 pixels[HEIGHT][WIDTH * 8];
  guint8 *rows[HEIGHT];

  png_set_write_fn (png, file, append, flush);
  png_set_IHDR (png, info, WIDTH, HEIGHT, spec->bits, spec->type,
                spec->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE,
                PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  write_chunks (png, info, spec);
  png_write_info (png, info);
  png_set_packing (png);
  for (guint y = 0; y < HEIGHT; y++)
  {
    fill_row (spec, y, pixels[y]);
    rows[y] = pixels[y];
  }
  png_write_image (png, rows);
  png_write_end (png, NULL);
  png_destroy_write_struct (&png, &info);
  return file;
}

static double
light_of (const Spec *spec, double code)
{
  if (spec->gamma != 0 && !spec->srgb)
    return pow (code, 100000.0 / spec->gamma);
  return wsi_srgb_to_linear (code);
}

/* Light of one pixel by the definitions, in floating point. */
static double
expected_light (const Spec *spec, guint x, guint y, double rgb[3])
{
  static const double weights[3] = { 0.2126, 0.7152, 0.0722 };
  const double max = (double)((1U << spec->bits) - 1);
  const guint channels = channels_of (spec->type);
  const guint first = sample_at (spec, x, y, 0);
  double alpha = 1.0, luminance = 0.0;
  gboolean is_key = first == 1;

  for (guint c = 0; c < 3; c++)
  {
    const guint sample = channels >= 3 ? sample_at (spec, x, y, c) : first;
    rgb[c] = sample / max;
    is_key = is_key && sample == 1;
  }
  if (spec->type == PNG_COLOR_TYPE_PALETTE)
  {
    const png_color colour = palette_colour (first);
    rgb[0] = colour.red / 255.0;
    rgb[1] = colour.green / 255.0;
    rgb[2] = colour.blue / 255.0;
  }
  if (spec->type & PNG_COLOR_MASK_ALPHA)
    alpha = sample_at (spec, x, y, channels - 1) / max;
  else if (spec->clear && is_key)
    alpha = 0.0;
  for (guint c = 0; c < 3; c++)
  {
    rgb[c] = alpha * light_of (spec, rgb[c]) + 1.0 - alpha;
    luminance += weights[c] * rgb[c];
  }
  return luminance;
}

static WsImage *
decode (const GByteArray *file, WsImageFlags flags, GError **error)
{
  return ws_image_decode (file->data, file->len, "test.png", NULL, flags, error);
}

static void
check_pixels (const Spec *spec, const WsImage *image)
{
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const gsize i = x + (gsize)y * WIDTH;
      double rgb[3];
      const double light = expected_light (spec, x, y, rgb);
      assert_true (fabs (image->linear[i] - light * WS_IMAGE_FULL_SCALE) < 2.0);
      for (gsize c = 0; image->rgb != NULL && c < 3; c++)
        assert_true (fabs (image->rgb[3 * i + c] - 255.0 * wsi_linear_to_srgb (rgb[c])) < 0.7);
    }
}

static void
check_kind (const Spec *spec)
{
  GByteArray *file = encode (spec);
  const WsImageFlags flags[] = { WS_IMAGE_GREY, WS_IMAGE_COLOUR };

  for (size_t i = 0; i < G_N_ELEMENTS (flags); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autoptr (WsImage) image = decode (file, flags[i], &error);
    assert_null (error);
    assert_non_null (image);
    assert_int_equal (image->width, WIDTH);
    assert_int_equal (image->height, HEIGHT);
    assert_int_equal (image->bits, spec->bits);
    assert_string_equal (image->format, "PNG");
    assert_false (image->lossy);
    assert_int_equal (image->has_colour, (spec->type & PNG_COLOR_MASK_COLOR) != 0);
    assert_int_equal (image->rgb != NULL, flags[i] == WS_IMAGE_COLOUR);
    check_pixels (spec, image);
  }
  check_both_ways (file->data, file->len,
                   !spec->interlaced && (spec->type == PNG_COLOR_TYPE_PALETTE ||
                                         (spec->type == PNG_COLOR_TYPE_GRAY && spec->bits <= 8)));
  g_byte_array_unref (file);
}

static const struct
{
  int type;
  int bits[6];
} kinds[] = {
  { PNG_COLOR_TYPE_GRAY, { 1, 2, 4, 8, 16 } }, { PNG_COLOR_TYPE_PALETTE, { 1, 2, 4, 8 } },
  { PNG_COLOR_TYPE_RGB, { 8, 16 } },           { PNG_COLOR_TYPE_GRAY_ALPHA, { 8, 16 } },
  { PNG_COLOR_TYPE_RGB_ALPHA, { 8, 16 } },
};

static void
every_kind_is_read (void **state)
{
  (void)state;
  for (size_t k = 0; k < G_N_ELEMENTS (kinds); k++)
    for (const int *bits = kinds[k].bits; *bits != 0; bits++)
      for (int interlaced = 0; interlaced <= 1; interlaced++)
        check_kind (&(Spec){ .type = kinds[k].type, .bits = *bits, .interlaced = interlaced });
}

static void
transparent_codes_are_white (void **state)
{
  (void)state;
  for (size_t k = 0; k < 3; k++)
    for (const int *bits = kinds[k].bits; *bits != 0; bits++)
      check_kind (&(Spec){ .type = kinds[k].type, .bits = *bits, .clear = TRUE });
}

static void
check_tone (const Spec *spec, WsTone tone, double gamma)
{
  GByteArray *file = encode (spec);
  g_autoptr (WsImage) image = decode (file, WS_IMAGE_COLOUR, NULL);
  assert_non_null (image);
  assert_int_equal (image->tone, tone);
  assert_true (fabs (image->gamma - gamma) < 1e-4);
  check_pixels (spec, image);
  g_byte_array_unref (file);
}

static void
tone_is_taken_from_the_file (void **state)
{
  (void)state;
  for (size_t k = 0; k < G_N_ELEMENTS (kinds); k++)
  {
    Spec spec = { .type = kinds[k].type, .bits = 8 };
    check_tone (&spec, WS_TONE_SRGB_ASSUMED, 0.0);
    spec.gamma = 45455;
    check_tone (&spec, WS_TONE_GAMMA, 2.2);
    spec.gamma = 55556;
    check_tone (&spec, WS_TONE_GAMMA, 1.8);
    spec.gamma = 100000;
    check_tone (&spec, WS_TONE_LINEAR, 0.0);
    spec.gamma = 45455;
    spec.srgb = TRUE;
    check_tone (&spec, WS_TONE_SRGB, 0.0);
  }
}

static void
absurd_gamma_is_refused (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  GByteArray *file = encode (&(Spec){ .type = PNG_COLOR_TYPE_GRAY, .bits = 8, .gamma = 20 });
  assert_null (decode (file, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  g_byte_array_unref (file);
}

/* Not one byte may be missing, interlaced or not. */
static void
truncated_files_are_refused (void **state)
{
  (void)state;
  for (int interlaced = 0; interlaced <= 1; interlaced++)
  {
    GByteArray *file =
      encode (&(Spec){ .type = PNG_COLOR_TYPE_RGB, .bits = 8, .interlaced = interlaced });
    for (guint n = 0; n<file->len; n += n + 120> file->len ? 1 : 97)
    {
      g_autoptr (GError) error = NULL;
      g_autofree guint8 *cut = g_memdup2 (file->data, n);
      assert_null (ws_image_decode (cut, n, "cut.png", NULL, WS_IMAGE_GREY, &error));
      assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
      assert_true (g_str_has_prefix (error->message, "cut.png: "));
      assert_null (strchr (error->message, '\n'));
      check_both_ways (cut, n, FALSE);
    }
    g_byte_array_unref (file);
  }
}

/* Every byte of a PNG is either checked or of no meaning. */
static void
changed_bytes_are_found (void **state)
{
  (void)state;
  GByteArray *file = encode (&(Spec){ .type = PNG_COLOR_TYPE_GRAY, .bits = 8 });
  for (guint i = 0; i < file->len; i++)
  {
    g_autoptr (GError) error = NULL;
    file->data[i] ^= 0x41;
    assert_null (decode (file, WS_IMAGE_GREY, &error));
    assert_non_null (error);
    assert_int_equal (error->domain, WS_ERROR);
    check_both_ways (file->data, file->len, FALSE);
    file->data[i] ^= 0x41;
  }
  g_byte_array_unref (file);
}

static void
huge_claims_take_no_memory (void **state)
{
  (void)state;
  static const guint sizes[][2] = {
    { 20000, 20000 }, { 0x7FFFFFFF, 0x7FFFFFFF }, { 1, 0x7FFFFFFF }, { 600000000, 1 }
  };

  for (size_t i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    g_autoptr (GError) error = NULL;
    GByteArray *file = encode (&(Spec){ .type = PNG_COLOR_TYPE_GRAY, .bits = 1 });
    const guint32 size[2] = { GUINT32_TO_BE (sizes[i][0]), GUINT32_TO_BE (sizes[i][1]) };
    memcpy (file->data + 16, size, sizeof size);
    /* Chunk type and data, then its CRC as in PNG 3rd edition, annex D. */
    guint32 crc = 0xFFFFFFFFU;
    for (guint k = 12; k < 29; k++)
    {
      crc ^= file->data[k];
      for (int bit = 0; bit < 8; bit++)
        crc = crc & 1 ? 0xEDB88320U ^ crc >> 1 : crc >> 1;
    }
    crc = GUINT32_TO_BE (~crc);
    memcpy (file->data + 29, &crc, sizeof crc);
    assert_null (decode (file, WS_IMAGE_GREY, &error));
    assert_int_equal (error->domain, WS_ERROR);
    assert_int_equal (ws_error_exit_status (error), 65);
    if (i == 0)
    {
      assert_int_equal (error->code, WS_ERROR_TOO_LARGE);
      assert_non_null (strstr (error->message, "20000 x 20000"));
    }
    g_byte_array_unref (file);
  }
}

static void
the_shape_of_pixels_is_read (void **state)
{
  (void)state;
  for (guint along_y = 0; along_y <= 3300; along_y += 3300)
  {
    const guint along_x = along_y == 0 ? 0 : 3000;
    const Spec spec = {
      .type = PNG_COLOR_TYPE_GRAY, .bits = 8, .along_x = along_x, .along_y = along_y
    };
    GByteArray *file = encode (&spec);
    g_autoptr (WsImage) image =
      ws_image_decode (file->data, file->len, "a", NULL, WS_IMAGE_GREY, NULL);
    assert_true (fabs (image->pixel_aspect - (along_y == 0 ? 0 : 1.1)) < 1e-9);
    g_byte_array_unref (file);
  }
}

static void
limits_can_be_set (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  GByteArray *file = encode (&(Spec){ .type = PNG_COLOR_TYPE_GRAY, .bits = 8 });
  WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;

  limits.max_megapixels = WIDTH * HEIGHT / 1e6 * 0.999;
  assert_null (ws_image_decode (file->data, file->len, "a", &limits, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE));
  g_clear_error (&error);
  limits.max_megapixels = WIDTH * HEIGHT / 1e6 * 1.001;
  g_autoptr (WsImage) image =
    ws_image_decode (file->data, file->len, "a", &limits, WS_IMAGE_GREY, &error);
  assert_non_null (image);
  limits.max_file_bytes = file->len - 1;
  assert_null (ws_image_decode (file->data, file->len, "a", &limits, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE));
  g_byte_array_unref (file);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (every_kind_is_read),          cmocka_unit_test (transparent_codes_are_white),
    cmocka_unit_test (tone_is_taken_from_the_file), cmocka_unit_test (absurd_gamma_is_refused),
    cmocka_unit_test (truncated_files_are_refused), cmocka_unit_test (changed_bytes_are_found),
    cmocka_unit_test (huge_claims_take_no_memory),  cmocka_unit_test (limits_can_be_set),
    cmocka_unit_test (the_shape_of_pixels_is_read),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
