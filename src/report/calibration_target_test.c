/*
 * A calibration by a chessboard made by hand: what is reported of it, compared whole.
 */
#include <whetsight/report.h>

#include "base/testing.h"
#include "optics/calibrate/board_job.h"
#include "optics/calibration.h"
#include "optics/lens.h"
#include "report/chart/residuals.h"

#define N_CORNERS 4

static WsPoint corners[N_CORNERS] = { { 300, 200 }, { 900, 200 }, { 300, 700 }, { 900, 700 } };
static WsPoint plane_off[N_CORNERS] = { { 0.1, 0 }, { 0, 0.1 }, { -0.1, 0 }, { 0, -0.1 } };
static WsPoint bent_off[N_CORNERS] = { { 2, 1 }, { 1, 2 }, { -2, 1 }, { 1, -2 } };

static WsTargetView tilted = { .corners = corners, .residuals = plane_off, .rms_px = 0.15625 };
static WsTargetView blurred = { .rejected = (char *)"out of focus", .rms_px = NAN };
static WsTargetView flat = { .corners = corners, .residuals = plane_off, .rms_px = 0.1 };
static WsTargetView bent = {
  .rejected = (char *)"fits badly", .corners = corners, .residuals = bent_off, .rms_px = 2.236
};

static WsTargetShot shots[] = {
  { .name = (char *)"tilted.png", .view = &tilted },
  { .name = (char *)"blurred.png", .view = &blurred },
  { .name = (char *)"flat.png", .view = &flat },
  { .name = (char *)"bent.png", .view = &bent },
};

static void
set (WsLens *lens, guint parameter, double value, double u)
{
  const guint n = wsi_lens_n_parameters (lens->model);
  lens->parameters[parameter] = value;
  lens->covariance[parameter * n + parameter] = u * u;
}

/* Square on at 100 mm: 100 mm / sqrt (fx fy) are 5 µm a px.  Its u, of tz / f and half of it for
 * each focal length: 5 µm sqrt (0.0006^2 + 0.0001^2 + 0.00015^2) = 0.00313 µm. */
static WsLens
pinhole (void)
{
  WsLens lens = { .model = WS_LENS_PINHOLE, .width = 1600, .height = 1200 };
  set (&lens, WS_LENS_EDGE_SHIFT, 0.3, 0.1);
  set (&lens, WS_LENS_P_FX, 20000, 4);
  set (&lens, WS_LENS_P_FY, 20000, 6);
  set (&lens, WS_LENS_P_CX, 799.5, 0.5);
  set (&lens, WS_LENS_P_CY, 599.5, 0.3);
  set (&lens, WS_LENS_P_K1, -0.125, 0.001);
  set (&lens, WS_LENS_P_K3, 0.5, 0.02);
  set (&lens, WS_LENS_P_TZ, 100, 0.06);
  return lens;
}

static WsLens
telecentric (void)
{
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = 1600, .height = 1200 };
  set (&lens, WS_LENS_T_SCALE, 0.00512345678, 0.0000012);
  set (&lens, WS_LENS_T_K1, 0.00123456, 0.0002);
  return lens;
}

static WsTargetDone *
done_new (WsLens lens)
{
  WsTargetDone *done = g_new0 (WsTargetDone, 1);
  done->board = (WsTargetBoard){ 2, 2, 2.5, 0.001 };
  done->shots = g_ptr_array_new ();
  for (guint i = 0; i < G_N_ELEMENTS (shots); i++)
    g_ptr_array_add (done->shots, &shots[i]);
  done->plane = 2;
  done->result = (WsTargetResult){
    .lens = lens, .n_views = 2, .n_found = 3, .rms_px = 0.13125, .rms_all_px = 1.5
  };
  WsCalibration *calibration = wsi_calibration_new ("target", "bench");
  g_free (calibration->id);
  g_date_time_unref (calibration->made);
  calibration->id = g_strdup ("20261125T155225Z-396c459d");
  calibration->made = g_date_time_new_utc (2026, 11, 25, 15, 52, 25);
  calibration->expires = g_date_time_new_utc (2027, 11, 26, 15, 52, 25);
  calibration->lens = lens;
  done->calibration = calibration;
  return done;
}

