/* The judge is judged: sums by hand, and records that must be found wrong. */
#include "gates.h"
#include "hard.h"
#include "trial.h"

#include "base/testing.h"

/* One quantity with an error of 1 % of the diameter, and with two budget lines. */
static json_t *
record_of (double value)
{
  return json_pack ("{s:s, s:n, s:{s:{s:f, s:f, s:f, s:f, s:n, s:s, s:[{s:s, s:f}, {s:s, s:f}]}}}",
                    "verdict", "accept", "reason", "quantities", "diameter_mm", "value", value, "U",
                    0.1, "k", 2.0, "lower", 9.0, "upper", "verdict", "accept", "budget", "name",
                    "envelope", "contribution", 0.03, "name", "alignment: axis leaning",
                    "contribution", 0.04);
}

static void
errors_are_parts_of_the_diameter (void **state)
{
  (void)state;
  json_t *record = record_of (10.1);
  json_t *truth = json_pack ("{s:f}", "diameter_mm", 10.0);
  TrialError e;
  assert_true (trial_error (record, truth, TRIAL_DIAMETER, &e));
  assert_near (e.error, 0.01, 1e-12);
  assert_near (e.U, 0.01, 1e-12);
  assert_near (e.U_rest, 2.0 * 0.03 / 10.0, 1e-12);
  assert_false (trial_error (record, truth, TRIAL_POINT_ANGLE, &e));
  json_decref (record);
  json_decref (truth);
}

static void
sums_are_those_worked_by_hand (void **state)
{
  (void)state;
  g_autoptr (TrialTable) table = trial_table_new ();
  const TrialError errors[] = { { 3.0, 5.0, 1.0 }, { -4.0, 3.0, 2.0 }, { 0.0, 4.0, 9.0 } };
  g_array_append_vals (table->errors[TRIAL_DIAMETER], errors, G_N_ELEMENTS (errors));
  const TrialSummary s = trial_summary (table, TRIAL_DIAMETER);
  assert_int_equal (s.n, 3);
  assert_near (s.rms, sqrt (25.0 / 3.0), 1e-12);
  assert_near (s.median, 3.0, 0.0);
  assert_near (s.max, 4.0, 0.0);
  assert_near (s.coverage, 2.0 / 3.0, 1e-12);
  assert_near (s.median_U, 4.0, 0.0);
  assert_near (s.median_U_rest, 2.0, 0.0);
}

static gboolean
hold (double error, double U, double U_rest, guint n, const TrialGate *gate)
{
  g_autoptr (TrialTable) table = trial_table_new ();
  for (guint i = 0; i < n; i++)
  {
    const TrialError e = { i % 2 == 0 ? error : -error, U, U_rest };
    g_array_append_val (table->errors[TRIAL_DIAMETER], e);
  }
  return trial_gates_hold ("made up", table, gate, 1);
}

/* RMS, coverage and padding one by one; what there is no gate for; what is never told. */
static void
gates_close (void **state)
{
  (void)state;
  const TrialGate gate = { TRIAL_DIAMETER, 0.01, 0, 0, 0 },
                  useful = { TRIAL_DIAMETER, 0.01, 0, 0.02, 0 };
  const TrialGate other = { TRIAL_POINT_ANGLE, 1, 0, 0, 0 };
  g_unsetenv ("WHETSIGHT_FEW_SCENES");
  assert_true (hold (0.009, 0.02, 0.02, 40, &gate));
  assert_false (hold (0.011, 0.02, 0.02, 40, &gate));
  assert_false (hold (0.009, 0.008, 0.008, 40, &gate));
  assert_false (hold (0.002, 0.02, 0.02, 40, &gate));
  assert_true (hold (0.002, 0.02, 0.006, 40, &gate));
  assert_true (hold (0.002, 0.02, 0.02, 10, &gate));
  assert_true (hold (0.009, 0.02, 0.02, 40, &useful));
  assert_false (hold (0.009, 0.021, 0.021, 40, &useful));
  assert_false (hold (0.009, 0.02, 0.02, 40, &other));
  assert_false (hold (0, 0, 0, 0, &gate));
  /* With few scenes each error counts alone: beyond U and five times the gate. */
  g_setenv ("WHETSIGHT_FEW_SCENES", "1", TRUE);
  assert_true (hold (0.03, 0.01, 0.01, 3, &gate));
  assert_false (hold (0.051, 0.01, 0.01, 3, &gate));
  assert_true (hold (0.051, 0.06, 0.06, 3, &gate));
  assert_int_equal (trial_scenes (9, 2), 2);
  g_unsetenv ("WHETSIGHT_FEW_SCENES");
  assert_int_equal (trial_scenes (9, 2), 9);
}

