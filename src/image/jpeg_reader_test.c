#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <jpeglib.h>

#include <whetsight/error.h>

#include "image/both_ways_for_tests.h"
#include "image/decoder.h"

/* Four quarters, each whole 8 x 8 blocks, so that a flat quarter stays flat. */
enum
{
  WIDTH = 48,
  HEIGHT = 32
};

static const guint8 quarters[2][2] = { { 20, 90 }, { 160, 230 } };

typedef struct
{
  J_COLOR_SPACE colours; /* of the samples given: JCS_GRAYSCALE, JCS_RGB or JCS_CMYK */
  gboolean keep_rgb;     /* store RGB as it is */
  gboolean progressive;
  guint restart;          /* a marker after so many blocks, unless 0 */
  gboolean scan_each;     /* a scan for each component */
  guint orientation;      /* 0: no EXIF data */
  gboolean big_endian;    /* EXIF data */
  guint along_x, along_y; /* JFIF's density; 0: as the library writes it */
} Spec;

static guint8
grey_at (guint x, guint y)
{
  return quarters[y >= HEIGHT / 2][x >= WIDTH / 2];
}

static void
write_exif (struct jpeg_compress_struct *jpeg, const Spec *spec)
{
  guint8 little[] = { 'E',  'x', 'i', 'f', 0, 0, 'I', 'I', 42, 0, 8, 0, 0, 0, 1, 0,
                      0x12, 1,   3,   0,   1, 0, 0,   0,   0,  0, 0, 0, 0, 0, 0, 0 };
  guint8 big[] = { 'E', 'x',  'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1,
                   1,   0x12, 0,   3,   0, 0, 0,   1,   0, 0,  0, 0, 0, 0, 0, 0 };

  little[24] = big[25] = (guint8)spec->orientation;
  if (spec->orientation != 0)
    jpeg_write_marker (jpeg, JPEG_APP0 + 1, spec->big_endian ? big : little, sizeof little);
}

static void
write_rows (struct jpeg_compress_struct *jpeg)
{
  guint8 row[WIDTH * 4];
  JSAMPROW rows[1] = { row };

  for (guint y = 0; y < HEIGHT; y++)
  {
    const guint n = (guint)jpeg->input_components;
    for (guint x = 0; x < WIDTH; x++)
      memset (row + x * n, grey_at (x, y), n);
    jpeg_write_scanlines (jpeg, rows, 1);
  }
}

static GByteArray *
encode (const Spec *spec)
{
  static const jpeg_scan_info scans[3] = { { 1, { 0 }, 0, 63, 0, 0 },
                                           { 1, { 1 }, 0, 63, 0, 0 },
                                           { 1, { 2 }, 0, 63, 0, 0 } };
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr manager;
  unsigned char *bytes = NULL;
  unsigned long n_bytes = 0;

  jpeg.err = jpeg_std_error (&manager);
  jpeg_create_compress (&jpeg);
  jpeg_mem_dest (&jpeg, &bytes, &n_bytes);
  jpeg.image_width = WIDTH;
  jpeg.image_height = HEIGHT;
  jpeg.in_color_space = spec->colours;
  jpeg.input_components = spec->colours == JCS_GRAYSCALE ? 1 : spec->colours == JCS_RGB ? 3 : 4;
  jpeg_set_defaults (&jpeg);
  if (spec->keep_rgb)
    jpeg_set_colorspace (&jpeg, JCS_RGB);
  if (spec->along_x != 0)
  {
    jpeg.X_density = (UINT16)spec->along_x;
    jpeg.Y_density = (UINT16)spec->along_y;
  }
  jpeg_set_quality (&jpeg, 100, TRUE);
  jpeg.restart_interval = spec->restart;
  if (spec->progressive)
    jpeg_simple_progression (&jpeg);
  if (spec->scan_each)
  {
    jpeg.scan_info = scans;
    jpeg.num_scans = 3;
  }
  jpeg_start_compress (&jpeg, TRUE);
  write_exif (&jpeg, spec);
  write_rows (&jpeg);
  jpeg_finish_compress (&jpeg);
  jpeg_destroy_compress (&jpeg);

  GByteArray *file = g_byte_array_new ();
  g_byte_array_append (file, bytes, (guint)n_bytes);
  free (bytes);
  return file;
}

static WsImage *
decode (const GByteArray *file, WsImageFlags flags, GError **error)
{
  return ws_image_decode (file->data, file->len, "test.jpg", NULL, flags, error);
}

static void
check_grey (const WsImage *image, guint x, guint y, guint8 code)
{
  const gsize i = x + (gsize)y * image->width;
  const double light = WS_IMAGE_FULL_SCALE * wsi_srgb_to_linear (code / 255.0);
  const double next = WS_IMAGE_FULL_SCALE * wsi_srgb_to_linear ((code + 1) / 255.0);

  assert_true (fabs (image->linear[i] - light) <= next - light + 1.0);
  for (gsize c = 0; image->rgb != NULL && c < 3; c++)
    assert_true (abs (image->rgb[3 * i + c] - code) <= 1);
}

