#include "base/testing.h"
#include "result/build.h"

#include <whetsight/result.h>

static const WsQuantityInfo length = { "length", WS_UNIT_LENGTH, NULL, "Length", "" };
static const WsQuantityInfo angle = { "angle", WS_UNIT_DEGREE, NULL, "Angle", "" };

/*
 * JCGM 100:2008, Annex H.1, end-gauge calibration, as quoted by secondary texts:
 * l = ls + d - ls (dalpha theta + alpha_s dtheta), contributions 25, 9.7, 2.9 and 16.6 nm,
 * combined 32 nm; 31.67 nm with unrounded inputs.
 */
static void
test_gum_h1 (void **state)
{
  (void)state;
  const double ls = 50.000623e6; /* nm */
  const double theta = -0.1, alpha_s = 11.5e-6;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  WsQuantity *l = wsi_result_add_quantity (result, &length, TRUE);

  wsi_quantity_add_line (l, "standard", WS_DISTRIBUTION_NORMAL, 25.0, 1.0);
  wsi_quantity_add_line (l, "repeated observations", WS_DISTRIBUTION_STUDENT, 5.8, 1.0);
  wsi_quantity_add_line (l, "comparator, random", WS_DISTRIBUTION_STUDENT, 3.9, 1.0);
  wsi_quantity_add_line (l, "comparator, systematic", WS_DISTRIBUTION_NORMAL, 6.7, 1.0);
  wsi_quantity_add_line (l, "difference in expansion", WS_DISTRIBUTION_RECTANGULAR, 0.58e-6,
                         -ls * theta);
  wsi_quantity_add_line (l, "difference in temperature", WS_DISTRIBUTION_RECTANGULAR, 0.029,
                         -ls * alpha_s);
  wsi_quantity_combine (l);

  static const double published[] = { 25.0, 5.8, 3.9, 6.7, 2.9, 16.6 };
  for (guint i = 0; i < l->budget->len; i++)
    assert_near (ws_budget_line_contribution (&g_array_index (l->budget, WsBudgetLine, i)),
                 published[i], 0.08);
  assert_near (l->U / l->k, 31.67, 0.05);
  assert_near (round (l->U / l->k), 32.0, 0.0);
}

static void
test_names_carry_their_unit (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  assert_string_equal (wsi_result_add_quantity (result, &length, TRUE)->name, "length_mm");
  assert_string_equal (wsi_result_add_quantity (result, &length, FALSE)->name, "length_px");
  assert_string_equal (wsi_result_add_quantity (result, &angle, FALSE)->name, "angle_deg");
}

static void
test_new_quantities_are_unknown (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  WsQuantity *quantity = wsi_result_add_quantity (result, &angle, FALSE);
  assert_false (quantity->known);
  assert_true (isnan (quantity->value));
  assert_null (ws_result_quantity (result, "angle"));
  assert_null (ws_result_quantity (result, "length"));
  quantity->known = TRUE;
  assert_ptr_equal (ws_result_quantity (result, "angle"), quantity);
}

static void
test_a_retake_keeps_no_numbers (void **state)
{
  (void)state;
  const WsPoint where = { 3.0, 4.0 };
  g_autoptr (WsResult) result = wsi_result_new ("none");
  wsi_result_add_quantity (result, &angle, FALSE)->known = TRUE;
  wsi_result_add_finding (result, "chip", g_strdup ("A chip."), &where);
  wsi_result_add_mark (result, WS_MARK_APEX, "x", &where, 1);
  result->hand = "left";

  wsi_result_retake (result, WS_RETAKE_TOO_SMALL, NULL);
  assert_null (result->detail);
  wsi_result_retake (result, WS_RETAKE_OUT_OF_FOCUS, "edge blur %d px", 14);
  assert_int_equal (result->verdict, WS_VERDICT_RETAKE);
  assert_int_equal (result->reason, WS_RETAKE_OUT_OF_FOCUS);
  assert_string_equal (result->detail, "edge blur 14 px");
  assert_int_equal (result->quantities->len, 0);
  assert_int_equal (result->findings->len, 0);
  assert_int_equal (result->marks->len, 1);
  assert_null (result->hand);
}

/* What was found where there is no tool, or another thing, isn't the tool's outline. */
static void
test_a_retake_shows_nothing_but_the_tool (void **state)
{
  (void)state;
  static const WsRetake others[] = { WS_RETAKE_NO_TOOL, WS_RETAKE_SEVERAL_TOOLS,
                                     WS_RETAKE_LOW_CONTRAST, WS_RETAKE_WRONG_VIEW };
  const WsPoint outline[] = { { 3.0, 4.0 }, { 5.0, 4.0 } };
  for (gsize i = 0; i < G_N_ELEMENTS (others); i++)
  {
    g_autoptr (WsResult) result = wsi_result_new ("none");
    wsi_result_add_mark (result, WS_MARK_OUTLINE, NULL, outline, 2);
    wsi_result_retake (result, others[i], NULL);
    assert_int_equal (result->marks->len, 0);
  }
}

