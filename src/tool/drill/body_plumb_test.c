/*
 * The width that a known distortion gives to a body of one width.
 */
#include "tool/drill/body_plumb.h"

#include "base/geometry.h"
#include "base/testing.h"

#include <math.h>

#define WIDTH 1600
#define HEIGHT 1200
#define RADIUS 200.0

typedef struct
{
  double distortion;
  double taper;       /* of half the width, px on a px */
  double noise;       /* px */
  gboolean has_short; /* two lands, the lower one cleared, and flutes between them */
} Look;

/* Half of the width at a height. */
static double
half_at (const Look *look, double z)
{
  const double half = RADIUS + look->taper * z;
  if (!look->has_short || z > -60)
    return half;
  if (z < -720)
    return half - 4;
  const double flute = MIN (z + 720, -60 - z);
  return half - 0.0018 * flute * flute;
}

/* Two sides of a body that stands upright, its point in the picture's upper part. */
static WsPlumb
plumb_of (const Look *look)
{
  const double cx = 0.5 * (WIDTH - 1), cy = 0.5 * (HEIGHT - 1);
  WsOutline outline = { .spacing_px = 1, .blur_px = 1 };
  outline.points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  GArray *uz = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  GRand *random = g_rand_new_with_seed (3);
  WsDrillPoint point = { .outline = &outline, .radius = RADIUS };
  point.mirror.axis = (WsAxis){ .origin = { cx + 40, 300 }, .direction = { 0, -1 } };
  for (int side = -1; side <= 1; side += 2)
    for (double z = 0; z > -800; z -= 1)
    {
      const WsPoint at = { side * half_at (look, z), z };
      const WsPoint p = wsi_axis_to_picture (&point.mirror.axis, at);
      const double dx = p.x - cx, dy = p.y - cy;
      const double by = 1 + look->distortion * (dx * dx + dy * dy) / (cx * cx + cy * cy);
      const double off = g_rand_double_range (random, -1, 1) * look->noise * sqrt (3);
      const WsEdgePoint seen = { .x = (float)(cx + by * dx + off), .y = (float)(cy + by * dy) };
      const WsPoint in_frame =
        wsi_axis_to_tool (&point.mirror.axis, wsi_point ((double)seen.x, (double)seen.y));
      g_array_append_val (outline.points, seen);
      g_array_append_val (uz, in_frame);
    }
  point.uz = (WsPoint *)(void *)uz->data;
  const WsPlumb plumb = wsi_drill_body_plumb (&point, WIDTH, HEIGHT);
  g_rand_free (random);
  g_array_unref (uz);
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
      const WsPlumb plumb = plumb_of (&(Look){ distortion, 0, noise, FALSE });
      assert_true (plumb.u > 0 && plumb.u < 0.005);
      assert_near (plumb.distortion, distortion, plumb.u);
    }
}

/* By lands of a third of the radius; the corners lie at the top. */
static void
short_lands_tell_it_too (void **state)
{
  (void)state;
  for (double distortion = -0.02; distortion < 0.021; distortion += 0.01)
  {
    const WsPlumb plumb = plumb_of (&(Look){ distortion, 0, 0.03, TRUE });
    assert_true (plumb.u > 0 && plumb.u < 0.005);
    assert_near (plumb.distortion, distortion, 2 * plumb.u);
  }
}

/* A margin worn behind the corners: the lands' slopes don't agree on one lens. */
static void
what_lands_do_not_agree_on_is_unknown (void **state)
{
  (void)state;
  const WsPlumb plumb = plumb_of (&(Look){ 0, 0.02, 0.03, TRUE });
  assert_true (!(plumb.u < 0.01));
}

/* 0.05 mm of the diameter on 100 mm. */
static void
back_taper_is_no_lens (void **state)
{
  (void)state;
  const WsPlumb plumb = plumb_of (&(Look){ 0, 0.00025, 0.03, FALSE });
  assert_true (fabs (plumb.distortion) < 1.3 * plumb.u);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (known_distortions_are_found),
    cmocka_unit_test (back_taper_is_no_lens),
    cmocka_unit_test (short_lands_tell_it_too),
    cmocka_unit_test (what_lands_do_not_agree_on_is_unknown),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
