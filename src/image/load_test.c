/*
 * Files as such, and TIFF and BMP written byte by byte.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <glib/gstdio.h>

#include <whetsight/error.h>

#include "image/decoder.h"

enum
{
  WIDTH = 5,
  HEIGHT = 3
};

typedef struct
{
  gboolean big_endian;
  guint bits;
  guint orientation;
  guint32 width, height; /* as claimed */
  gboolean white_is_zero;
} TiffSpec;

static void
put (GByteArray *file, guint32 number, guint n_bytes, gboolean big_endian)
{
  for (guint i = 0; i < n_bytes; i++)
  {
    const guint8 byte = (guint8)(number >> 8 * (big_endian ? n_bytes - 1 - i : i));
    g_byte_array_append (file, &byte, 1);
  }
}

static void
put_tag (GByteArray *file, const TiffSpec *spec, guint tag, guint32 value)
{
  const gboolean is_long = tag == 256 || tag == 257 || tag == 273 || tag == 278 || tag == 279;
  put (file, tag, 2, spec->big_endian);
  put (file, is_long ? 4 : 3, 2, spec->big_endian);
  put (file, 1, 4, spec->big_endian);
  put (file, value, is_long ? 4 : 2, spec->big_endian);
  if (!is_long)
    put (file, 0, 2, spec->big_endian);
}

/* An uncompressed grey TIFF 6.0 file whose pixels count up from 0 by 10. */
static GByteArray *
make_tiff (const TiffSpec *spec)
{
  GByteArray *file = g_byte_array_new ();
  const guint n = WIDTH * HEIGHT * spec->bits / 8;

  g_byte_array_append (file, (const guint8 *)(spec->big_endian ? "MM" : "II"), 2);
  put (file, 42, 2, spec->big_endian);
  put (file, 8, 4, spec->big_endian);
  put (file, 10, 2, spec->big_endian);
  put_tag (file, spec, 256, spec->width);
  put_tag (file, spec, 257, spec->height);
  put_tag (file, spec, 258, spec->bits);
  put_tag (file, spec, 259, 1);
  put_tag (file, spec, 262, spec->white_is_zero ? 0 : 1);
  put_tag (file, spec, 273, 8 + 2 + 10 * 12 + 4);
  put_tag (file, spec, 274, spec->orientation);
  put_tag (file, spec, 277, 1);
  put_tag (file, spec, 278, spec->height);
  put_tag (file, spec, 279, n);
  put (file, 0, 4, spec->big_endian);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    put (file, spec->bits == 16 ? 10 * i * 257 : 10 * i, spec->bits / 8, spec->big_endian);
  return file;
}

/* Rows of three bytes a pixel, blue first, the last row first. */
static GByteArray *
make_bmp (guint32 width, guint32 height)
{
  GByteArray *file = g_byte_array_new ();
  const guint row_bytes = (WIDTH * 3 + 3) / 4 * 4;

  g_byte_array_append (file, (const guint8 *)"BM", 2);
  put (file, 54 + row_bytes * HEIGHT, 4, FALSE);
  put (file, 0, 4, FALSE);
  put (file, 54, 4, FALSE);
  put (file, 40, 4, FALSE);
  put (file, width, 4, FALSE);
  put (file, height, 4, FALSE);
  put (file, 1, 2, FALSE);
  put (file, 24, 2, FALSE);
  for (int i = 0; i < 6; i++)
    put (file, 0, 4, FALSE);
  for (guint y = HEIGHT; y-- > 0;)
  {
    for (guint x = 0; x < WIDTH; x++)
      put (file, 10 * (y * WIDTH + x) * 0x010000U + 0x0201U, 3, FALSE);
    put (file, 0, row_bytes - 3 * WIDTH, FALSE);
  }
  return file;
}

static WsImage *
decode (const GByteArray *file, WsImageFlags flags, GError **error)
{
  return ws_image_decode (file->data, file->len, "test", NULL, flags, error);
}

static guint16
light_of (guint code)
{
  return (guint16)(wsi_srgb_to_linear (code / 255.0) * WS_IMAGE_FULL_SCALE + 0.5);
}

