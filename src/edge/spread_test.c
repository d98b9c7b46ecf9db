/*
 * Overshoot of edges that were sharpened, as unsharp masking on codes does it.
 */
#include "edge/spread.h"

#include "base/testing.h"
#include "image/tone.h"

#include <math.h>

#define SIDE 400

/* A dark bar that comes from below, slightly turned, with edges blurred by `blur`, then sharpened
 * in sRGB codes along the normal by `amount` against a spread `radius` wider; `noise` in parts of
 * full scale. */
typedef struct
{
  double blur, amount, radius, noise;
  double fin;   /* on the bar's end, so wide */
  double power; /* of the codes; 0: none */
} Look;

static double
phi (double x)
{
  return 0.5 * erfc (-x / sqrt (2.0));
}

static double
random_normal (GRand *random)
{
  return sqrt (-2 * log (1 - g_rand_double (random))) * cos (2 * G_PI * g_rand_double (random));
}

static double
light_at (const Look *look, double distance)
{
  const double low = 0.03, high = 0.35;
  const double plain = low + (high - low) * phi (distance / look->blur);
  const double code = wsi_linear_to_srgb (plain);
  /* The mask's blur of the codes, by sums over a normal spread. */
  double blurred = 0, weights = 0;
  for (double t = -3; t <= 3; t += 0.25)
  {
    const double weight = exp (-0.5 * t * t);
    const double there = low + (high - low) * phi ((distance + look->radius * t) / look->blur);
    blurred += weight * wsi_linear_to_srgb (there);
    weights += weight;
  }
  const double sharp = code + look->amount * (code - blurred / weights);
  const double code_there = CLAMP (sharp, 0, 1);
  return wsi_srgb_to_linear (look->power > 0 ? pow (code_there, look->power) : code_there);
}

static WsImage *
bar (const Look *look)
{
  WsImage *image = ws_image_new (SIDE, SIDE, NULL);
  GRand *random = g_rand_new_with_seed (7);
  const double c = cos (0.05), s = sin (0.05);
  for (guint y = 0; y < SIDE; y++)
    for (guint x = 0; x < SIDE; x++)
    {
      const double dx = x - 0.5 * SIDE, dy = y - 0.5 * SIDE;
      const double u = c * dx + s * dy, v = c * dy - s * dx;
      const double body = MAX (fabs (u) - 0.25 * SIDE, -v - 0.25 * SIDE);
      const double fin = MAX (fabs (u) - 0.5 * look->fin, -v - 0.45 * SIDE);
      const double distance = look->fin > 0 ? MIN (body, fin) : body;
      const double light = light_at (look, distance) + look->noise * random_normal (random);
      image->linear[y * SIDE + x] = (guint16)lrint (CLAMP (light, 0, 1) * WS_IMAGE_FULL_SCALE);
    }
  g_rand_free (random);
  return image;
}

/* Half a pixel to the right and down, by the mean of four: of noise neighbours then have half in
 * common, and neighbours but one nothing. */
static void
interpolate (WsImage *image)
{
  for (guint y = 0; y + 1 < SIDE; y++)
    for (guint x = 0; x + 1 < SIDE; x++)
    {
      guint16 *at = image->linear + y * SIDE + x;
      *at = (guint16)((at[0] + at[1] + at[SIDE] + at[SIDE + 1]) / 4);
    }
}

static WsEdgeSpread
spread_in (const WsImage *image)
{
  g_auto (WsSegment) segment = wsi_segment_find (image);
  if (segment.trouble != WS_RETAKE_NONE)
    fail_msg ("%s: %s", ws_retake_code (segment.trouble), segment.detail);
  g_autoptr (WsOutline) outline = wsi_outline_trace (image, &segment);
  assert_non_null (outline);
  return wsi_edge_spread (image, outline);
}

static WsEdgeSpread
spread_of (Look look)
{
  g_autoptr (WsImage) image = bar (&look);
  return spread_in (image);
}

static double
overshoot_of (Look look)
{
  return spread_of (look).overshoot;
}

static void
plain_edges_have_none (void **state)
{
  (void)state;
  for (double blur = 0.6; blur < 3; blur += 0.6)
    for (double noise = 0; noise < 0.008; noise += 0.0025)
      assert_near (overshoot_of ((Look){ blur, 0, 1, noise, 0, 0 }), 0, 0);
}

/* Beyond a fin's other edge lies ground as well: its two edges tell nothing. */
static void
a_fin_is_not_sharpened (void **state)
{
  (void)state;
  for (double fin = 6; fin < 20; fin += 2)
    assert_near (overshoot_of ((Look){ 0.9, 0, 1, 0.002, fin, 0 }), 0, 0.002);
}

/* The mask's own arithmetic: the greatest light beside the edge, less what plain ones are allowed.
 */
static void
sharpened_edges_have_what_the_mask_gave (void **state)
{
  (void)state;
  static const Look looks[] = {
    { 0.8, 1, 1, 0, 0, 0 },   { 1.2, 1, 2, 0, 0, 0 },   { 1, 0.7, 4, 0, 0, 0 },
    { 1, 1, 2, 0.004, 0, 0 }, { 0.8, 1.6, 2, 0, 0, 0 }, { 0.7, 1.6, 4, 0.002, 0, 0 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (looks); i++)
  {
    double most = 0;
    for (double d = 0.5; d < 4 * looks[i].blur; d += 0.05)
      most = MAX (most, light_at (&looks[i], d));
    const double expected = (most - 0.35) / 0.32;
    assert_true (expected > 0.02);
    assert_near (overshoot_of (looks[i]), expected, 0.15 * expected + 0.006);
  }
}

/* Noise turns the normal of each point, and straight edges stay straight: most of the bar's sides,
 * 400 points, are averaged. */
static void
noise_bends_nothing (void **state)
{
  (void)state;
  for (double noise = 0.005; noise < 0.012; noise += 0.005)
    assert_true (spread_of ((Look){ 0.8, 0, 1, noise, 0, 0 }).scans > 250);
}

/* Half the light of such an edge lies a quarter of the blur or more from where it seems. */
static void
a_power_of_the_codes_is_lopsided (void **state)
{
  (void)state;
  for (double blur = 0.8; blur < 2; blur += 0.8)
  {
    assert_near (spread_of ((Look){ blur, 0, 1, 0.0005, 0, 0 }).lopsided, 0, 0);
    assert_true (spread_of ((Look){ blur, 0, 1, 0.0005, 0, 0.6 }).lopsided > 0.0005);
  }
}

static void
interpolated_noise_is_alike (void **state)
{
  (void)state;
  for (double noise = 0.002; noise < 0.009; noise += 0.003)
  {
    const Look look = { 0.9, 0, 1, noise, 0, 0 };
    g_autoptr (WsImage) image = bar (&look);
    assert_near (spread_in (image).alike, 0, 0.05);
    interpolate (image);
    assert_near (spread_in (image).alike, 0.5, 0.06);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (plain_edges_have_none),
    cmocka_unit_test (a_fin_is_not_sharpened),
    cmocka_unit_test (sharpened_edges_have_what_the_mask_gave),
    cmocka_unit_test (noise_bends_nothing),
    cmocka_unit_test (a_power_of_the_codes_is_lopsided),
    cmocka_unit_test (interpolated_noise_is_alike),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
