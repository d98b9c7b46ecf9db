#include "optics/deviate.h"

#include "base/geometry.h"
#include "base/testing.h"
#include "optics/lens.h"

static WsLens
near_lens (void)
{
  return (WsLens){ .model = WS_LENS_PINHOLE,
                   .width = 1600,
                   .height = 1200,
                   .parameters = { 0, 9725, 9725, 799.5, 599.5, 2.75, 24, 0, 0, 0, 0, 0, 0, -8, -6,
                                   131.6 } };
}

/* Focal length and distance loose but in step; the edge shift apart. */
static WsLens
uncertain_lens (void)
{
  WsLens lens = near_lens ();
  const guint n = WS_LENS_P_N;
  const double u[WS_LENS_P_N] = {
    [WS_LENS_P_FX] = 97.25, [WS_LENS_P_FY] = 97.25, [WS_LENS_P_TZ] = 1.316
  };
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      lens.covariance[i * n + j] = u[i] * u[j];
  lens.covariance[0] = 0.04;
  return lens;
}

static void
columns_add_up_to_the_covariance (void **state)
{
  (void)state;
  const WsLens lens = uncertain_lens ();
  WsLens deviations[WS_LENS_MAX];
  const guint n = WS_LENS_P_N, count = wsi_lens_deviations (&lens, deviations);
  assert_int_equal (count, 2);
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
    {
      double sum = 0;
      for (guint k = 0; k < count; k++)
        sum += (deviations[k].parameters[i] - lens.parameters[i]) *
               (deviations[k].parameters[j] - lens.parameters[j]);
      assert_near (sum, lens.covariance[i * n + j], 1e-6 + 1e-9 * fabs (sum));
    }
}

/* One per cent of focal length and distance together leave the plane's scale alone. */
static void
what_cancels_moves_nothing (void **state)
{
  (void)state;
  WsLens lens = uncertain_lens ();
  lens.parameters[WS_LENS_P_K1] = lens.parameters[WS_LENS_P_K2] = 0;
  lens.covariance[0] = 0;
  WsLens deviations[WS_LENS_MAX];
  assert_int_equal (wsi_lens_deviations (&lens, deviations), 1);
  const WsPoint at = wsi_lens_deviate (&lens, &deviations[0], wsi_point (300, 900));
  assert_near (at.x, 300, 1e-6);
  assert_near (at.y, 900, 1e-6);
}

static void
scale_moves_points_away_from_the_middle (void **state)
{
  (void)state;
  WsLens lens = {
    .model = WS_LENS_TELECENTRIC, .width = 801, .height = 601, .parameters = { 0, 0.01, 0 }
  };
  lens.covariance[WS_LENS_T_SCALE * WS_LENS_T_N + WS_LENS_T_SCALE] = 1e-10;
  WsLens deviations[WS_LENS_MAX];
  assert_int_equal (wsi_lens_deviations (&lens, deviations), 1);
  const WsPoint at = wsi_lens_deviate (&lens, &deviations[0], wsi_point (500, 300));
  assert_near (at.x, 500 + 100 * 1e-3, 1e-9);
  assert_near (at.y, 300, 1e-9);
}

/* Shifts on a grid over the picture, by both models; a barrel lens and the scale of its middle
 * take a tenth off. */
static void
left_over_shifts_by_the_residual (void **state)
{
  (void)state;
  WsLens lenses[2] = {
    near_lens (),
    { .model = WS_LENS_TELECENTRIC, .width = 1600, .height = 1200, .parameters = { 0, 0.01, 0 } }
  };
  for (guint k = 0; k < 2; k++)
  {
    lenses[k].residual_px = 0.05;
    const WsLens other = wsi_lens_left_over (&lenses[k]);
    double squares = 0;
    guint n = 0;
    for (double x = 0; x < 1600; x += 20)
      for (double y = 0; y < 1200; y += 20, n++)
      {
        const WsPoint from = ws_lens_to_ideal (&lenses[k], wsi_point (x, y));
        const WsPoint to = ws_lens_to_ideal (&other, wsi_point (x, y));
        squares += pow (wsi_point_distance (from, to), 2);
      }
    assert_near (sqrt (squares / n), 0.05, 0.008);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (columns_add_up_to_the_covariance),
    cmocka_unit_test (what_cancels_moves_nothing),
    cmocka_unit_test (scale_moves_points_away_from_the_middle),
    cmocka_unit_test (left_over_shifts_by_the_residual),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