static void
test_every_retake_has_code_and_sentence (void **state)
{
  (void)state;
  assert_null (ws_retake_code (WS_RETAKE_NONE));
  for (int reason = WS_RETAKE_NONE + 1; reason < WS_N_RETAKES; reason++)
  {
    const char *sentence = ws_retake_sentence ((WsRetake)reason);
    assert_non_null (ws_retake_code ((WsRetake)reason));
    assert_true (g_str_has_suffix (sentence, "."));
  }
  assert_string_equal (ws_retake_code (WS_RETAKE_TOO_LARGE), "too-large");
}

static void
numbers_stand_in_names (void **state)
{
  (void)state;
  static const WsQuantityInfo family = { "corner_N_angle", WS_UNIT_DEGREE, NULL, "Corner N angle",
                                         "" };
  g_autoptr (WsResult) result = wsi_result_new ("test");
  const WsQuantity *third = wsi_result_add_numbered (result, &family, 3, TRUE);
  assert_string_equal (third->name, "corner_3_angle_deg");
  assert_string_equal (third->info->label, "Corner 3 angle");
  g_autofree char *of_third = ws_quantity_family ("corner_13_angle_deg");
  assert_string_equal (of_third, "corner_N_angle_deg");
  g_autofree char *plain = ws_quantity_family ("point_angle_deg");
  assert_string_equal (plain, "point_angle_deg");
  g_autofree char *odd = ws_quantity_family ("angle_3");
  assert_string_equal (odd, "angle_3");
}

static void
the_action_follows_from_verdict_and_advice (void **state)
{
  (void)state;
  static const struct
  {
    WsVerdict verdict;
    gboolean is_ground, is_lost;
    const char *action;
  } all[] = {
    { WS_VERDICT_NONE, FALSE, FALSE, NULL },
    { WS_VERDICT_NONE, TRUE, FALSE, "regrind" },
    { WS_VERDICT_ACCEPT, FALSE, FALSE, "use" },
    { WS_VERDICT_UNDECIDED, FALSE, FALSE, "measure-again" },
    { WS_VERDICT_UNDECIDED, TRUE, FALSE, "measure-again" },
    { WS_VERDICT_REJECT, TRUE, FALSE, "regrind" },
    { WS_VERDICT_REJECT, FALSE, TRUE, "set-aside" },
    { WS_VERDICT_UNDECIDED, FALSE, TRUE, "measure-again" },
    { WS_VERDICT_RETAKE, FALSE, FALSE, "measure-again" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    g_autoptr (WsResult) result = wsi_result_new ("test");
    result->verdict = all[i].verdict;
    result->work = all[i].is_ground ? WS_WORK_GRIND : WS_WORK_NONE;
    if (all[i].is_lost)
      wsi_result_set_aside (result, g_strdup ("It is too thin."));
    const char *name = ws_action_name (ws_result_action (result));
    assert_true (g_strcmp0 (name, all[i].action) == 0);
  }
}

/* Good in one view isn't ready to use. */
static void
other_views_come_before_use (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("test");
  result->verdict = WS_VERDICT_ACCEPT;
  result->other_views = g_strdup ("drill-end");
  assert_string_equal (ws_action_name (ws_result_action (result)), "other-views");
  result->verdict = WS_VERDICT_RETAKE;
  assert_string_equal (ws_action_name (ws_result_action (result)), "measure-again");
}

static void
the_first_reason_to_set_aside_counts (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("test");
  wsi_result_set_aside (result, g_strdup ("It is too thin."));
  wsi_result_set_aside (result, g_strdup ("It is too short."));
  assert_string_equal (result->set_aside, "It is too thin.");
  wsi_result_add_grinding (result, 0.2, "lip_%s_at_corner_mm", "a");
  wsi_result_retake (result, WS_RETAKE_NO_TOOL, NULL);
  assert_null (result->set_aside);
  assert_int_equal (result->grinding->len, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_gum_h1),
    cmocka_unit_test (test_names_carry_their_unit),
    cmocka_unit_test (test_new_quantities_are_unknown),
    cmocka_unit_test (test_a_retake_keeps_no_numbers),
    cmocka_unit_test (test_a_retake_shows_nothing_but_the_tool),
    cmocka_unit_test (test_every_retake_has_code_and_sentence),
    cmocka_unit_test (numbers_stand_in_names),
    cmocka_unit_test (the_action_follows_from_verdict_and_advice),
    cmocka_unit_test (other_views_come_before_use),
    cmocka_unit_test (the_first_reason_to_set_aside_counts),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
