/*
 * ISO 14253-1: guard bands.
 */
#include "base/testing.h"
#include "result/build.h"

#include <whetsight/judge.h>

static void
check (double value, double U, double lower, double upper, WsVerdict expected)
{
  WsVerdict verdict = ws_verdict_for (value, U, lower, upper);
  if (verdict != expected)
    fail_msg ("%g +- %g in %g .. %g: %s", value, U, lower, upper, ws_verdict_name (verdict));
}

static void
test_guard_bands (void **state)
{
  (void)state;
  check (118.0, 0.3, 116.0, 120.0, WS_VERDICT_ACCEPT);
  check (116.2, 0.3, 116.0, 120.0, WS_VERDICT_UNDECIDED);
  check (115.8, 0.3, 116.0, 120.0, WS_VERDICT_UNDECIDED);
  check (115.6, 0.3, 116.0, 120.0, WS_VERDICT_REJECT);
  check (120.4, 0.3, 116.0, 120.0, WS_VERDICT_REJECT);
  check (119.8, 0.3, 116.0, 120.0, WS_VERDICT_UNDECIDED);
}

/* "By at least U" counts the boundary itself, though 116 + 0.3 has no exact binary form. */
static void
test_boundaries_belong_to_the_decision (void **state)
{
  (void)state;
  check (116.25, 0.25, 116.0, 120.0, WS_VERDICT_ACCEPT);
  check (119.75, 0.25, 116.0, 120.0, WS_VERDICT_ACCEPT);
  check (115.75, 0.25, 116.0, 120.0, WS_VERDICT_REJECT);
  check (120.25, 0.25, 116.0, 120.0, WS_VERDICT_REJECT);
  check (116.3, 0.3, 116.0, 120.0, WS_VERDICT_ACCEPT);
  check (119.7, 0.3, 116.0, 120.0, WS_VERDICT_ACCEPT);
  check (115.7, 0.3, 116.0, 120.0, WS_VERDICT_REJECT);
  check (120.3, 0.3, 116.0, 120.0, WS_VERDICT_REJECT);
  check (0.07, 0.03, -INFINITY, 0.1, WS_VERDICT_ACCEPT);
  check (116.2999999, 0.3, 116.0, 120.0, WS_VERDICT_UNDECIDED);
  check (115.7000001, 0.3, 116.0, 120.0, WS_VERDICT_UNDECIDED);
}

/* Limits closer than 2 U can never be proved to be met. */
static void
test_narrow_limits (void **state)
{
  (void)state;
  check (118.0, 0.3, 117.9, 118.1, WS_VERDICT_UNDECIDED);
  check (119.0, 0.3, 117.9, 118.1, WS_VERDICT_REJECT);
}

static void
test_open_ends (void **state)
{
  (void)state;
  check (5.0, 0.1, -INFINITY, INFINITY, WS_VERDICT_NONE);
  check (0.0, 0.01, -INFINITY, 0.1, WS_VERDICT_ACCEPT);
  check (0.2, 0.01, -INFINITY, 0.1, WS_VERDICT_REJECT);
  check (0.2, 0.01, 0.1, INFINITY, WS_VERDICT_ACCEPT);
  check (0.1, 0.01, 0.1, INFINITY, WS_VERDICT_UNDECIDED);
}

static void
test_nonsense_decides_nothing (void **state)
{
  (void)state;
  check (NAN, 0.1, 0.0, 1.0, WS_VERDICT_UNDECIDED);
  check (0.5, NAN, 0.0, 1.0, WS_VERDICT_UNDECIDED);
  check (0.5, INFINITY, 0.0, 1.0, WS_VERDICT_UNDECIDED);
  check (0.5, -0.1, 0.0, 1.0, WS_VERDICT_UNDECIDED);
}