static void
tiff_is_read (void **state)
{
  (void)state;
  for (guint bits = 8; bits <= 16; bits += 8)
    for (int big = 0; big <= 1; big++)
    {
      g_autoptr (GError) error = NULL;
      GByteArray *file = make_tiff (&(TiffSpec){ big, bits, 1, WIDTH, HEIGHT, FALSE });
      g_autoptr (WsImage) image = decode (file, WS_IMAGE_GREY, &error);
      assert_null (error);
      assert_int_equal (image->width, WIDTH);
      assert_int_equal (image->height, HEIGHT);
      assert_int_equal (image->bits, bits);
      assert_string_equal (image->format, "TIFF");
      assert_false (image->has_colour);
      assert_false (image->lossy);
      for (guint i = 0; i < WIDTH * HEIGHT; i++)
        assert_int_equal (image->linear[i], light_of (10 * i));
      g_byte_array_unref (file);
    }
}

/* Which pixel comes first (EXIF 2.32, 4.6.4 A, the same tag as TIFF's). */
static void
tiff_orientation_is_applied (void **state)
{
  (void)state;
  static const guint first[9] = { 0, 0, 4, 14, 10, 0, 10, 14, 4 };
  for (guint orientation = 1; orientation <= 8; orientation++)
    for (guint bits = 8; bits <= 16; bits += 8)
    {
      GByteArray *file = make_tiff (&(TiffSpec){ FALSE, bits, orientation, WIDTH, HEIGHT, FALSE });
      g_autoptr (WsImage) image = decode (file, WS_IMAGE_GREY, NULL);
      assert_non_null (image);
      assert_int_equal (image->width, orientation >= 5 ? HEIGHT : WIDTH);
      assert_int_equal (image->linear[0], light_of (10 * first[orientation]));
      g_byte_array_unref (file);
    }
}

static void
white_is_zero_is_turned (void **state)
{
  (void)state;
  for (guint bits = 8; bits <= 16; bits += 8)
  {
    GByteArray *file = make_tiff (&(TiffSpec){ FALSE, bits, 1, WIDTH, HEIGHT, TRUE });
    g_autoptr (WsImage) image = decode (file, WS_IMAGE_GREY, NULL);
    assert_non_null (image);
    assert_int_equal (image->linear[0], WS_IMAGE_FULL_SCALE);
    assert_int_equal (image->linear[1], light_of (245));
    g_byte_array_unref (file);
  }
}

static void
bmp_is_read (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  GByteArray *file = make_bmp (WIDTH, HEIGHT);
  g_autoptr (WsImage) image = decode (file, WS_IMAGE_COLOUR, &error);
  assert_null (error);
  assert_string_equal (image->format, "BMP");
  assert_true (image->has_colour);
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
  {
    assert_int_equal (image->rgb[3 * i], 10 * i);
    assert_int_equal (image->rgb[3 * i + 1], 2);
    assert_int_equal (image->rgb[3 * i + 2], 1);
  }
  g_byte_array_unref (file);
}

