#include "tool/blade/side_knee.h"

#include "base/testing.h"
#include "tool/blade/blade.h"

#include <math.h>

/* A front of so many px, a point each, between two corners; it runs along x. */
#define N 400

/* A walk of a top, the front and a base, whose front is `off` off its line at each px. */
static WsBlade *
blade_of (double (*off) (double t))
{
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  outline->spacing_px = 1;
  outline->blur_px = 1;
  WsBlade *blade = g_new0 (WsBlade, 1);
  blade->outline = outline;
  blade->path = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  blade->n_edges = 3;
  for (guint e = 0; e < WS_BLADE_MAX_EDGES; e++)
    blade->edges[e].points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  g_autoptr (GRand) random = g_rand_new_with_seed (11);
  for (guint i = 0; i < N; i++)
  {
    const double noise = g_rand_double_range (random, -0.03, 0.03);
    const WsEdgePoint p = { .x = 100.0 + i, .y = 300 + off (i / (N - 1.0)) + noise };
    g_array_append_val (blade->path, p);
  }
  blade->joints[1] = (WsBladeJoint){ FALSE, N, N };
  return blade;
}

static void
forget (WsBlade *blade)
{
  WsOutline *outline = (WsOutline *)(gpointer)blade->outline;
  wsi_blade_free (blade);
  wsi_outline_free (outline);
}

static double
plane (double t)
{
  (void)t;
  return 0;
}

/* 0.6 degrees from a quarter on. */
static double
two_planes (double t)
{
  return t > 0.25 ? N * (t - 0.25) * 0.01 : 0;
}

static double
hollow (double t)
{
  return 6 * t * (1 - t);
}

static const WsSideLayout usual = {
  .rear = WS_SIDE_NONE, .top = 0, .front = 1, .heel = WS_SIDE_NONE, .base = 2, .tip = 0, .foot = 1
};

static void
a_knee_is_found_where_it_is (void **state)
{
  (void)state;
  guint at = 0;
  WsBlade *blade = blade_of (two_planes);
  assert_true (wsi_side_knee_find (blade, &usual, &at));
  assert_near (at, 0.25 * N, 5.0);
  forget (blade);
}

static void
a_plane_and_a_bow_have_none (void **state)
{
  (void)state;
  guint at;
  WsBlade *flat = blade_of (plane), *bow = blade_of (hollow);
  assert_false (wsi_side_knee_find (flat, &usual, &at));
  assert_false (wsi_side_knee_find (bow, &usual, &at));
  forget (flat);
  forget (bow);
}

/* The walk may come from the base. */
static void
what_lies_below_the_knee_is_the_heel (void **state)
{
  (void)state;
  WsBlade *blade = blade_of (two_planes);
  WsSideLayout down = usual, up = usual;
  wsi_side_knee_part (blade, 100, &down);
  assert_int_equal (down.n_joints, 3);
  assert_int_equal (down.front, 1);
  assert_int_equal (down.heel, 2);
  assert_int_equal (down.base, 3);
  assert_int_equal (down.foot, 2);
  assert_true (down.joints[1].is_step);
  assert_true (down.joints[1].before < 100 && down.joints[1].after > 100);
  up.top = 2;
  up.base = 0;
  wsi_side_knee_part (blade, 100, &up);
  assert_int_equal (up.top, 3);
  assert_int_equal (up.front, 2);
  assert_int_equal (up.heel, 1);
  assert_int_equal (up.base, 0);
  assert_int_equal (up.tip, 2);
  assert_int_equal (up.foot, 0);
  forget (blade);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_knee_is_found_where_it_is),
    cmocka_unit_test (a_plane_and_a_bow_have_none),
    cmocka_unit_test (what_lies_below_the_knee_is_the_heel),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