static const WsQuantityInfo angle = { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" };
static const WsQuantityInfo offset = { "point_offset", WS_UNIT_LENGTH, NULL, "Point offset", "" };

static WsQuantity *
add (WsResult *result, const WsQuantityInfo *info, double value, double lower, double upper)
{
  WsQuantity *quantity = wsi_result_add_quantity (result, info, TRUE);
  quantity->known = TRUE;
  quantity->value = value;
  quantity->U = 0.1;
  quantity->lower = lower;
  quantity->upper = upper;
  return quantity;
}

static void
test_the_worst_quantity_is_the_tools_verdict (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_NONE);
  add (result, &angle, 118.0, 116.0, 120.0);
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_ACCEPT);
  add (result, &offset, 0.05, -0.1, 0.1);
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
  add (result, &angle, 110.0, 116.0, 120.0);
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_REJECT);
}

/* A limit that somebody set and nobody could check is not met. */
static void
test_a_limit_that_cannot_be_checked_is_undecided (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  WsQuantity *quantity = add (result, &offset, 0.05, -INFINITY, INFINITY);
  quantity->limit_source = "tool card";
  ws_verdicts_apply (result);
  assert_int_equal (quantity->verdict, WS_VERDICT_UNDECIDED);
  quantity->lower = -1.0;
  quantity->upper = 1.0;
  quantity->known = FALSE;
  ws_verdicts_apply (result);
  assert_int_equal (quantity->verdict, WS_VERDICT_UNDECIDED);
  assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
}

static void
test_order (void **state)
{
  (void)state;
  static const WsVerdict order[] = { WS_VERDICT_NONE, WS_VERDICT_ACCEPT, WS_VERDICT_UNDECIDED,
                                     WS_VERDICT_REJECT, WS_VERDICT_RETAKE };
  for (gsize i = 1; i < G_N_ELEMENTS (order); i++)
  {
    assert_int_equal (ws_verdict_worse (order[i], order[i - 1]), order[i]);
    assert_int_equal (ws_verdict_worse (order[i - 1], order[i]), order[i]);
  }
}

static void
test_conformance_probability (void **state)
{
  (void)state;
  /* JCGM 106:2012 examples, inputs recalled from memory: the Zener diode's upper limit, 0.92, and
   * the burst strength's lower one, 0.99. */
  assert_near (ws_conformance_probability (-5.47, 0.05, -INFINITY, -5.40), 0.919243, 1e-6);
  assert_near (ws_conformance_probability (509.7, 8.6, 490, INFINITY), 0.98901, 1e-5);
  /* In the middle of +-2 u: 95.45 %. */
  assert_near (ws_conformance_probability (7, 0.5, 6, 8), 0.954500, 1e-6);
  assert_near (ws_conformance_probability (8, 0.5, -INFINITY, 8), 0.5, 1e-12);
  assert_near (ws_conformance_probability (100, 0.5, 6, 8), 0, 1e-12);
  /* An accepted value, U = 2 u inside its limit, conforms with 97.7 %. */
  assert_near (ws_conformance_probability (119, 0.5, -INFINITY, 120), 0.977250, 1e-6);
}

static void
test_conformance_without_uncertainty (void **state)
{
  (void)state;
  assert_near (ws_conformance_probability (7, 0, 6, 8), 1, 0);
  assert_near (ws_conformance_probability (6, 0, 6, 8), 1, 0);
  assert_near (ws_conformance_probability (8, 0, 6, 8), 1, 0);
  assert_near (ws_conformance_probability (8.1, 0, 6, 8), 0, 0);
  assert_true (isnan (ws_conformance_probability (7, 0.5, -INFINITY, INFINITY)));
  assert_true (isnan (ws_conformance_probability (NAN, 0.5, 6, 8)));
  assert_true (isnan (ws_conformance_probability (7, NAN, 6, 8)));
}

/* Inside, near and outside its limits. */
static WsResult *
three_quantities (void)
{
  static const WsQuantityInfo info = { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "" };
  WsResult *result = wsi_result_new ("drill-side");
  for (guint i = 0; i < 3; i++)
  {
    WsQuantity *quantity = wsi_result_add_quantity (result, &info, TRUE);
    wsi_quantity_set (quantity, i + 1.0);
    quantity->U = 0.1;
    quantity->lower = 0.0;
    quantity->upper = 2.0;
  }
  return result;
}