/* Values to the place of the second digit of U, which is twice the standard uncertainty. */
static void
test_text_of_a_pinhole (void **state)
{
  (void)state;
  g_autoptr (WsTargetDone) done = done_new (pinhole ());
  wsi_calibration_add_remark (done->calibration, g_strdup ("The board fills half the field."));
  wsi_calibration_add_remark (done->calibration, g_strdup ("Two pictures were left out."));
  g_autofree char *text = ws_report_target_text (done);
  assert_string_equal (
    text, "bench, by target, 2026-11-25 15:52:25 UTC, valid until 2027-11-26\n"
          "20261125T155225Z-396c459d\n"
          "\n"
          "RMS 1.500 px over all 3 boards found, 0.131 px over the 2 that it rests on\n"
          "mm_per_px in the plane        0.0050000   U 0.0000063\n"
          "distance_mm                      100.00   U 0.12\n"
          "fx_px                           20000.0   U 8.0\n"
          "fy_px                             20000   U 12\n"
          "cx_px                             799.5   U 1.0\n"
          "cy_px                            599.50   U 0.60\n"
          "k1                              -0.1250   U 0.0020\n"
          "k2                        0, not needed\n"
          "p1                        0, not needed\n"
          "p2                        0, not needed\n"
          "k3                                0.500   U 0.040\n"
          "\n"
          "picture                        RMS px\n"
          "tilted.png                      0.156\n"
          "blurred.png                         -  rejected: out of focus\n"
          "flat.png                        0.100  measuring plane\n"
          "bent.png                        2.236  rejected: fits badly\n"
          "\n"
          "- The board fills half the field.\n"
          "- Two pictures were left out.\n");
}

/* Its scale stands once, it has no distance, and no remarks leave no room. */
static void
test_text_of_a_telecentric (void **state)
{
  (void)state;
  g_autoptr (WsTargetDone) done = done_new (telecentric ());
  g_ptr_array_set_size (done->shots, 1);
  done->plane = 0;
  done->result.n_views = done->result.n_found = 1;
  g_autofree char *text = ws_report_target_text (done);
  assert_string_equal (text, "bench, by target, 2026-11-25 15:52:25 UTC, valid until 2027-11-26\n"
                             "20261125T155225Z-396c459d\n"
                             "\n"
                             "RMS 0.131 px over 1 board\n"
                             "mm_per_px in the plane        0.0051235   U 0.0000024\n"
                             "k1                              0.00123   U 0.00040\n"
                             "\n"
                             "picture                        RMS px\n"
                             "tilted.png                      0.156  measuring plane\n");
  done->result.n_views = done->result.n_found = 2;
  g_autofree char *two = ws_report_target_text (done);
  assert_contains (two, "\nRMS 0.131 px over 2 boards\n");
}

/* A value of which nothing is known to be wrong shows six places. */
static void
test_a_scale_without_uncertainty (void **state)
{
  (void)state;
  WsLens lens = telecentric ();
  set (&lens, WS_LENS_T_SCALE, 0.00512345678, 0);
  g_autoptr (WsTargetDone) done = done_new (lens);
  g_autofree char *text = ws_report_target_text (done);
  assert_contains (text, "\nmm_per_px in the plane         0.005123   U 0.000000\n");
}

/* The same picture as all corners of all boards found, drawn one by one. */
static void
test_chart (void **state)
{
  (void)state;
  WsResidual residuals[3 * N_CORNERS];
  const WsPoint *const off[] = { plane_off, plane_off, bent_off };
  for (guint i = 0; i < G_N_ELEMENTS (residuals); i++)
    residuals[i] =
      (WsResidual){ corners[i % N_CORNERS], off[i / N_CORNERS][i % N_CORNERS], i >= 2 * N_CORNERS };
  const WsResidualChart chart = { .title = "bench: residuals of the calibration by a chessboard",
                                  .subtitle =
                                    "20261125T155225Z-396c459d · 5.0000 µm/px in the measuring "
                                    "plane · corners: RMS 0.131 px in 2 views",
                                  .width = 1600,
                                  .height = 1200,
                                  .mm_per_px = 0.005,
                                  .residuals = residuals,
                                  .n_residuals = G_N_ELEMENTS (residuals) };
  g_autoptr (WsTargetDone) done = done_new (pinhole ());
  g_autoptr (GBytes) found = ws_report_target_chart (done, NULL);
  g_autoptr (GBytes) expected = wsi_report_residuals (&chart, NULL);
  assert_non_null (expected);
  assert_true (g_bytes_equal (found, expected));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_text_of_a_pinhole),
    cmocka_unit_test (test_text_of_a_telecentric),
    cmocka_unit_test (test_a_scale_without_uncertainty),
    cmocka_unit_test (test_chart),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
