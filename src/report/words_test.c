#include "report/words.h"

#include "report/sample_for_tests.h"

static void
assert_tool (Sample *sample, const char *id, double diameter_mm, double width_mm,
             const char *expected)
{
  g_free (sample->card->id);
  sample->card->id = g_strdup (id);
  sample->card->diameter_mm = diameter_mm;
  sample->card->width_mm = width_mm;
  g_autofree char *words = wsi_words_tool (&sample->report);
  assert_string_equal (words, expected);
}

static void
test_tools (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  assert_tool (sample, "QT-D-0118", 6.5, NAN, "QT-D-0118 · twist-drill 6.5 mm");
  assert_tool (sample, NULL, NAN, NAN, "twist-drill");
  assert_tool (sample, NULL, 12.3456, 0.8, "twist-drill 12.3456 mm 0.8 mm");
  assert_tool (sample, NULL, NAN, 3.1234567, "twist-drill 3.12346 mm");
}

/* On the wall's clock with its zone, summer and winter; what is no time is left alone. */
static void
test_times (void **state)
{
  (void)state;
  static const char *const times[][2] = {
    { "2026-11-25T10:15:02Z", "2026-11-25 11:15:02 CET" },
    { "2026-07-25T22:15:02Z", "2026-07-26 00:15:02 CEST" },
    { "2026-11-25T10:15:02+05:00", "2026-11-25 06:15:02 CET" },
    { "2026-11-25T10:15:02Z+1", "2026-11-25T10:15:02Z+1" },
    { "yesterday", "yesterday" },
  };
  g_autoptr (Sample) sample = sample_new (TRUE);
  assert_true (g_setenv ("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", TRUE));
  for (gsize i = 0; i < G_N_ELEMENTS (times); i++)
  {
    sample->report.time = times[i][0];
    g_autofree char *words = wsi_words_time (&sample->report);
    assert_string_equal (words, times[i][1]);
  }
  assert_true (g_setenv ("TZ", "UTC0", TRUE));
}

static void
test_limits (void **state)
{
  (void)state;
  static const char card[] = "tool card", practice[] = "common practice, no source";
  static const struct
  {
    double lower, upper;
    const char *source, *words;
  } all[] = {
    { 116, 120, card, "116 .. 120" },
    { -INFINITY, 0.1, card, ".. 0.1" },
    { 3.25, INFINITY, card, "3.25 .." },
    { -INFINITY, INFINITY, card, "" },
    { NAN, NAN, card, "" },
    /* As written on the card, also where inches were written. */
    { -INFINITY, 0.1016, card, ".. 0.1016" },
    { -INFINITY, 0.004 * 25.4, card, ".. 0.1016" },
    { 6.48546, 6.48554, card, "6.48546 .. 6.48554" },
    { -0.123456, 0.98765, card, "-0.123456 .. 0.98765" },
    { -12.3456789, 1.2345678, card, "-12.3456789 .. 1.2345678" },
    /* Built in: three digits below 1, four from 1 on unless six are all; never wider. */
    { -0.12345, 0.98765, practice, "-0.123 .. 0.987" },
    { 0.12345, 0.98715, practice, "0.124 .. 0.987" },
    { -12.3456789, 1.2345678, practice, "-12.34 .. 1.234" },
    { -12.3456, 1.23457, practice, "-12.3456 .. 1.23457" },
    { 6.5 - 0.022, 6.5, practice, "6.478 .. 6.5" },
    { 12.7 - 0.027, 4.300658, practice, "12.673 .. 4.3" },
    { 0, 0.01 * 6.5, practice, "0 .. 0.065" },
  };
  g_autoptr (Sample) sample = sample_new (TRUE);
  WsQuantity *quantity = g_ptr_array_index (sample->result->quantities, 0);
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    sample_limit (quantity, all[i].lower, all[i].upper, all[i].source);
    g_autofree char *words = wsi_words_limits (quantity);
    assert_string_equal (words, all[i].words);
  }
}

