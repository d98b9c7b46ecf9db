/*
 * Checking a calibration by the library alone, on the worked example in calib.
 */
#include "base/testing.h"

#include <math.h>

#include <whetsight/error.h>
#include <whetsight/verify.h>

#define FOLDER WS_SOURCE_DIR "/calib/"

typedef struct
{
  WsCalibration *calibration;
  WsVerify *verify;
} Fixture;

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->calibration = ws_calibration_load (FOLDER "bench-2.calib", NULL);
  fixture->verify = ws_verify_new (fixture->calibration);
  *state = fixture;
  return 0;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  ws_verify_free (fixture->verify);
  ws_calibration_free (fixture->calibration);
  g_free (fixture);
  return 0;
}

static WsShot *
pin (const char *name, double diameter_mm)
{
  WsShot *shot = ws_shot_new (g_build_filename (FOLDER, name, NULL), WS_SHOT_PIN);
  shot->size_mm = diameter_mm;
  shot->u_mm = 0.00025;
  return shot;
}

static void
test_sizes_are_held_against_the_calibration (void **state)
{
  const Fixture *fixture = *state;
  g_auto (WsVerifySeen) good = { 0 }, wrong = { 0 };
  g_autoptr (WsShot) right_size = pin ("pin-1.9998-3.jpg", 1.9998);
  g_autoptr (WsShot) wrong_size = pin ("pin-1.9998-3.jpg", 2.0098);
  assert_true (ws_verify_shot (fixture->verify, right_size, &good, NULL));
  assert_true (ws_verify_shot (fixture->verify, wrong_size, &wrong, NULL));
  assert_int_equal (good.n, 1);
  assert_int_equal (wrong.first, 1);
  assert_true (good.made_it);
  const GPtrArray *checks = ws_verify_checks (fixture->verify);
  assert_int_equal (checks->len, 2);
  const WsCheck *first = g_ptr_array_index (checks, 0), *second = g_ptr_array_index (checks, 1);
  assert_string_equal (first->quantity, "diameter_mm");
  assert_string_equal (first->file, "pin-1.9998-3.jpg");
  assert_string_equal (first->calibration, ws_calibration_id (fixture->calibration));
  assert_string_equal (first->run, second->run);
  assert_true (fabs (first->U_reference - 0.0005) < 1e-9);
  assert_true (first->pass);
  assert_false (second->pass);
  assert_int_equal (ws_checks_state (checks, first->calibration).state, WS_CHECKED_FAILED);
}

static void
test_what_cannot_be_measured_is_no_error (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  g_auto (WsVerifySeen) seen = { 0 };
  g_autoptr (WsShot) shot = pin ("pin-1.9998-3.jpg", 1.9998);
  shot->kind = WS_SHOT_DISC;
  assert_false (ws_verify_shot (fixture->verify, shot, &seen, &error));
  assert_null (error);
  assert_int_not_equal (seen.reason, WS_RETAKE_NONE);
  assert_int_equal (ws_verify_checks (fixture->verify)->len, 0);
}

static void
test_a_missing_picture_is (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  g_auto (WsVerifySeen) seen = { 0 };
  g_autoptr (WsShot) shot = pin ("none.jpg", 1.9998);
  assert_false (ws_verify_shot (fixture->verify, shot, &seen, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_sizes_are_held_against_the_calibration, set_up,
                                     tear_down),
    cmocka_unit_test_setup_teardown (test_what_cannot_be_measured_is_no_error, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_missing_picture_is, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