static void
every_kind_is_read (void **state)
{
  (void)state;
  static const Spec specs[] = {
    { .colours = JCS_GRAYSCALE },
    { .colours = JCS_GRAYSCALE, .progressive = TRUE },
    { .colours = JCS_GRAYSCALE, .restart = 3 },
    { .colours = JCS_RGB },
    { .colours = JCS_RGB, .progressive = TRUE },
    { .colours = JCS_RGB, .keep_rgb = TRUE },
    { .colours = JCS_RGB, .scan_each = TRUE },
  };
  const WsImageFlags flags[] = { WS_IMAGE_GREY, WS_IMAGE_COLOUR };

  for (size_t s = 0; s < G_N_ELEMENTS (specs); s++)
    for (size_t f = 0; f < G_N_ELEMENTS (flags); f++)
    {
      g_autoptr (GError) error = NULL;
      GByteArray *file = encode (&specs[s]);
      g_autoptr (WsImage) image = decode (file, flags[f], &error);
      assert_null (error);
      assert_int_equal (image->width, WIDTH);
      assert_int_equal (image->height, HEIGHT);
      assert_int_equal (image->bits, 8);
      assert_string_equal (image->format, "JPEG");
      assert_true (image->lossy);
      assert_int_equal (image->tone, WS_TONE_SRGB_ASSUMED);
      assert_int_equal (image->has_colour, specs[s].colours == JCS_RGB);
      assert_int_equal (image->rgb != NULL, flags[f] == WS_IMAGE_COLOUR);
      for (guint y = 0; y < HEIGHT; y++)
        for (guint x = 0; x < WIDTH; x++)
          check_grey (image, x, y, grey_at (x, y));
      check_both_ways (file->data, file->len, !specs[s].keep_rgb);
      g_byte_array_unref (file);
    }
}

/* Which stored quarter is the scene's top left and top right (EXIF 2.32, 4.6.4 A). */
static void
exif_orientation_is_applied (void **state)
{
  (void)state;
  static const guint8 top[9][2] = {
    [0] = { 20, 90 },  [1] = { 20, 90 },  [2] = { 90, 20 },  [3] = { 230, 160 }, [4] = { 160, 230 },
    [5] = { 20, 160 }, [6] = { 160, 20 }, [7] = { 230, 90 }, [8] = { 90, 230 }
  };

  for (guint orientation = 0; orientation <= 8; orientation++)
    for (int big = 0; big <= 1; big++)
    {
      GByteArray *file =
        encode (&(Spec){ .colours = JCS_RGB, .orientation = orientation, .big_endian = big });
      g_autoptr (WsImage) image = decode (file, WS_IMAGE_COLOUR, NULL);
      assert_non_null (image);
      assert_int_equal (image->width, orientation >= 5 ? HEIGHT : WIDTH);
      assert_int_equal (image->height, orientation >= 5 ? WIDTH : HEIGHT);
      check_grey (image, 0, 0, top[orientation][0]);
      check_grey (image, image->width / 2 - 1, image->height / 2 - 1, top[orientation][0]);
      check_grey (image, image->width - 1, 0, top[orientation][1]);
      check_both_ways (file->data, file->len, TRUE);
      g_byte_array_unref (file);
    }
}

static void
truncated_files_are_refused (void **state)
{
  (void)state;
  for (int progressive = 0; progressive <= 1; progressive++)
  {
    GByteArray *file =
      encode (&(Spec){ .colours = JCS_RGB, .progressive = progressive, .orientation = 6 });
    for (guint n = 0; n < file->len; n++)
    {
      g_autoptr (GError) error = NULL;
      g_autofree guint8 *cut = g_memdup2 (file->data, n);
      assert_null (ws_image_decode (cut, n, "cut.jpg", NULL, WS_IMAGE_GREY, &error));
      assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
      assert_null (strchr (error->message, '\n'));
      check_both_ways (cut, n, FALSE);
    }
    g_byte_array_unref (file);
  }
}

/* JPEG has no check sums, so a changed byte may go unseen; it must do no harm. */
static void
changed_bytes_do_no_harm (void **state)
{
  (void)state;
  const WsImageLimits limits = { .max_megapixels = 0.01, .max_file_bytes = 1 << 20 };
  for (int progressive = 0; progressive <= 1; progressive++)
  {
    GByteArray *file =
      encode (&(Spec){ .colours = JCS_RGB, .progressive = progressive, .orientation = 8 });
    for (guint i = 0; i < file->len; i++)
      for (guint bit = 0; bit < 8; bit += 3)
      {
        g_autoptr (GError) error = NULL;
        file->data[i] ^= (guint8)(1U << bit);
        g_autoptr (WsImage) image =
          ws_image_decode (file->data, file->len, "x", &limits, WS_IMAGE_GREY, &error);
        assert_true ((image == NULL) == (error != NULL));
        file->data[i] ^= (guint8)(1U << bit);
      }
    g_byte_array_unref (file);
  }
}

