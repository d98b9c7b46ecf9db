/*
 * A calibration made by hand.  Its numbers are sums of powers of two, so that products and
 * roots are exact and what is reported can be compared whole.
 */
#include <jansson.h>

#include <whetsight/report.h>

#include "base/testing.h"
#include "optics/calibrate/sizes.h"
#include "optics/calibration.h"
#include "report/chart/residuals.h"

#define SCALE 0.0078125 /* mm per px */

static WsShotSeen ring = { .name = (char *)"ring.png" };
static WsShotSeen blurred = { .name = (char *)"blurred.png", .rejected = (char *)"out of focus" };
static WsShotSeen disc = { .name = (char *)"disc.png" };

static const WsShotWidth widths[] = {
  { 0, "outer", { 8.0, 0.0009765625, 0, 1024.125, 0.015625, 2, 0 }, { FALSE, 0.0625 } },
  { 0, "inner", { 4.5, 0.001953125, 0, 576.5, 0.03125, -2, 0 }, { TRUE, -0.5 } },
  { 2, "outer", { 2.25, 0, 1, 288.25, 0.0078125, 2, 0 }, { FALSE, 0.046875 } },
};

static const WsShotMark marks[] = {
  { 0, { 100, 200 }, { 1, 0 } },
  { 1, { 300, 400 }, { 0, -1 } },
  { 2, { 1200, 900 }, { 0.6, 0.8 } },
};

static const WsPoint lines[] = { { 10, 20 }, { 1000, 30 }, { 50, 60 }, { 70, 1100 } };

static void
set_fit (WsScaleFit *fit)
{
  static const double u[WS_LENS_T_N] = { 0.015625, 0.00000095367431640625, 0 };
  fit->value[WS_LENS_EDGE_SHIFT] = 0.25;
  fit->value[WS_LENS_T_SCALE] = SCALE;
  fit->value[WS_LENS_T_K1] = -0.000244140625;
  for (guint p = 0; p < WS_LENS_T_N; p++)
    fit->covariance[p * WS_LENS_T_N + p] = u[p] * u[p];
  fit->residual_px = 0.046875;
  fit->n_used = 2;
}

static WsCalibration *
calibration_new (void)
{
  WsCalibration *calibration = wsi_calibration_new ("disc", "bench");
  g_free (calibration->id);
  g_date_time_unref (calibration->made);
  calibration->id = g_strdup ("20261125T155225Z-396c459d");
  calibration->made = g_date_time_new_utc (2026, 11, 25, 15, 52, 25);
  calibration->expires = g_date_time_new_utc (2027, 11, 26, 15, 52, 25);
  calibration->sha256 = g_strdup ("396c459d");
  calibration->lens.model = WS_LENS_TELECENTRIC;
  wsi_calibration_add_remark (calibration, g_strdup ("K1 is not told apart from 0."));
  wsi_calibration_add_remark (calibration, g_strdup ("One width was left out."));
  return calibration;
}

static WsSizesDone *
done_new (void)
{
  WsSizesDone *done = g_new0 (WsSizesDone, 1);
  done->seen = g_ptr_array_new ();
  g_ptr_array_add (done->seen, &ring);
  g_ptr_array_add (done->seen, &blurred);
  g_ptr_array_add (done->seen, &disc);
  done->widths = g_array_new (FALSE, FALSE, sizeof (WsShotWidth));
  g_array_append_vals (done->widths, widths, G_N_ELEMENTS (widths));
  done->marks = g_array_new (FALSE, FALSE, sizeof (WsShotMark));
  g_array_append_vals (done->marks, marks, G_N_ELEMENTS (marks));
  done->lines = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  /* Twice and more again, then cut: lines behind the end would show. */
  for (guint i = 0; i < 4; i++)
    g_array_append_vals (done->lines, lines + i % 2, 3);
  g_array_set_size (done->lines, 0);
  g_array_append_vals (done->lines, lines, G_N_ELEMENTS (lines));
  done->picture_width = 1600;
  done->picture_height = 1200;
  set_fit (&done->fit);
  done->calibration = calibration_new ();
  return done;
}

/* Values to the place of the second digit of U; to six places where U is 0. */
static void
test_text (void **state)
{
  (void)state;
  g_autoptr (WsSizesDone) done = done_new ();
  g_autofree char *text = ws_report_sizes_text (done);
  assert_string_equal (
    text,
    "bench, by disc, 2026-11-25 15:52:25 UTC, valid until 2027-11-26\n"
    "20261125T155225Z-396c459d\n"
    "\n"
    "mm_per_px             0.0078125   U 0.0000019\n"
    "edge_shift_px             0.250   U 0.031\n"
    "k1                    -0.000244   U 0.000000\n"
    "residual RMS              0.366 um = 0.0469 px, of 2 widths\n"
    "\n"
    "picture                      part      size mm    width px     off um     off px\n"
    "ring.png                     outer      8.0000    1024.125       0.49     0.0625\n"
    "ring.png                     inner      4.5000     576.500      -3.91    -0.5000  left out\n"
    "disc.png                     outer      2.2500     288.250       0.37     0.0469\n"
    "rejected: blurred.png: out of focus\n"
    "\n"
    "- K1 is not told apart from 0.\n"
    "- One width was left out.\n");
}