static void
check_truncation (const GByteArray *file)
{
  for (guint n = 1; n < file->len; n++)
  {
    g_autoptr (GError) error = NULL;
    g_autofree guint8 *cut = g_memdup2 (file->data, n);
    assert_null (ws_image_decode (cut, n, "cut", NULL, WS_IMAGE_GREY, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  }
}

static void
truncated_tiff_and_bmp_are_refused (void **state)
{
  (void)state;
  GByteArray *tiff = make_tiff (&(TiffSpec){ FALSE, 8, 1, WIDTH, HEIGHT, FALSE });
  GByteArray *deep = make_tiff (&(TiffSpec){ TRUE, 16, 1, WIDTH, HEIGHT, FALSE });
  GByteArray *bmp = make_bmp (WIDTH, HEIGHT);
  check_truncation (tiff);
  check_truncation (deep);
  check_truncation (bmp);
  g_byte_array_unref (tiff);
  g_byte_array_unref (deep);
  g_byte_array_unref (bmp);
}

static void
check_harmless (GByteArray *file)
{
  const WsImageLimits limits = { .max_megapixels = 1.0, .max_file_bytes = 1 << 20 };
  for (guint i = 0; i < file->len; i++)
  {
    g_autoptr (GError) error = NULL;
    file->data[i] ^= 0x81;
    g_autoptr (WsImage) image =
      ws_image_decode (file->data, file->len, "x", &limits, WS_IMAGE_COLOUR, &error);
    assert_true ((image == NULL) == (error != NULL));
    file->data[i] ^= 0x81;
  }
}

static void
changed_tiff_and_bmp_do_no_harm (void **state)
{
  (void)state;
  GByteArray *tiff = make_tiff (&(TiffSpec){ FALSE, 8, 1, WIDTH, HEIGHT, FALSE });
  GByteArray *bmp = make_bmp (WIDTH, HEIGHT);
  check_harmless (tiff);
  check_harmless (bmp);
  g_byte_array_unref (tiff);
  g_byte_array_unref (bmp);
}

static void
check_too_large (GByteArray *file)
{
  g_autoptr (GError) error = NULL;
  assert_null (decode (file, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE));
  g_byte_array_unref (file);
}

static void
huge_claims_take_no_memory (void **state)
{
  (void)state;
  check_too_large (make_tiff (&(TiffSpec){ FALSE, 8, 1, 40000, 40000, FALSE }));
  check_too_large (make_tiff (&(TiffSpec){ TRUE, 8, 1, 0x7FFFFFFF, 0x7FFFFFFF, FALSE }));
  check_too_large (make_bmp (40000, 40000));
  check_too_large (make_bmp (40000, (guint32)-40000));
  check_too_large (make_bmp (0xFFFFFFFF, 0x80000000));
}

static void
check_not_a_picture (const char *bytes, size_t n, const char *says)
{
  g_autoptr (GError) error = NULL;
  assert_null (ws_image_decode ((const guint8 *)bytes, n, "a\nb.png", NULL, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  assert_non_null (strstr (error->message, says));
  assert_null (strchr (error->message, '\n'));
}

static void
other_content_is_refused (void **state)
{
  (void)state;
  static const char text[] = "BM is how this text begins, and it goes on for some time yet.\n";
  check_not_a_picture ("", 0, "empty");
  check_not_a_picture ("hello", 5,
                       "not a picture we can read; what is read is PNG, JPEG, TIFF and BMP");
  check_not_a_picture (text, sizeof text, "not a picture we can read");
}

static void
files_are_loaded_by_content (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "drill.png", NULL);
  GByteArray *file = make_bmp (WIDTH, HEIGHT);
  g_autofree char *sum = g_compute_checksum_for_data (G_CHECKSUM_SHA256, file->data, file->len);
  g_autoptr (GError) error = NULL;

  assert_true (g_file_set_contents (path, (const char *)file->data, file->len, NULL));
  g_autoptr (WsImage) image = ws_image_load (path, NULL, WS_IMAGE_GREY, &error);
  assert_null (error);
  assert_string_equal (image->format, "BMP");
  assert_string_equal (image->sha256, sum);

  const WsImageLimits limits = { .max_megapixels = 1.0, .max_file_bytes = 10 };
  assert_null (ws_image_load (path, &limits, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE));
  g_clear_error (&error);

  g_unlink (path);
  assert_null (ws_image_load (path, NULL, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  g_clear_error (&error);
  assert_null (ws_image_load (folder, NULL, WS_IMAGE_GREY, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  g_rmdir (folder);
  g_byte_array_unref (file);
}

static void
colour_can_be_had_later (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "drill.bmp", NULL);
  GByteArray *file = make_bmp (WIDTH, HEIGHT);

  assert_true (g_file_set_contents (path, (const char *)file->data, file->len, NULL));
  g_autoptr (WsImage) grey = ws_image_load (path, NULL, WS_IMAGE_GREY, NULL);
  g_autoptr (WsImage) colour = ws_image_load (path, NULL, WS_IMAGE_COLOUR, NULL);
  g_unlink (path);
  g_rmdir (folder);
  assert_null (grey->rgb);
  assert_non_null (colour->rgb);
  assert_null (ws_image_in_colour (colour));
  g_autoptr (WsImage) later = ws_image_in_colour (grey);
  assert_non_null (later);
  assert_memory_equal (later->rgb, colour->rgb, 3 * WIDTH * HEIGHT);
  assert_memory_equal (later->linear, grey->linear, 2 * WIDTH * HEIGHT);

  g_autoptr (WsImage) from_memory =
    ws_image_decode (file->data, file->len, "drill", NULL, WS_IMAGE_GREY, NULL);
  assert_null (ws_image_in_colour (from_memory));
  g_byte_array_unref (file);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (tiff_is_read),
    cmocka_unit_test (tiff_orientation_is_applied),
    cmocka_unit_test (white_is_zero_is_turned),
    cmocka_unit_test (bmp_is_read),
    cmocka_unit_test (truncated_tiff_and_bmp_are_refused),
    cmocka_unit_test (changed_tiff_and_bmp_do_no_harm),
    cmocka_unit_test (huge_claims_take_no_memory),
    cmocka_unit_test (other_content_is_refused),
    cmocka_unit_test (files_are_loaded_by_content),
    cmocka_unit_test (colour_can_be_had_later),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