static void
assert_reason (const Sample *sample, const char *expected)
{
  g_autofree char *words = wsi_words_reason (&sample->report);
  assert_string_equal (words, expected);
}

/* What is out, what is too near, what couldn't be had; without any, the verdict's meaning. */
static void
test_reasons (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  GPtrArray *quantities = sample->result->quantities;
  assert_reason (sample, "Outside the limits: point angle.");
  for (guint i = 0; i < 4; i++)
    ((WsQuantity *)g_ptr_array_index (quantities, i))->verdict = WS_VERDICT_REJECT;
  assert_reason (sample, "Outside the limits: point angle, half angle a, diameter, chip depth a.");
  WsQuantity *turn = g_ptr_array_index (quantities, 4);
  sample_set (turn, 3, 1, WS_VERDICT_REJECT);
  assert_reason (
    sample, "Outside the limits: point angle, half angle a, diameter, chip depth a and 1 more.");

  for (guint i = 0; i < 5; i++)
    ((WsQuantity *)g_ptr_array_index (quantities, i))->verdict = WS_VERDICT_ACCEPT;
  sample->result->verdict = WS_VERDICT_UNDECIDED;
  assert_reason (sample, "Can't be told in or out of limits with this picture.");
  turn->verdict = WS_VERDICT_UNDECIDED;
  sample_limit (turn, -2, 2, "tool card");
  assert_reason (sample, "Too near a limit to tell: turn of the lips.");
  turn->known = FALSE;
  assert_reason (sample, "Not to be had from this picture: turn of the lips.");
  ((WsQuantity *)g_ptr_array_index (quantities, 0))->verdict = WS_VERDICT_UNDECIDED;
  assert_reason (sample, "Too near a limit to tell: point angle. Not to be had from this picture: "
                         "turn of the lips.");
  sample_limit (turn, -INFINITY, INFINITY, "tool card");
  assert_reason (sample, "Too near a limit to tell: point angle. Not judged without a scale: turn "
                         "of the lips.");
  sample->result->verdict = WS_VERDICT_ACCEPT;
  assert_reason (sample, "Inside the limits, with the uncertainty allowed for.");
  wsi_result_hold (sample->result, WS_HOLD_TOOL, "not-judged", "Not judged: %s.", "lengths");
  sample->result->verdict = WS_VERDICT_UNDECIDED;
  assert_reason (sample, "Not judged: lengths.");
}

/* The normal distribution's shares below 0, 1, 2, 3, 3.075 and 3.2 standard deviations. */
static void
test_conformance (void **state)
{
  (void)state;
  static const struct
  {
    double value;
    const char *words;
  } all[] = {
    { 120.0, "50.0 %" },   { 119.5, "84.1 %" }, { 119.0, "97.7 %" }, { 118.5, "99.9 %" },
    { 118.4, ">99.9 %" },  { 120.5, "15.9 %" }, { 121.0, "2.3 %" },  { 121.5, "0.1 %" },
    { 121.5375, "0.1 %" }, { 121.6, "<0.1 %" },
  };
  g_autoptr (Sample) sample = sample_new (TRUE);
  WsQuantity *quantity = g_ptr_array_index (sample->result->quantities, 0);
  sample_limit (quantity, -INFINITY, 120, "tool card");
  quantity->U = 1;
  quantity->k = 2;
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    quantity->value = all[i].value;
    g_autofree char *words = wsi_words_conformance (quantity);
    assert_string_equal (words, all[i].words);
  }
  sample_limit (quantity, -INFINITY, INFINITY, NULL);
  g_autofree char *unlimited = wsi_words_conformance (quantity);
  assert_string_equal (unlimited, "");
  sample_limit (quantity, -INFINITY, 120, "tool card");
  quantity->known = FALSE;
  g_autofree char *unknown = wsi_words_conformance (quantity);
  assert_string_equal (unknown, "");
}

