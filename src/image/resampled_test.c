#include "image/resampled.h"

#include "base/testing.h"
#include "image/tone.h"

#include <math.h>

#define WIDTH 900
#define HEIGHT 700
#define SEED 5

static gboolean
is_told_uneven (const WsImage *image)
{
  double may_be;
  return wsi_image_resampled (image, NULL, &may_be) == WS_RESAMPLED_UNEVENLY;
}

/* A panel with a dark bar across it; `rough` for its noise. */
static WsImage *
noisy_panel (guint width, guint height, double bands, double rough)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  WsImage *image = ws_image_new (width, height, NULL);
  for (guint y = 0; y < height; y++)
    for (guint x = 0; x < width; x++)
    {
      double noise = 0;
      for (guint i = 0; i < 4; i++)
        noise += g_rand_double (random) - 0.5;
      const double fall = 1 - 0.2 * hypot (x - 0.5 * width, y - 0.5 * height) / width;
      const double flicker = 1 + bands * sin (2 * G_PI * y / 23);
      const double light = x > 0.4 * width && x < 0.6 * width ? 2000 : 40000 * fall * flicker;
      image->linear[(gsize)y * width + x] =
        (guint16)CLAMP (light + rough * noise * sqrt (light), 0, 65535);
    }
  return image;
}

static WsImage *
panel (guint width, guint height, double bands)
{
  return noisy_panel (width, height, bands, 4);
}

/* What lies at (a x + b y, c y) of `image`, each pixel from its four neighbours. */
static WsImage *
warped (const WsImage *image, double a, double b, double c)
{
  WsImage *out = ws_image_new ((guint)(image->width / a), (guint)(image->height / c), NULL);
  for (guint y = 0; y < out->height; y++)
    for (guint x = 0; x < out->width; x++)
    {
      const double u = CLAMP (a * x + b * y, 0, image->width - 2.0);
      const double v = CLAMP (c * y, 0, image->height - 2.0);
      const guint i = (guint)u, j = (guint)v;
      const double p = u - i, q = v - j;
      const guint16 *at = image->linear + (gsize)j * image->width + i;
      out->linear[(gsize)y * out->width + x] =
        (guint16)((1 - q) * ((1 - p) * at[0] + p * at[1]) +
                  q * ((1 - p) * at[image->width] + p * at[image->width + 1]));
    }
  return out;
}

static void
squeezed_and_skewed_pictures_are_told (void **state)
{
  static const double warps[][3] = {
    { 1.1, 0, 1 },  { 0.9, 0, 1 },     { 0.97, 0, 1 },     { 1, 0, 1.03 },
    { 1, 0, 0.93 }, { 0.95, 0, 1.04 }, { 1.0, 0.02, 1.0 },
  };
  (void)state;
  g_autoptr (WsImage) plain = panel (WIDTH, HEIGHT, 0);
  for (gsize i = 0; i < G_N_ELEMENTS (warps); i++)
  {
    g_autoptr (WsImage) image = warped (plain, warps[i][0], warps[i][1], warps[i][2]);
    if (!is_told_uneven (image))
      fail_msg ("%g %g %g isn't told", warps[i][0], warps[i][1], warps[i][2]);
  }
}

static void
plain_pictures_and_smaller_ones_are_left_alone (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = panel (WIDTH, HEIGHT, 0);
  assert_false (is_told_uneven (plain));
  static const double scales[] = { 1.1, 0.93, 1.27 };
  for (gsize i = 0; i < G_N_ELEMENTS (scales); i++)
  {
    g_autoptr (WsImage) image = warped (plain, scales[i], 0, scales[i]);
    assert_false (is_told_uneven (image));
  }
}

static void
a_flickering_lamp_is_no_resizing (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = panel (WIDTH, HEIGHT, 0.1);
  assert_false (is_told_uneven (image));
}

enum
{
  FACTOR = 4,
  COLUMNS = WIDTH / FACTOR,
  ROWS = HEIGHT / FACTOR
};

/* Where somebody says what is ground, dark ground tells as well, and what is too small tells
 * nothing, nor that the picture is as it was taken. */
