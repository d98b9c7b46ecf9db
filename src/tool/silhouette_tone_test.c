/*
 * How far a picture's edges lie from where they were when it was resized by a program that takes
 * codes for light, found here by doing it, against what is reckoned with.
 */
#include "tool/silhouette_tone.h"

#include "base/testing.h"
#include "image/tone.h"

#include <math.h>

#define TOOL 0.03
#define GROUND 0.5

static double
light_of_step (double x, double blur)
{
  return TOOL + (GROUND - TOOL) * 0.5 * erfc (-x / blur / sqrt (2.0));
}

/* Codes interpolated between samples, as light, on the mean over where they lie. */
static double
interpolated (double x, double blur)
{
  double sum = 0, weights = 0;
  for (double t = -0.975; t < 1; t += 0.05)
  {
    sum += (1 - fabs (t)) * wsi_linear_to_srgb (light_of_step (x + t, blur));
    weights += 1 - fabs (t);
  }
  return wsi_srgb_to_linear (sum / weights);
}

/* Toward the light, px of the old picture. */
static double
shift_of (double blur)
{
  double low = -1, high = 1;
  while (high - low > 1e-6)
  {
    const double middle = 0.5 * (low + high);
    *(interpolated (middle, blur) < 0.5 * (TOOL + GROUND) ? &low : &high) = middle;
  }
  return low;
}

/* As after making it larger by `factor`, its noise being that of two codes before; 1: as taken. */
static double
u_of (double blur, double factor, double alike, WsTone tone)
{
  g_autoptr (WsImage) image = ws_image_new (8, 8, NULL);
  image->tone = tone;
  image->bits = 8;
  const double code = wsi_linear_to_srgb (GROUND);
  WsOutline *outline = wsi_outline_new (1);
  outline->blur_px = factor * (factor > 1 ? sqrt (blur * blur + 1.0 / 6.0) : blur);
  outline->backlit = TRUE;
  outline->spread =
    (WsEdgeSpread){ .scans = 1000,
                    .phases = 16,
                    .tool = TOOL,
                    .ground = GROUND,
                    .ground_noise = wsi_srgb_to_linear (code + 2.0 / 255.0) - GROUND,
                    .alike = alike };
  const double u = wsi_silhouette_resized_u (image, outline);
  wsi_outline_free (outline);
  return u;
}

/* Interpolated by 2, neighbours differ by a quarter of the noise's variance and neighbours but one
 * by seven tenths. */
static void
u_covers_what_resizing_codes_moves (void **state)
{
  (void)state;
  const double alike = 1 - 0.25 / 0.7;
  for (double blur = 0.7; blur < 1.6; blur += 0.2)
  {
    const double shift = 2 * shift_of (blur), U = 2 * u_of (blur, 2, alike, WS_TONE_SRGB);
    assert_true (shift > 0.04);
    assert_true (U > shift && U < 2.5 * shift);
  }
}

/* Codes that are light move nothing, and where noise tells of no resizing less may be hidden than
 * where nothing is told. */
static void
u_is_small_where_noise_tells_of_none (void **state)
{
  (void)state;
  assert_near (u_of (1, 2, 0.6, WS_TONE_LINEAR), 0, 0);
  const double plain = u_of (1, 1, 0, WS_TONE_SRGB), sharp = u_of (0.4, 1, 0, WS_TONE_SRGB);
  assert_true (plain > 0.002 && plain < 0.008);
  assert_true (sharp > 4 * plain);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (u_covers_what_resizing_codes_moves),
    cmocka_unit_test (u_is_small_where_noise_tells_of_none),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
