/*
 * Calibration by the library alone, on the worked example in calib.
 */
#include "base/testing.h"

#include <math.h>
#include <string.h>

#include <whetsight/calibrate.h>
#include <whetsight/error.h>

#include "optics/calibrate/sizes.h"
#include "optics/calibration.h"
#include "optics/lens.h"

#define FOLDER WS_SOURCE_DIR "/calib/"
#define COVERAGE 2.0

/* What the pictures were rendered with, see calib/make.sh. */
static const double truth[] = {
  [WS_LENS_EDGE_SHIFT] = 0.25, [WS_LENS_T_SCALE] = 0.0123, [WS_LENS_T_K1] = 0.0015
};

/* Decoders may round a JPEG's samples in their own ways. */
#define ROUNDING_PX 1e-3

typedef struct
{
  guint told, stop_at;
} Told;

static gboolean
tell (const WsStep *step, gpointer data)
{
  Told *told = data;
  told->told++;
  assert_int_equal (step->number, told->told);
  assert_int_equal (step->all, 6);
  assert_true (g_str_has_prefix (step->picture, "pin-"));
  return told->told < told->stop_at;
}

static WsSizesDone *
calibrate (const GPtrArray *shots, Told *told, GError **error)
{
  const WsCalibrateOptions options = {
    .camera = "bench-2", .certificate = "GP-2041", .valid_days = 365, .steps = { tell, told }
  };
  return ws_calibrate_sizes (shots, &options, error);
}

static double
U_of (const WsLens *lens, guint parameter)
{
  return COVERAGE * sqrt (lens->covariance[parameter * WS_LENS_T_N + parameter]);
}

static void
test_the_example_comes_out_as_kept (void **state)
{
  Told told = { 0, G_MAXUINT };
  (void)state;
  g_autoptr (GPtrArray) shots = ws_shots_load (FOLDER "pins.csv", NULL);
  assert_non_null (shots);
  g_autoptr (WsSizesDone) done = calibrate (shots, &told, NULL);
  g_autoptr (WsCalibration) kept = ws_calibration_load (FOLDER "bench-2.calib", NULL);
  assert_non_null (done);
  assert_non_null (kept);
  assert_int_equal (told.told, 6);
  const WsCalibration *made = ws_sizes_done_calibration (done);
  assert_string_equal (made->camera, kept->camera);
  assert_int_equal (made->sources->len, kept->sources->len);
  for (guint i = 0; i < kept->sources->len; i++)
  {
    const WsCalibrationSource *a = g_ptr_array_index (made->sources, i);
    const WsCalibrationSource *b = g_ptr_array_index (kept->sources, i);
    assert_null (a->rejected);
    assert_string_equal (a->sha256, b->sha256);
    assert_true (fabs (a->rms_px - b->rms_px) < ROUNDING_PX);
  }
  for (guint p = 0; p < WS_LENS_T_N; p++)
  {
    const double U = U_of (&made->lens, p), value = made->lens.parameters[p];
    if (fabs (value - kept->lens.parameters[p]) > 0.1 * U || fabs (value - truth[p]) > U)
      fail_msg ("parameter %u: %g, kept %g, true %g, U %g", p, value, kept->lens.parameters[p],
                truth[p], U);
    assert_true (fabs (U - U_of (&kept->lens, p)) < 0.1 * U);
  }
}

static void
test_it_can_be_stopped (void **state)
{
  Told told = { 0, 3 };
  g_autoptr (GError) error = NULL;
  (void)state;
  g_autoptr (GPtrArray) shots = ws_shots_load (FOLDER "pins.csv", NULL);
  assert_null (calibrate (shots, &told, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANCELLED));
  assert_int_equal (told.told, 3);
}

static void
test_kinds_are_not_mixed (void **state)
{
  Told told = { 0, G_MAXUINT };
  g_autoptr (GError) error = NULL, none = NULL;
  (void)state;
  g_autoptr (GPtrArray) shots = ws_shots_load (FOLDER "pins.csv", NULL);
  ((WsShot *)g_ptr_array_index (shots, 2))->kind = WS_SHOT_DISC;
  assert_null (calibrate (shots, &told, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_USAGE));
  g_autoptr (GPtrArray) empty = ws_shots_new ();
  assert_null (calibrate (empty, &told, &none));
  assert_true (g_error_matches (none, WS_ERROR, WS_ERROR_USAGE));
  assert_int_equal (told.told, 0);
}

static void
test_pixels_are_told_in_micrometres (void **state)
{
  (void)state;
  WsSizesDone done = { .fit.value[WS_LENS_T_SCALE] = 0.0123 };
  assert_true (fabs (wsi_sizes_um (&done, 0.5) - 6.15) < 1e-12);
}

static void
test_shots_without_certificates_are_counted (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) shots = ws_shots_new ();
  WsCalibration calibration = { .remarks = g_ptr_array_new_with_free_func (g_free) };
  WsSizesDone done = { .shots = shots,
                       .seen = g_ptr_array_new (),
                       .widths = g_array_new (FALSE, FALSE, sizeof (WsShotWidth)),
                       .fit.has_shift = TRUE,
                       .calibration = &calibration };
  WsShotSeen seen = { 0 };
  for (guint i = 0; i < 5; i++)
  {
    WsShot *shot = ws_shot_new (g_strdup ("pin.png"), WS_SHOT_PIN);
    shot->u_mm = i < 2 ? 0 : 0.001;
    g_ptr_array_add (shots, shot);
    g_ptr_array_add (done.seen, &seen);
  }
  wsi_sizes_add_remarks (&done);
  assert_int_equal (calibration.remarks->len, 1);
  assert_contains (g_ptr_array_index (calibration.remarks, 0), "for the sizes in 2 of 5 pictures");
  g_ptr_array_unref (calibration.remarks);
  g_ptr_array_unref (done.seen);
  g_array_unref (done.widths);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_the_example_comes_out_as_kept),
    cmocka_unit_test (test_it_can_be_stopped),
    cmocka_unit_test (test_kinds_are_not_mixed),
    cmocka_unit_test (test_pixels_are_told_in_micrometres),
    cmocka_unit_test (test_shots_without_certificates_are_counted),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