static const char whole_json[] =
  "{\"id\": \"20261125T155225Z-396c459d\", \"file\": \"bench.calib\", \"sha256\": \"396c459d\","
  " \"method\": \"disc\", \"camera\": \"bench\","
  " \"edge_shift_px\": 0.25, \"U_edge_shift_px\": 0.03125,"
  " \"mm_per_px\": 0.0078125, \"U_mm_per_px\": 0.0000019073486328125,"
  " \"k1\": -0.000244140625, \"U_k1\": 0.0,"
  " \"residual_rms_px\": 0.046875, \"residual_rms_um\": 0.3662109375,"
  " \"widths\": ["
  "{\"file\": \"ring.png\", \"part\": \"outer\", \"size_mm\": 8.0, \"u_mm\": 0.0009765625,"
  " \"width_px\": 1024.125, \"u_px\": 0.015625, \"residual_px\": 0.0625,"
  " \"residual_um\": 0.48828125, \"used\": true},"
  "{\"file\": \"ring.png\", \"part\": \"inner\", \"size_mm\": 4.5, \"u_mm\": 0.001953125,"
  " \"width_px\": 576.5, \"u_px\": 0.03125, \"residual_px\": -0.5,"
  " \"residual_um\": -3.90625, \"used\": false},"
  "{\"file\": \"disc.png\", \"part\": \"outer\", \"size_mm\": 2.25, \"u_mm\": 0.0,"
  " \"width_px\": 288.25, \"u_px\": 0.0078125, \"residual_px\": 0.046875,"
  " \"residual_um\": 0.3662109375, \"used\": true}],"
  " \"rejected\": [{\"file\": \"blurred.png\", \"reason\": \"out of focus\"}],"
  " \"remarks\": [\"K1 is not told apart from 0.\", \"One width was left out.\"]}";

static void
test_json (void **state)
{
  (void)state;
  g_autoptr (WsSizesDone) done = done_new ();
  g_autofree char *line = ws_report_sizes_json (done, "bench.calib");
  assert_lacks (line, "\n");
  json_t *found = json_loads (line, JSON_REJECT_DUPLICATES, NULL);
  json_t *expected = json_loads (whole_json, JSON_REJECT_DUPLICATES, NULL);
  assert_non_null (expected);
  if (!json_equal (found, expected))
    fail_msg ("%s\nis not\n%s", line, whole_json);
  json_decref (found);
  json_decref (expected);
}

/* What isn't known is null; names of files need not be UTF-8. */
static void
test_json_of_what_is_not_known (void **state)
{
  (void)state;
  g_autoptr (WsSizesDone) done = done_new ();
  g_clear_pointer (&done->calibration->sha256, g_free);
  g_autofree char *line = ws_report_sizes_json (done, "b\xfc.calib");
  json_t *found = json_loads (line, 0, NULL);
  assert_true (json_is_null (json_object_get (found, "sha256")));
  assert_string_equal (json_string_value (json_object_get (found, "file")), "b\xef\xbf\xbd.calib");
  json_decref (found);
}

/* The same picture as the residuals drawn one by one: half a width's residual at each of its
 * edges, outward where the width is too great. */
static void
test_chart (void **state)
{
  (void)state;
  static const WsResidual residuals[] = {
    { { 100, 200 }, { 0.03125, 0 }, FALSE },
    { { 300, 400 }, { 0, 0.25 }, TRUE },
    { { 1200, 900 }, { 0.0140625, 0.01875 }, FALSE },
  };
  const WsResidualChart chart = { .title = "bench: residuals of the calibration by disc",
                                  .subtitle =
                                    "20261125T155225Z-396c459d · 7.81250 µm/px · widths: RMS "
                                    "0.366 µm = 0.0469 px; half of it at each edge",
                                  .width = 1600,
                                  .height = 1200,
                                  .mm_per_px = SCALE,
                                  .residuals = residuals,
                                  .n_residuals = G_N_ELEMENTS (residuals),
                                  .lines = lines,
                                  .n_lines = 2 };
  g_autoptr (WsSizesDone) done = done_new ();
  g_autoptr (GBytes) found = ws_report_sizes_chart (done, NULL);
  g_autoptr (GBytes) expected = wsi_report_residuals (&chart, NULL);
  assert_non_null (expected);
  assert_true (g_bytes_equal (found, expected));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_text),
    cmocka_unit_test (test_json),
    cmocka_unit_test (test_json_of_what_is_not_known),
    cmocka_unit_test (test_chart),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
