#include "base/geometry.h"
#include "base/testing.h"
#include "tool/blade/edge_form.h"

#include <string.h>

#define LENGTH 100
#define DEPTH 10
#define BLUR 1.5

/* A front along the picture's rows whose walk lies DEPTH inside from `from` to before `to`. */
static WsBladeNotch
notch_between (guint from, guint to)
{
  const WsOutline outline = { .blur_px = BLUR };
  WsBlade blade = { .outline = &outline,
                    .path = g_array_new (FALSE, TRUE, sizeof (WsEdgePoint)),
                    .n_edges = WS_BLADE_N_EDGES };
  for (guint i = 0; i < LENGTH; i++)
  {
    const WsEdgePoint p = { .x = i, .y = i >= from && i < to ? DEPTH : 0 };
    g_array_append_val (blade.path, p);
  }
  blade.edges[WS_BLADE_FRONT].line =
    (WsLineFit){ .centre = { 0.5 * LENGTH, 0 }, .direction = { 1, 0 }, .t_high = LENGTH };
  blade.joints[1] = (WsBladeJoint){ .before = LENGTH, .after = LENGTH };
  blade.corners[1].place = (WsPoint){ LENGTH, 0 };
  const WsBladeNotch notch = wsi_blade_notch (&blade, 1);
  g_array_unref (blade.path);
  return notch;
}

/* 0.8 s cot q, q half the opening of a notch so wide half-way down. */
static void
blur_lifts_a_notch (void **state)
{
  (void)state;
  const WsBladeNotch notch = notch_between (40, 60);
  assert_near (notch.depth, DEPTH, 1e-9);
  assert_near (notch.bottom.x, 40, 1e-9);
  assert_near (notch.on_line.y, 0, 1e-9);
  /* From the last point before it, 39, to the first behind, 60. */
  assert_near (notch.lift, 0.8 * BLUR * DEPTH / (60 - 39), 1e-9);
}

/* Where one of its sides isn't seen nothing tells the opening. */
static void
half_a_notch_has_no_lift (void **state)
{
  (void)state;
  assert_near (notch_between (60, LENGTH).lift, 0, 0);
  assert_near (notch_between (0, 40).lift, 0, 0);
  assert_near (notch_between (60, LENGTH).depth, DEPTH, 1e-9);
}

static void
what_is_less_deep_is_none (void **state)
{
  (void)state;
  assert_near (notch_between (0, 0).depth, 0, 0);
}

/* A straight edge of 1000 points, all used, with waves of such height and length about its line.
 * Clear with edge_clear(). */
static WsBladeEdge
edge_with_waves (double height, double length)
{
  WsBladeEdge edge = { .points = g_array_new (FALSE, FALSE, sizeof (WsPoint)) };
  edge.line = (WsLineFit){ .direction = { 1, 0 } };
  for (guint i = 0; i < 1000; i++)
  {
    const WsPoint p = { i, 0.5 * height * cos (2 * G_PI * i / length) };
    g_array_append_val (edge.points, p);
  }
  edge.used = g_malloc (edge.points->len);
  memset (edge.used, 1, edge.points->len);
  return edge;
}

static void
edge_clear (WsBladeEdge *edge)
{
  g_array_unref (edge->points);
  g_free (edge->used);
}

/* Waves of length w lose exp (-2 (pi s / w)^2) in a Gaussian of spread s: the blur's, and that of a
 * mean of five points, sqrt (2). */
static void
waves_are_softened_by_their_length (void **state)
{
  (void)state;
  const double height = 3, blur = 1.5;
  for (double wave = 20; wave < 200; wave *= 1.5)
  {
    WsBladeEdge edge = edge_with_waves (height, wave);
    const double spread = hypot (blur, G_SQRT2), turn = G_PI * spread / wave;
    assert_near (wsi_blade_softened (&edge, blur), height * (1 - exp (-2 * turn * turn)), 0.1);
    memset (edge.used, 0, edge.points->len);
    assert_near (wsi_blade_softened (&edge, blur), 0, 0);
    edge_clear (&edge);
  }
}

/* A wave of five points has no medians left, one of a hundred all of them. */
static void
waves_as_short_as_a_median_show_in_points (void **state)
{
  (void)state;
  for (double wave = 5; wave < 101; wave += 95)
  {
    const double height = 3;
    WsBladeEdge edge = edge_with_waves (height, wave);
    const double more = wsi_blade_short_waves (&edge, 0.01);
    assert_true (wave > 50 ? more < 0.05 * height : more > 0.6 * height);
    /* As much noise makes as much. */
    assert_near (wsi_blade_short_waves (&edge, 0.5 * height), 0, 0);
    edge_clear (&edge);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (blur_lifts_a_notch),
    cmocka_unit_test (half_a_notch_has_no_lift),
    cmocka_unit_test (what_is_less_deep_is_none),
    cmocka_unit_test (waves_are_softened_by_their_length),
    cmocka_unit_test (waves_as_short_as_a_median_show_in_points),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
