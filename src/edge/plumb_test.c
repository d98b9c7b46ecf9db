/*
 * The bow that a known distortion gives to the straight sides of a known outline.
 */
#include "edge/plumb.h"

#include "base/testing.h"
#include "edge/testing.h"

#include <math.h>

#define WIDTH 1600
#define HEIGHT 1200

typedef struct
{
  double distortion;
  double noise; /* px */
  double bow;   /* of the first side itself, px */
} Look;

/* As the radial model says, of a point about the picture's middle. */
static WsEdgePoint
seen (double x, double y, const Look *look, GRand *random)
{
  const double cx = 0.5 * (WIDTH - 1), cy = 0.5 * (HEIGHT - 1), dx = x - cx, dy = y - cy;
  const double by = 1 + look->distortion * (dx * dx + dy * dy) / (cx * cx + cy * cy);
  const double nx = g_rand_double_range (random, -1, 1) * look->noise * sqrt (3);
  const double ny = g_rand_double_range (random, -1, 1) * look->noise * sqrt (3);
  return (WsEdgePoint){ .x = (float)(cx + by * dx + nx), .y = (float)(cy + by * dy + ny) };
}

/* A triangle with corners far from the middle, point by point. */
static WsPlumb
plumb_of (const Look *look)
{
  static const WsPoint corners[] = { { 200, 150 }, { 1450, 300 }, { 500, 1100 } };
  WsOutline outline = { .spacing_px = 1, .blur_px = 1 };
  outline.points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  GRand *random = g_rand_new_with_seed (5);
  for (guint k = 0; k < 3; k++)
  {
    const WsPoint a = corners[k], b = corners[(k + 1) % 3];
    const double length = hypot (b.x - a.x, b.y - a.y);
    for (double t = 0; t < length; t += 1)
    {
      const double s = t / length, off = k == 0 ? look->bow * 4 * s * (1 - s) : 0;
      const WsEdgePoint p = seen (a.x + s * (b.x - a.x) - off * (b.y - a.y) / length,
                                  a.y + s * (b.y - a.y) + off * (b.x - a.x) / length, look, random);
      g_array_append_val (outline.points, p);
    }
  }
  const WsPlumb plumb = wsi_plumb_find (&outline, WIDTH, HEIGHT);
  g_rand_free (random);
  g_array_unref (outline.points);
  return plumb;
}

static void
known_distortions_are_found (void **state)
{
  (void)state;
  for (double distortion = -0.02; distortion < 0.021; distortion += 0.01)
    for (double noise = 0; noise < 0.11; noise += 0.05)
    {
      const WsPlumb plumb = plumb_of (&(Look){ distortion, noise, 0 });
      assert_true (plumb.lines >= 3);
      assert_near (plumb.distortion, distortion, 2 * plumb.u);
      assert_true (plumb.u < 0.003);
    }
}

/* One side's own bow isn't a lens': the others don't agree. */
static void
a_bowed_side_is_no_lens (void **state)
{
  (void)state;
  const WsPlumb plumb = plumb_of (&(Look){ 0, 0.05, 1.0 });
  assert_true (fabs (plumb.distortion) < 2 * plumb.u);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (known_distortions_are_found),
    cmocka_unit_test (a_bowed_side_is_no_lens),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
