/*
 * The bend that a known distortion gives to the axis of a body with flutes.
 */
#include "tool/drill/axis_plumb.h"

#include "base/geometry.h"
#include "base/testing.h"

#include <math.h>

#define WIDTH 1600
#define HEIGHT 1200
#define RADIUS 200.0
#define LENGTH 760.0

typedef struct
{
  double distortion;
  double aside;      /* of the axis from the picture's middle, px */
  double skew, lean; /* of the mid-points: of q q' and of q'^2 */
  double noise;      /* px */
} Look;

/* Half of the body's width at a height and its slope: flutes half a pitch apart. */
static double
half_at (double z, double *slope)
{
  const double t = 2 * G_PI * z / 500;
  *slope = -0.15 * RADIUS * sin (t) * 2 * G_PI / 500;
  return RADIUS * (0.85 + 0.15 * cos (t));
}

static WsPlumb
plumb_of (const Look *look)
{
  const double cx = 0.5 * (WIDTH - 1), cy = 0.5 * (HEIGHT - 1);
  WsOutline outline = { .spacing_px = 1, .blur_px = 1 };
  outline.points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  GRand *random = g_rand_new_with_seed (3);
  WsDrillPoint point = { .outline = &outline, .radius = RADIUS };
  WsMirror *mirror = &point.mirror;
  mirror->axis = (WsAxis){ .origin = { cx + look->aside, 300 }, .direction = { 0, -1 } };
  mirror->z_high = 0;
  mirror->z_low = -LENGTH;
  for (int side = -1; side <= 1; side += 2)
    for (double t = 0; t < LENGTH + 20; t += 1)
    {
      /* All around the body, as outlines go. */
      const double z = side < 0 ? t - LENGTH - 10 : 10 - t;
      double slope;
      const double half = half_at (z, &slope);
      const double off = look->skew * half * slope + look->lean * slope * slope;
      const WsPoint p = wsi_axis_to_picture (&mirror->axis, wsi_point (side * half + off, z));
      const double dx = p.x - cx, dy = p.y - cy;
      const double by = 1 + look->distortion * (dx * dx + dy * dy) / (cx * cx + cy * cy);
      const double noise = g_rand_double_range (random, -1, 1) * look->noise * sqrt (3);
      const WsEdgePoint seen = { .x = (float)(cx + by * dx + noise), .y = (float)(cy + by * dy) };
      g_array_append_val (outline.points, seen);
    }
  const WsPlumb plumb = wsi_drill_axis_plumb (&point, WIDTH, HEIGHT);
  g_rand_free (random);
  g_array_unref (outline.points);
  return plumb;
}

static void
known_distortions_are_found (void **state)
{
  (void)state;
  for (double distortion = -0.02; distortion < 0.021; distortion += 0.01)
    for (double noise = 0; noise < 0.07; noise += 0.03)
    {
      const WsPlumb plumb = plumb_of (&(Look){ distortion, 120, 0, 0, noise });
      if (fabs (distortion) < 0.005)
      {
        assert_true (isinf (plumb.u) && plumb.lines == 0);
        continue;
      }
      assert_true (plumb.lines == 2 && plumb.u < 0.4 * fabs (distortion));
      assert_near (plumb.distortion, distortion, plumb.u);
    }
}

/* Straight through the middle nothing bends it. */
static void
an_axis_through_the_middle_tells_nothing (void **state)
{
  (void)state;
  assert_true (isinf (plumb_of (&(Look){ 0.02, 0, 0, 0, 0.03 }).u));
}

static void
a_skew_and_a_lean_are_no_lens (void **state)
{
  (void)state;
  assert_true (isinf (plumb_of (&(Look){ 0, 120, 0.001, 0.4, 0.03 }).u));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (known_distortions_are_found),
    cmocka_unit_test (an_axis_through_the_middle_tells_nothing),
    cmocka_unit_test (a_skew_and_a_lean_are_no_lens),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
