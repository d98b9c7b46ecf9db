#include "tool/drill/relief/frame.h"

#include "base/testing.h"

#include "base/geometry.h"

#define SIDE 200

/* Lightness of 60 above a bent edge and 50 below, where the frame is turned by `turn`. */
static void
a_step_is_the_light_above_less_that_below (void **state)
{
  (void)state;
  const WsReliefCurve curve = { 2, 0.1, 0.001 };
  for (double turn = -0.4; turn < 0.5; turn += 0.2)
  {
    g_autoptr (WsReliefPlane) plane = g_new0 (WsReliefPlane, 1);
    *plane = (WsReliefPlane){ SIDE, SIDE, 1, g_new (float, SIDE *SIDE) };
    const WsReliefFrame frame = {
      plane, { 60, 90 }, { cos (turn), sin (turn) }, { -sin (turn), cos (turn) }, 6
    };
    for (guint y = 0; y < SIDE; y++)
      for (guint x = 0; x < SIDE; x++)
      {
        const WsPoint off = wsi_point_sub (wsi_point (x, y), frame.origin);
        const double s = wsi_point_dot (off, frame.away), o = wsi_point_dot (off, frame.down);
        plane->light[y * SIDE + x] = o < wsi_relief_curve_at (&curve, s) ? 60 : 50;
      }
    const double s = 30, at = wsi_relief_curve_at (&curve, s),
                 slope = wsi_relief_curve_slope (&curve, s);
    assert_near (at, 5.9, 1e-9);
    assert_near (slope, 0.16, 1e-9);
    assert_near (wsi_relief_step (&frame, s, at, slope), 10, 1.0);
    assert_near (wsi_relief_mean_step (&frame, &curve, 10, 60, 0), 10, 1.0);
    /* All of it lies above the edge, or below. */
    assert_near (wsi_relief_step (&frame, s, at - 8, slope), 0, 1e-9);
    assert_near (wsi_relief_mean_step (&frame, &curve, 10, 60, -8), 0, 1e-9);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_step_is_the_light_above_less_that_below),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
