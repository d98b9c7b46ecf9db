#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <whetsight/error.h>

#include "image/decoder.h"

/* A picture wider than a tile and not a multiple of it, each pixel its own number. */
enum
{
  WIDTH = 45,
  HEIGHT = 70
};

static guint16
number_of (guint x, guint y)
{
  return (guint16)(1 + x + y * WIDTH);
}

static WsImage *
numbered (void)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  image->rgb = g_new (guint8, 3 * WIDTH * HEIGHT);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const gsize i = x + y * (gsize)WIDTH;
      image->linear[i] = number_of (x, y);
      image->rgb[3 * i] = (guint8)x;
      image->rgb[3 * i + 1] = (guint8)y;
      image->rgb[3 * i + 2] = 77;
    }
  return image;
}

/* EXIF 2.32, 4.6.4 A: which side of the scene the stored row 0 and column 0 are.  The
 * scene's top left, top right and bottom left pixels, as stored (x, y). */
static const struct
{
  guint top_left[2], top_right[2], bottom_left[2];
} corners[9] = {
  [1] = { { 0, 0 }, { WIDTH - 1, 0 }, { 0, HEIGHT - 1 } },
  [2] = { { WIDTH - 1, 0 }, { 0, 0 }, { WIDTH - 1, HEIGHT - 1 } },
  [3] = { { WIDTH - 1, HEIGHT - 1 }, { 0, HEIGHT - 1 }, { WIDTH - 1, 0 } },
  [4] = { { 0, HEIGHT - 1 }, { WIDTH - 1, HEIGHT - 1 }, { 0, 0 } },
  [5] = { { 0, 0 }, { 0, HEIGHT - 1 }, { WIDTH - 1, 0 } },
  [6] = { { 0, HEIGHT - 1 }, { 0, 0 }, { WIDTH - 1, HEIGHT - 1 } },
  [7] = { { WIDTH - 1, HEIGHT - 1 }, { WIDTH - 1, 0 }, { 0, HEIGHT - 1 } },
  [8] = { { WIDTH - 1, 0 }, { WIDTH - 1, HEIGHT - 1 }, { 0, 0 } },
};

static void
check_pixel (const WsImage *image, guint x, guint y, const guint stored[2])
{
  const gsize i = x + (gsize)y * image->width;
  assert_int_equal (image->linear[i], number_of (stored[0], stored[1]));
  assert_int_equal (image->rgb[3 * i], stored[0]);
  assert_int_equal (image->rgb[3 * i + 1], stored[1]);
  assert_int_equal (image->rgb[3 * i + 2], 77);
}

static void
corners_go_where_exif_says (void **state)
{
  (void)state;
  for (guint orientation = 1; orientation <= 8; orientation++)
  {
    g_autoptr (WsImage) image = numbered ();
    assert_true (wsi_image_orient (image, orientation, NULL));
    assert_int_equal (image->width, orientation >= 5 ? HEIGHT : WIDTH);
    assert_int_equal (image->height, orientation >= 5 ? WIDTH : HEIGHT);
    check_pixel (image, 0, 0, corners[orientation].top_left);
    check_pixel (image, image->width - 1, 0, corners[orientation].top_right);
    check_pixel (image, 0, image->height - 1, corners[orientation].bottom_left);
  }
}

static void
no_pixel_is_lost (void **state)
{
  (void)state;
  for (guint orientation = 1; orientation <= 8; orientation++)
  {
    gboolean seen[WIDTH * HEIGHT + 1] = { FALSE };
    g_autoptr (WsImage) image = numbered ();
    assert_true (wsi_image_orient (image, orientation, NULL));
    for (gsize i = 0; i < WIDTH * HEIGHT; i++)
    {
      assert_in_range (image->linear[i], 1, WIDTH * HEIGHT);
      assert_false (seen[image->linear[i]]);
      seen[image->linear[i]] = TRUE;
    }
  }
}

static void
unknown_values_change_nothing (void **state)
{
  (void)state;
  static const guint values[] = { 0, 9, 65535 };
  for (size_t i = 0; i < G_N_ELEMENTS (values); i++)
  {
    g_autoptr (WsImage) image = numbered ();
    assert_true (wsi_image_orient (image, values[i], NULL));
    assert_int_equal (image->width, WIDTH);
    check_pixel (image, 0, 0, corners[1].top_left);
  }
}

static void
new_pictures_have_pixels (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  assert_null (ws_image_new (0, 4, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  g_clear_error (&error);
  assert_null (ws_image_new (G_MAXUINT, G_MAXUINT, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_TOO_LARGE));
  ws_image_free (NULL);
}

static void
tags_are_found_in_either_byte_order (void **state)
{
  (void)state;
  static const guint8 little[] = "II*\0\x08\0\0\0\x02\0"
                                 "\x00\x01\x04\0\x01\0\0\0\x39\x30\0\0"
                                 "\x12\x01\x03\0\x01\0\0\0\x06\0\0\0";
  static const guint8 big[] = "MM\0*\0\0\0\x08\0\x01"
                              "\x01\x12\0\x03\0\0\0\x01\0\x08\0\0";
  guint32 value = 0;

  assert_true (wsi_exif_tag (little, sizeof little - 1, 0x0112, &value));
  assert_int_equal (value, 6);
  assert_true (wsi_exif_tag (little, sizeof little - 1, 0x0100, &value));
  assert_int_equal (value, 12345);
  assert_false (wsi_exif_tag (little, sizeof little - 1, 0x0101, &value));
  assert_true (wsi_exif_tag (big, sizeof big - 1, 0x0112, &value));
  assert_int_equal (value, 8);
  for (size_t n = 0; n < sizeof big - 1; n++)
  {
    g_autofree guint8 *cut = g_memdup2 (big, n);
    wsi_exif_tag (cut, n, 0x0112, &value);
    assert_int_equal (value, 8);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (corners_go_where_exif_says),
    cmocka_unit_test (no_pixel_is_lost),
    cmocka_unit_test (unknown_values_change_nothing),
    cmocka_unit_test (new_pictures_have_pixels),
    cmocka_unit_test (tags_are_found_in_either_byte_order),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