/* A record with a card and a scale, to which `more` adds or from which it takes. */
static char *
voices (double value, int status, const char *more)
{
  TrialRun run = { status, record_of (value), NULL };
  json_t *whole = json_pack ("{s:{s:s}, s:{s:f}, s:n}", "tool", "id", "QT-D-0118", "scale",
                             "mm_per_px", 0.01, "reason");
  json_t *added = json_loads (more, 0, NULL);
  assert_non_null (added);
  json_object_update (run.record, whole);
  json_object_update (run.record, added);
  char *wrong = trial_check_verdicts (&run);
  json_decref (added);
  json_decref (whole);
  json_decref (run.record);
  return wrong;
}

static void
verdicts_must_follow_from_numbers (void **state)
{
  (void)state;
  const struct
  {
    double value;
    int status;
    const char *more;
    gboolean right;
  } cases[] = {
    { 9.2, 0, "{}", TRUE },
    { 9.2, 2, "{}", FALSE },
    { 9.05, 0, "{}", FALSE },
    { 8.0, 0, "{}", FALSE },
    { 9.2, 2, "{\"verdict\": \"undecided\", \"reason\": \"not-judged\"}", TRUE },
    { 9.2, 2, "{\"verdict\": \"undecided\", \"reason\": \"near-limit\"}", FALSE },
    { 9.2, 0, "{\"reason\": \"not-judged\"}", FALSE },
    { 9.2, 0, "{\"tool\": {\"id\": null}}", FALSE },
    { 9.2, 0, "{\"scale\": null}", FALSE },
    { 9.2, 0, "{\"findings\": [{\"code\": \"chip\"}]}", FALSE },
    { 9.2, 0, "{\"findings\": [{\"code\": \"inside-limits\"}]}", TRUE },
    { 9.2, 0, "{\"advice\": [\"Grind lip a back by 0.1 mm.\"]}", FALSE },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *wrong = voices (cases[i].value, cases[i].status, cases[i].more);
    if ((wrong == NULL) != cases[i].right)
      fail_msg ("case %u: %s", (guint)i, wrong);
  }
  TrialRun run = { 0, record_of (9.2), NULL };
  g_autofree char *retake = trial_check_retake (&run, NULL);
  assert_non_null (retake);
  assert_false (trial_is_retake (&run));
  json_decref (run.record);
}

static void
retakes_must_be_bare_and_for_a_listed_reason (void **state)
{
  (void)state;
  TrialRun run = { 3, NULL, NULL };
  run.record =
    json_pack ("{s:s, s:s, s:{}}", "verdict", "retake", "reason", "no-tool", "quantities");
  const char *const listed[] = { "too-small,no-tool", "too-small", NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (listed); i++)
  {
    g_autofree char *wrong = trial_check_retake (&run, listed[i]);
    assert_true ((wrong == NULL) == (i != 1));
    assert_true (trial_is_retake (&run));
  }
  json_object_set_new (json_object_get (run.record, "quantities"), "diameter_mm", json_object ());
  g_autofree char *with_numbers = trial_check_retake (&run, NULL);
  assert_non_null (with_numbers);
  json_decref (run.record);
}

static gboolean
chips_agree (double depth, double truth)
{
  json_t *record = json_pack ("{s:{s:{s:f}, s:{s:f}}}", "quantities", "chip_depth_a_mm", "value",
                              depth, "chip_depth_b_mm", "value", 0.0);
  json_t *expected = json_pack ("{s:f, s:f}", "diameter_mm", 10.0, "chip_depth_a_mm", truth);
  g_autofree char *wrong = trial_check_chips (record, expected, 0.02);
  json_decref (record);
  json_decref (expected);
  return wrong == NULL;
}

static void
chips_must_be_found_and_not_invented (void **state)
{
  (void)state;
  assert_true (chips_agree (0.0, 0.0));
  assert_false (chips_agree (0.03, 0.0));
  assert_true (chips_agree (0.2, 0.23));
  assert_false (chips_agree (0.0, 0.2));
  assert_false (chips_agree (0.2, 0.27));
  assert_true (chips_agree (0.0, 0.09));
}

/* None of n: 1 - 0.05^(1/n), by hand; 1 of 10 as tables have it. */
static void
counts_leave_a_share_possible (void **state)
{
  (void)state;
  assert_near (hard_most_possible (0, 100), 0.029513, 1e-6);
  assert_near (hard_most_possible (0, 5000), 3.0 / 5000, 2e-6);
  assert_near (hard_most_possible (1, 10), 0.394163, 1e-6);
  assert_near (hard_most_possible (0, 0), 1.0, 0.0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (errors_are_parts_of_the_diameter),
    cmocka_unit_test (sums_are_those_worked_by_hand),
    cmocka_unit_test (gates_close),
    cmocka_unit_test (verdicts_must_follow_from_numbers),
    cmocka_unit_test (retakes_must_be_bare_and_for_a_listed_reason),
    cmocka_unit_test (chips_must_be_found_and_not_invented),
    cmocka_unit_test (counts_leave_a_share_possible),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
