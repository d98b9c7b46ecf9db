#include "base/testing.h"

#include "base/geometry.h"
#include "optics/lens.h"
#include "tool/form/lens.h"

#define SCALE_MM 0.01
#define U_RELATIVE 1e-3
#define U_SHIFT 0.05

/* Telecentric and exact but for what is given. */
static WsLens
lens_with (double u_relative, double u_shift)
{
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = 1000, .height = 800 };
  lens.parameters[WS_LENS_T_SCALE] = SCALE_MM;
  const guint n = wsi_lens_n_parameters (lens.model);
  const double u_scale = u_relative * SCALE_MM;
  lens.covariance[WS_LENS_T_SCALE * n + WS_LENS_T_SCALE] = u_scale * u_scale;
  lens.covariance[WS_LENS_EDGE_SHIFT * n + WS_LENS_EDGE_SHIFT] = u_shift * u_shift;
  return lens;
}

/* A tenth of a circle of 300 px. */
static void
put_arc (WsPoint places[3])
{
  for (guint i = 0; i < 3; i++)
  {
    const double angle = 0.3 * i;
    places[i] = wsi_point (500 + 300 * cos (angle), 400 + 300 * sin (angle));
  }
}

/* A scale is no direction; it is a radius. */
static void
test_a_scale (void **state)
{
  (void)state;
  const WsLens lens = lens_with (U_RELATIVE, 0);
  WsPoint places[3];
  put_arc (places);
  assert_near (wsi_form_lens_radius (&lens, places, TRUE).calibration, 300 * U_RELATIVE, 1e-4);
  assert_near (wsi_form_lens_radius (&lens, places, FALSE).calibration, 300 * U_RELATIVE, 1e-4);
  assert_near (wsi_form_lens_direction (&lens, places).calibration, 0, 1e-9);
  assert_near (wsi_form_lens_corner (&lens, places, places + 1).calibration, 0, 1e-9);
}

/* An edge's shift is a radius too, and no direction. */
static void
test_a_shift (void **state)
{
  (void)state;
  const WsLens lens = lens_with (0, U_SHIFT);
  WsPoint places[3];
  put_arc (places);
  assert_near (wsi_form_lens_radius (&lens, places, TRUE).calibration, U_SHIFT, 1e-6);
  assert_near (wsi_form_lens_radius (&lens, places, FALSE).calibration, U_SHIFT, 1e-6);
  assert_near (wsi_form_lens_direction (&lens, places).calibration, 0, 1e-9);
}

/* Left-over distortion bends a line along the border, by (r / r0)^3 of something; not one through
 * the middle. */
static void
test_what_is_left_over (void **state)
{
  (void)state;
  WsLens lens = lens_with (0, 0);
  lens.residual_px = 0.1;
  const WsPoint through[2] = { { 200, 399.5 }, { 800, 399.5 } };
  const WsPoint aside[2] = { { 500, 30 }, { 950, 30 } };
  assert_near (wsi_form_lens_direction (&lens, through).left_over, 0, 1e-9);
  assert_true (wsi_form_lens_direction (&lens, aside).left_over > 1e-5);
  /* Turned round it is the same line, also where directions jump. */
  const WsPoint back[2] = { aside[1], aside[0] };
  assert_near (wsi_form_lens_direction (&lens, back).left_over,
               wsi_form_lens_direction (&lens, aside).left_over, 1e-12);
}

/* `n` points with their normals. */
static WsFormFit
fit_of (guint n)
{
  WsFormFit fit = { .scale = 100, .pivot = { 500, 400 } };
  fit.points = g_array_new (FALSE, TRUE, sizeof (WsFormPoint));
  g_array_set_size (fit.points, n);
  return fit;
}

static void
put_point (WsFormFit *fit, guint i, WsPoint at, WsPoint normal)
{
  g_array_index (fit->points, WsFormPoint, i) =
    (WsFormPoint){ .at = at, .foot = at, .normal = normal, .length = 1, .weight = 1 };
}

/* What moves a straight profile as a whole is no deviation; what swells a round one is. */
static void
test_the_best_fit_takes_motion (void **state)
{
  (void)state;
  const WsLens lens = lens_with (0, U_SHIFT);
  WsFormFit straight = fit_of (100), round = fit_of (100);
  for (guint i = 0; i < 100; i++)
  {
    const double angle = 2 * G_PI * i / 100;
    put_point (&straight, i, wsi_point (300 + 4 * i, 380), wsi_point (0, -1));
    put_point (&round, i, wsi_point (500 + 200 * cos (angle), 400 + 200 * sin (angle)),
               wsi_point (cos (angle), sin (angle)));
  }
  /* Nothing holds a straight line along itself. */
  put_point (&straight, 99, wsi_point (700, 400), wsi_point (1, 0));
  g_autofree WsFormLensU *none = wsi_form_lens_deviations (&lens, &straight);
  g_autofree WsFormLensU *all = wsi_form_lens_deviations (&lens, &round);
  /* A circle's turn is free, and may be held as well. */
  round.turn_held = TRUE;
  g_autofree WsFormLensU *held = wsi_form_lens_deviations (&lens, &round);
  assert_near (none[0].calibration, 0, 1e-7);
  assert_near (none[50].calibration, 0, 1e-7);
  assert_near (all[10].calibration, U_SHIFT, 1e-7);
  assert_near (held[10].calibration, U_SHIFT, 1e-7);
  g_array_unref (straight.points);
  g_array_unref (round.points);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_scale),
    cmocka_unit_test (test_a_shift),
    cmocka_unit_test (test_what_is_left_over),
    cmocka_unit_test (test_the_best_fit_takes_motion),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
