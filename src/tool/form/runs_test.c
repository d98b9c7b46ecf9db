#include "tool/form/runs.h"

#include "base/testing.h"

#include "base/geometry.h"

#define N_ROUND 300
#define N_SIDE 200
#define N (N_ROUND + 2 * N_SIDE)

/* A drop: most of a circle of radius 100 about (0, 0), and the two tangents that meet at its tip,
 * (200, 0).  The outline begins with its point number `first`. */
static WsOutline *
drop (guint first)
{
  const double half = wsi_radians (60);
  const WsPoint tip = wsi_point (100 / cos (half), 0);
  WsOutline *outline = g_new0 (WsOutline, 1);
  outline->points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (guint k = 0; k < N; k++)
  {
    const guint i = (k + first) % N;
    const double angle = i < N_ROUND            ? half + i * (2 * G_PI - 2 * half) / N_ROUND
                         : i < N_ROUND + N_SIDE ? -half
                                                : half;
    const WsPoint out = wsi_point (cos (angle), sin (angle));
    const double part = i < N_ROUND            ? 0
                        : i < N_ROUND + N_SIDE ? (i - N_ROUND) / (double)N_SIDE
                                               : 1 - (i - N_ROUND - N_SIDE) / (double)N_SIDE;
    const WsPoint on = wsi_point (100 * out.x, 100 * out.y);
    const WsPoint at = wsi_point_along (on, part, wsi_point_sub (tip, on));
    const WsEdgePoint p = { .x = at.x, .y = at.y, .nx = (float)out.x, .ny = (float)out.y };
    g_array_append_val (outline->points, p);
  }
  return outline;
}

static void
a_closed_outline_is_cut_at_its_sharpest_corner (void **state)
{
  (void)state;
  for (guint first = 0; first < N; first += 97)
  {
    g_autoptr (WsOutline) outline = drop (first);
    g_autoptr (GPtrArray) runs = wsi_form_runs (outline);
    assert_int_equal (runs->len, 1);
    const WsFormRun *run = g_ptr_array_index (runs, 0);
    assert_int_equal (run->n, N);
    assert_true (wsi_point_distance (run->points[0], wsi_point (200, 0)) < 8);
    assert_true (wsi_point_distance (run->points[N / 2], wsi_point (-100, 0)) < 20);
  }
}

static void
the_frame_parts_runs (void **state)
{
  (void)state;
  g_autoptr (WsOutline) outline = drop (0);
  for (guint i = 0; i < N; i++)
    g_array_index (outline->points, WsEdgePoint, i).on_frame =
      (i >= 100 && i < 150) || (i >= 160 && i < 180);
  g_autoptr (GPtrArray) runs = wsi_form_runs (outline);
  /* Ten points between are none, and the first point is no end. */
  assert_int_equal (runs->len, 1);
  const WsFormRun *run = g_ptr_array_index (runs, 0);
  assert_int_equal (run->n, N - 80);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_closed_outline_is_cut_at_its_sharpest_corner),
    cmocka_unit_test (the_frame_parts_runs),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