/* The last place of a marker. */
/* 200 pixels a length down for 100 across: twice as wide as high, and the other way when the camera
 * was turned. */
static void
the_shape_of_pixels_is_read (void **state)
{
  static const struct
  {
    Spec spec;
    double aspect;
  } cases[] = {
    { { .colours = JCS_GRAYSCALE, .along_x = 100, .along_y = 200 }, 2 },
    { { .colours = JCS_GRAYSCALE, .along_x = 100, .along_y = 200, .orientation = 6 }, 0.5 },
    { { .colours = JCS_GRAYSCALE, .along_x = 72, .along_y = 72 }, 1 },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    GByteArray *file = encode (&cases[i].spec);
    g_autoptr (WsImage) image = decode (file, WS_IMAGE_GREY, NULL);
    assert_true (fabs (image->pixel_aspect - cases[i].aspect) < 1e-9);
    g_byte_array_unref (file);
  }
}

/* EXIF, TIFF 6.0 section 2: a fraction stands elsewhere. */
static void
fractions_are_read_from_exif (void **state)
{
  const guint8 data[] = { 'I', 'I', 42, 0, 8, 0, 0, 0, 1, 0,  0x1A, 1, 5, 0, 1, 0, 0,
                          0,   26,  0,  0, 0, 0, 0, 0, 0, 44, 1,    0, 0, 4, 0, 0, 0 };
  guint8 empty[sizeof data];
  double value = 0;
  (void)state;
  assert_true (wsi_exif_ratio (data, sizeof data, 0x011A, &value));
  assert_true (fabs (value - 75) < 1e-9);
  assert_false (wsi_exif_ratio (data, sizeof data, 0x011B, &value));
  assert_false (wsi_exif_ratio (data, sizeof data - 1, 0x011A, &value));
  memcpy (empty, data, sizeof data);
  empty[30] = 0;
  assert_false (wsi_exif_ratio (empty, sizeof empty, 0x011A, &value));
}

static guint
find_marker (const GByteArray *file, guint8 marker)
{
  guint found = 0;
  for (guint i = 0; i + 1 < file->len; i++)
    if (file->data[i] == 0xFF && file->data[i + 1] == marker)
      found = i;
  assert_int_not_equal (found, 0);
  return found;
}

static void
check_refused (const GByteArray *file, int code, const char *says)
{
  g_autoptr (GError) error = NULL;
  assert_null (decode (file, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, code));
  assert_non_null (strstr (error->message, says));
}

static void
huge_claims_take_no_memory (void **state)
{
  (void)state;
  GByteArray *file = encode (&(Spec){ .colours = JCS_GRAYSCALE });
  memset (file->data + find_marker (file, 0xC0) + 5, 0xEA, 4);
  check_refused (file, WS_ERROR_TOO_LARGE, "60138 x 60138");
  g_byte_array_unref (file);
}

static void
endless_scans_are_refused (void **state)
{
  (void)state;
  GByteArray *file = encode (&(Spec){ .colours = JCS_RGB, .scan_each = TRUE });
  const guint last = find_marker (file, 0xDA);
  const guint n = file->len - 2 - last;
  g_autofree guint8 *scan = g_memdup2 (file->data + last, n);

  g_byte_array_set_size (file, last + n);
  for (int i = 0; i < 200; i++)
    g_byte_array_append (file, scan, n);
  g_byte_array_append (file, (const guint8 *)"\xFF\xD9", 2);
  check_refused (file, WS_ERROR_DATA, "too many scans");
  g_byte_array_unref (file);
}

static void
peculiar_kinds_are_named (void **state)
{
  (void)state;
  GByteArray *file = encode (&(Spec){ .colours = JCS_CMYK });
  check_refused (file, WS_ERROR_DATA, "CMYK");
  g_byte_array_unref (file);

  file = encode (&(Spec){ .colours = JCS_GRAYSCALE });
  file->data[find_marker (file, 0xC0) + 4] = 12;
  check_refused (file, WS_ERROR_DATA, "a kind of JPEG we can't read");
  g_byte_array_unref (file);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_shape_of_pixels_is_read), cmocka_unit_test (fractions_are_read_from_exif),
    cmocka_unit_test (every_kind_is_read),          cmocka_unit_test (exif_orientation_is_applied),
    cmocka_unit_test (truncated_files_are_refused), cmocka_unit_test (changed_bytes_do_no_harm),
    cmocka_unit_test (huge_claims_take_no_memory),  cmocka_unit_test (endless_scans_are_refused),
    cmocka_unit_test (peculiar_kinds_are_named),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