static void
assert_verdicts (const WsResult *result, WsVerdict inside, WsVerdict outside, WsVerdict tool)
{
  const WsQuantity *in = g_ptr_array_index (result->quantities, 0),
                   *near = g_ptr_array_index (result->quantities, 1),
                   *out = g_ptr_array_index (result->quantities, 2);
  assert_int_equal (in->verdict, inside);
  assert_int_equal (near->verdict, WS_VERDICT_UNDECIDED);
  assert_int_equal (out->verdict, outside);
  assert_int_equal (result->verdict, tool);
  /* What is held stays told from what is near a limit. */
  assert_int_equal (ws_verdict_is_withheld (in), inside == WS_VERDICT_UNDECIDED);
  assert_int_equal (ws_verdict_is_withheld (out), outside == WS_VERDICT_UNDECIDED);
  assert_false (ws_verdict_is_withheld (near));
}

static void
test_holds (void **state)
{
  (void)state;
  static const struct
  {
    WsHold hold;
    WsVerdict inside, outside, tool;
  } cases[] = {
    { WS_HOLD_NONE, WS_VERDICT_ACCEPT, WS_VERDICT_REJECT, WS_VERDICT_REJECT },
    { WS_HOLD_TOOL, WS_VERDICT_ACCEPT, WS_VERDICT_REJECT, WS_VERDICT_REJECT },
    { WS_HOLD_ACCEPT, WS_VERDICT_UNDECIDED, WS_VERDICT_REJECT, WS_VERDICT_REJECT },
    { WS_HOLD_VERDICT, WS_VERDICT_UNDECIDED, WS_VERDICT_UNDECIDED, WS_VERDICT_UNDECIDED },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (WsResult) result = three_quantities ();
    if (cases[i].hold != WS_HOLD_NONE)
      wsi_result_hold (result, cases[i].hold, "untrusted", "Why.");
    ws_verdicts_apply (result);
    assert_verdicts (result, cases[i].inside, cases[i].outside, cases[i].tool);
  }
}

/* A hold alone is enough for the tool not to be accepted. */
static void
test_a_held_tool_is_undecided (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  add (result, &angle, 118.0, 116.0, 120.0);
  wsi_result_hold (result, WS_HOLD_TOOL, "weaker", "One.");
  wsi_result_hold (result, WS_HOLD_ACCEPT, "stronger", "Two %d.", 2);
  wsi_result_hold (result, WS_HOLD_ACCEPT, "later", "Three.");
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
  assert_string_equal (result->hold_code, "stronger");
  assert_string_equal (result->hold_why, "Two 2.");
  assert_string_equal (ws_result_reason (result), "stronger");
  assert_int_equal (result->findings->len, 3);

  wsi_result_retake (result, WS_RETAKE_NO_TOOL, NULL);
  wsi_result_hold (result, WS_HOLD_TOOL, "weaker", "One.");
  assert_int_equal (result->hold, WS_HOLD_NONE);
  assert_int_equal (result->findings->len, 0);
  assert_string_equal (ws_result_reason (result), ws_retake_code (WS_RETAKE_NO_TOOL));
}

static void
test_reasons (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  WsQuantity *quantity = add (result, &angle, 118.0, 116.0, 120.0);
  ws_verdicts_apply (result);
  assert_null (ws_result_reason (result));
  quantity->value = 120.0;
  ws_verdicts_apply (result);
  assert_string_equal (ws_result_reason (result), "near-limit");
  quantity->value = 130.0;
  ws_verdicts_apply (result);
  assert_null (ws_result_reason (result));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_guard_bands),
    cmocka_unit_test (test_boundaries_belong_to_the_decision),
    cmocka_unit_test (test_narrow_limits),
    cmocka_unit_test (test_open_ends),
    cmocka_unit_test (test_nonsense_decides_nothing),
    cmocka_unit_test (test_the_worst_quantity_is_the_tools_verdict),
    cmocka_unit_test (test_a_limit_that_cannot_be_checked_is_undecided),
    cmocka_unit_test (test_order),
    cmocka_unit_test (test_conformance_probability),
    cmocka_unit_test (test_conformance_without_uncertainty),
    cmocka_unit_test (test_holds),
    cmocka_unit_test (test_a_held_tool_is_undecided),
    cmocka_unit_test (test_reasons),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