static void
test_values (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  WsQuantity *quantity = g_ptr_array_index (sample->result->quantities, 0);
  quantity->value = 121.45678;
  quantity->U = 0.123;
  g_autofree char *value = wsi_words_value (quantity);
  g_autofree char *uncertainty = wsi_words_uncertainty (quantity);
  assert_string_equal (value, "121.46");
  assert_string_equal (uncertainty, "0.12");
  assert_string_equal (wsi_words_unit (quantity), "deg");
  static const struct
  {
    double U;
    const char *value, *uncertainty;
  } all[] = {
    { 0.0996, "121.46", "0.10" }, { 99.4, "121", "99" },   { 99.6, "120", "100" },
    { 123.4, "120", "120" },      { 994.0, "120", "990" }, { 996.0, "100", "1000" },
    { 1234.0, "100", "1200" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    quantity->U = all[i].U;
    g_autofree char *number = wsi_words_value (quantity);
    g_autofree char *reach = wsi_words_uncertainty (quantity);
    assert_string_equal (number, all[i].value);
    assert_string_equal (reach, all[i].uncertainty);
  }
  quantity->U = INFINITY;
  assert_null (wsi_words_uncertainty (quantity));
  quantity->U = 0.1;
  quantity->known = FALSE;
  assert_null (wsi_words_value (quantity));
  assert_null (wsi_words_uncertainty (quantity));
}

static void
test_where_limits_come_from (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  static const gboolean built_in[] = { FALSE, FALSE, TRUE, TRUE, FALSE };
  for (guint i = 0; i < G_N_ELEMENTS (built_in); i++)
    assert_int_equal (wsi_words_is_built_in (g_ptr_array_index (sample->result->quantities, i)),
                      built_in[i]);
}

static void
test_actions (void **state)
{
  (void)state;
  static const struct
  {
    WsVerdict verdict;
    const char *words;
  } all[] = {
    { WS_VERDICT_ACCEPT, "Ready to use. Inside the limits" },
    { WS_VERDICT_UNDECIDED, "Measure again. Can't be told" },
    { WS_VERDICT_REJECT, "Regrind. Outside the limits" },
    { WS_VERDICT_RETAKE, "Measure again. " },
  };
  g_autoptr (Sample) sample = sample_new (TRUE);
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    sample->result->verdict = all[i].verdict;
    g_autofree char *words = wsi_words_action (&sample->report);
    assert_contains (words, all[i].words);
  }
  sample->result->verdict = WS_VERDICT_ACCEPT;
  sample->result->work = WS_WORK_HONE;
  g_autofree char *burred = wsi_words_action (&sample->report);
  assert_contains (burred, "Hone the wire edge off before it is used. Inside the limits");
  sample->result->work = WS_WORK_NONE;
  sample->result->verdict = WS_VERDICT_REJECT;
  wsi_result_set_aside (sample->result, g_strdup ("It is too thin."));
  g_autofree char *lost = wsi_words_action (&sample->report);
  assert_string_equal (lost, "Set aside. It is too thin.");
  assert_string_equal (wsi_words_action_named ("set-aside"), "Set aside.");
  assert_null (wsi_words_action_named ("polish"));
  assert_null (wsi_words_action_named (NULL));
}

static void
test_cautions_in_one_line (void **state)
{
  (void)state;
  g_autoptr (Sample) sample = sample_new (TRUE);
  assert_contains (wsi_words_care (sample->result), "eye protection");
  sample->result->work = WS_WORK_MOUNT;
  assert_contains (wsi_words_care (sample->result), "lock the machine out");
  sample->result->work = WS_WORK_HONE;
  assert_contains (wsi_words_care (sample->result), "sharp edges");
  sample->result->work = WS_WORK_NONE;
  assert_null (wsi_words_care (sample->result));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_actions), cmocka_unit_test (test_cautions_in_one_line),
    cmocka_unit_test (test_tools),   cmocka_unit_test (test_times),
    cmocka_unit_test (test_limits),  cmocka_unit_test (test_conformance),
    cmocka_unit_test (test_values),  cmocka_unit_test (test_where_limits_come_from),
    cmocka_unit_test (test_reasons),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
