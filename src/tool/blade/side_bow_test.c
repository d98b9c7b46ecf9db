#include "tool/blade/side_bow.h"

#include "base/geometry.h"
#include "base/testing.h"

#include <string.h>

/* An edge along x, 400 px long, whose tip is at its right end; the tool lies below, where y grows.
 */
#define HALF 200.0

static WsBlade
blade_of (double bow, double u_angle)
{
  WsBlade blade;
  memset (&blade, 0, sizeof blade);
  blade.n_edges = 2;
  blade.edges[0].line = (WsLineFit){ .centre = { 500, 300 },
                                     .direction = { 1, 0 },
                                     .t_low = -HALF,
                                     .t_high = HALF,
                                     .bow = bow,
                                     .n = 400,
                                     .n_used = 400 };
  blade.edges[0].u_place = 0.005;
  blade.edges[0].u_angle = u_angle;
  blade.corners[0].place = wsi_point (500 + HALF, 300);
  return blade;
}

static WsImage
picture (void)
{
  return (WsImage){ .width = 1000, .height = 600 };
}

/* Through a lens that is known nothing but the edge itself bows it. */
static WsOptics
known_lens (const WsLens *lens)
{
  return (WsOptics){ .lens = lens };
}

/* A parabola of depth s under a chord of 2 h leaves its ends with a slope of 2 s / h. */
static void
a_bow_turns_the_edge_at_its_end (void **state)
{
  (void)state;
  static const WsLens lens;
  const WsOptics optics = known_lens (&lens);
  const WsImage image = picture ();
  const double depth = 3.0;
  WsBlade blade = blade_of (-depth / 1.5, 1e-5);
  const WsSideBow bow = wsi_side_bow (&blade, 0, 0, &image, &optics);
  assert_true (bow.is_sure);
  assert_near (bow.depth, depth, 1e-9);
  assert_near (tan (bow.turn), -2 * depth / HALF, 1e-9);
  wsi_side_bow_take (&blade, 0, 0, &bow);
  const WsLineFit *line = &blade.edges[0].line;
  /* The ends of a bow lie off its line by two thirds of its depth. */
  assert_near (line->centre.x, 500 + HALF, 1e-9);
  assert_near (line->centre.y, 300 - depth / 1.5, 1e-9);
  assert_near (atan2 (line->direction.y, line->direction.x), bow.turn, 1e-12);
  /* The parabola leaves its tangent by s (x / h)^2. */
  const double straight = line->t_high - line->t_low;
  assert_near (depth * straight * straight / (HALF * HALF), 0.15, 1e-6);
  assert_near (line->t_high, 0, 1e-9);
}

static void
noise_is_no_bow (void **state)
{
  (void)state;
  static const WsLens lens;
  const WsOptics optics = known_lens (&lens);
  const WsImage image = picture ();
  const double u_angle = 0.0005, u_bow = 1.291 * u_angle * HALF;
  const WsBlade below = blade_of (2.5 * u_bow, u_angle), above = blade_of (3.5 * u_bow, u_angle);
  const WsSideBow none = wsi_side_bow (&below, 0, 0, &image, &optics);
  assert_false (none.is_sure);
  /* Beside its own deviation, 0.03 px of roughness and a tenth of the turn. */
  assert_near (none.u_turn, 3 * sqrt (u_bow * u_bow * (1 + 0.25 * 0.25) + 0.03 * 0.03) / HALF,
               1e-6);
  assert_true (wsi_side_bow (&above, 0, 0, &image, &optics).is_sure);
}

/* An unknown lens bows straight edges as well. */
static void
an_unknown_lens_may_have_bowed_it (void **state)
{
  (void)state;
  const WsOptics unknown = { .has_scale = TRUE, .mm_per_px = 0.02 };
  static const WsLens lens;
  const WsOptics known = known_lens (&lens);
  const WsImage image = picture ();
  WsBlade blade = blade_of (-0.12, 1e-5);
  blade.edges[0].line.centre.y = 20;
  blade.corners[0].place.y = 20;
  assert_true (wsi_side_bow (&blade, 0, 0, &image, &known).is_sure);
  assert_false (wsi_side_bow (&blade, 0, 0, &image, &unknown).is_sure);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_bow_turns_the_edge_at_its_end),
    cmocka_unit_test (noise_is_no_bow),
    cmocka_unit_test (an_unknown_lens_may_have_bowed_it),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