static void
a_ground_that_is_told_shows_it (void **state)
{
  (void)state;
  g_autofree guint8 *in = g_new0 (guint8, (gsize)COLUMNS * ROWS);
  const WsImageCells cells = { COLUMNS, ROWS, FACTOR, in };
  double may_be;
  g_autoptr (WsImage) plain = panel (WIDTH, HEIGHT, 0);
  g_autoptr (WsImage) skewed = warped (plain, 1, 0.03, 1);
  assert_int_equal (wsi_image_resampled (plain, &cells, &may_be), WS_RESAMPLED_UNKNOWN);
  for (gsize i = 0; i < (gsize)COLUMNS * ROWS; i++)
    in[i] = i % COLUMNS < COLUMNS / 3;
  assert_int_equal (wsi_image_resampled (plain, &cells, &may_be), WS_RESAMPLED_UNKNOWN);
  for (gsize i = 0; i < (gsize)COLUMNS * ROWS; i++)
    in[i] = i % COLUMNS < COLUMNS / 3 || i % COLUMNS > 2 * COLUMNS / 3;
  assert_int_equal (wsi_image_resampled (plain, &cells, &may_be), WS_RESAMPLED_NOT);
  assert_int_equal (wsi_image_resampled (skewed, &cells, &may_be), WS_RESAMPLED_UNEVENLY);
  g_autoptr (WsImage) flickering = panel (WIDTH, HEIGHT, 0.1);
  assert_int_equal (wsi_image_resampled (flickering, &cells, &may_be), WS_RESAMPLED_UNKNOWN);
  skewed->lossy = TRUE;
  assert_int_equal (wsi_image_resampled (skewed, &cells, &may_be), WS_RESAMPLED_UNKNOWN);
}

/* As a camera writes it: in codes of 8 bits, and sRGB's tone curve. */
static void
write_in_codes (WsImage *image)
{
  for (gsize i = 0; i < (gsize)image->width * image->height; i++)
  {
    const double code = round (255 * wsi_linear_to_srgb (image->linear[i] / 65535.0));
    image->linear[i] = (guint16)round (65535 * wsi_srgb_to_linear (code / 255));
  }
  image->bits = 8;
}

/* Light that falls off passes a code every 50 to 500 rows, and so does a picture that is skewed by
 * less than a degree pass from row to row of the sensor.  Noise of half a code shows which it is:
 * rounding leaves a period of 1 per cent in it. */
static void
rounding_to_codes_is_told_from_a_small_skew (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = noisy_panel (WIDTH, HEIGHT, 0, 1.6);
  g_autoptr (WsImage) skewed = warped (plain, 1, 0.014, 1);
  write_in_codes (plain);
  write_in_codes (skewed);
  assert_false (is_told_uneven (plain));
  assert_true (is_told_uneven (skewed));
}

/* Light that passes a code in about as many rows as the picture is skewed by a pixel: what is seen
 * may be either, and a multiple of its frequency is seen, too, but it is no more than that. */
static void
what_may_be_rounding_tells_how_much (void **state)
{
  (void)state;
  g_autofree guint8 *in = g_new0 (guint8, (gsize)COLUMNS * ROWS);
  const WsImageCells cells = { COLUMNS, ROWS, FACTOR, in };
  double may_be;
  for (gsize i = 0; i < (gsize)COLUMNS * ROWS; i++)
    in[i] = i % COLUMNS < COLUMNS / 3 || i % COLUMNS > 2 * COLUMNS / 3;
  g_autoptr (WsImage) plain = noisy_panel (WIDTH, HEIGHT, 0, 1.4);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
      plain->linear[(gsize)y * WIDTH + x] =
        (guint16)(plain->linear[(gsize)y * WIDTH + x] * (0.95 + 0.05 * y / HEIGHT));
  g_autoptr (WsImage) skewed = warped (plain, 1, 0.015, 1);
  write_in_codes (skewed);
  assert_int_equal (wsi_image_resampled (skewed, &cells, &may_be), WS_RESAMPLED_LITTLE);
  assert_true (may_be > 0.015 && may_be < 0.035);
}

/* Without noise there is nothing to tell, and compression makes periods of its own. */
static void
what_has_no_noise_of_its_own_tells_nothing (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = panel (WIDTH, HEIGHT, 0);
  g_autoptr (WsImage) squeezed = warped (plain, 1.1, 0, 1);
  squeezed->lossy = TRUE;
  assert_false (is_told_uneven (squeezed));
  g_autoptr (WsImage) flat = ws_image_new (WIDTH, HEIGHT, NULL);
  assert_false (is_told_uneven (flat));
  for (gsize i = 0; i < (gsize)WIDTH * HEIGHT; i++)
    flat->linear[i] = 30000;
  assert_false (is_told_uneven (flat));
  g_autoptr (WsImage) small = ws_image_new (3, 2, NULL);
  assert_false (is_told_uneven (small));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (squeezed_and_skewed_pictures_are_told),
    cmocka_unit_test (plain_pictures_and_smaller_ones_are_left_alone),
    cmocka_unit_test (a_flickering_lamp_is_no_resizing),
    cmocka_unit_test (a_ground_that_is_told_shows_it),
    cmocka_unit_test (rounding_to_codes_is_told_from_a_small_skew),
    cmocka_unit_test (what_may_be_rounding_tells_how_much),
    cmocka_unit_test (what_has_no_noise_of_its_own_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
