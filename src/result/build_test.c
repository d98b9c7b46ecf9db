#include "base/testing.h"

#include "base/geometry.h"
#include "result/build.h"

static const WsQuantityInfo length = { "length", WS_UNIT_LENGTH, NULL, "Length", "" };
static const WsQuantityInfo angle = { "angle", WS_UNIT_DEGREE, NULL, "Angle", "" };
static const WsQuantityInfo share = { "share", WS_UNIT_SHARE, NULL, "Share", "" };
static const WsQuantityInfo corners = { "corner_N_angle", WS_UNIT_DEGREE, NULL, "Corner N", "" };

static const WsOptics unknown = WS_OPTICS_UNKNOWN;
static const WsOptics scaled = { .has_scale = TRUE, .mm_per_px = 0.01, .u_mm_per_px = 2e-5 };

static double
contribution_of (const WsQuantity *quantity, const char *name)
{
  for (guint i = 0; i < quantity->budget->len; i++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, i);
    if (g_str_equal (line->name, name))
      return ws_budget_line_contribution (line);
  }
  return 0;
}

static void
what_is_seen_becomes_what_is_recorded (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  WsQuantity *in_px = wsi_result_add_quantity (result, &length, FALSE);
  WsQuantity *in_mm = wsi_result_add_quantity (result, &length, TRUE);
  WsQuantity *in_deg = wsi_result_add_quantity (result, &angle, TRUE);
  WsQuantity *part = wsi_result_add_quantity (result, &share, TRUE);
  wsi_quantity_set_seen (in_px, 120, &unknown);
  wsi_quantity_set_seen (in_mm, 120, &scaled);
  wsi_quantity_set_seen (in_deg, G_PI / 3, &scaled);
  wsi_quantity_set_seen (part, 0.25, &scaled);
  assert_near (in_px->value, 120, 0);
  assert_near (in_mm->value, 1.2, 1e-12);
  assert_near (in_deg->value, 60, 1e-12);
  assert_near (part->value, 0.25, 0);
  assert_true (in_px->known && in_mm->known && in_deg->known && part->known);

  wsi_quantity_add_seen_line (in_mm, "edge noise", WS_DISTRIBUTION_NORMAL, 0.5, &scaled);
  wsi_quantity_add_seen_line (in_deg, "edge noise", WS_DISTRIBUTION_NORMAL, 0.001, &scaled);
  assert_near (contribution_of (in_mm, "edge noise"), 0.005, 1e-12);
  assert_near (contribution_of (in_deg, "edge noise"), 0.001 * 180 / G_PI, 1e-12);
}

/* A length grows with the scale's error in proportion; an angle doesn't, but bends with a lens that
 * nobody knows.  U = 2 sqrt (0.005^2 + (1.2 * 2e-5 / 0.01)^2) = 0.011092. */
static void
every_quantity_has_scale_or_lens (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  WsQuantity *in_mm = wsi_result_add_quantity (result, &length, TRUE);
  wsi_quantity_set_seen (in_mm, 120, &scaled);
  wsi_quantity_add_seen_line (in_mm, "edge noise", WS_DISTRIBUTION_NORMAL, 0.5, &scaled);
  wsi_quantity_finish (in_mm, &scaled);
  assert_near (contribution_of (in_mm, "scale"), 0.0024, 1e-12);
  assert_near (in_mm->U, 0.011092, 1e-6);

  WsQuantity *in_deg = wsi_result_add_quantity (result, &angle, TRUE);
  wsi_quantity_set_seen (in_deg, 1, &scaled);
  wsi_quantity_finish (in_deg, &scaled);
  assert_int_equal (in_deg->budget->len, 0);

  WsQuantity *bare = wsi_result_add_quantity (result, &angle, FALSE);
  wsi_quantity_set_seen (bare, 1, &unknown);
  wsi_quantity_finish (bare, &unknown);
  assert_near (contribution_of (bare, "unknown lens"), 0.05, 1e-12);

  WsQuantity *near = wsi_result_add_quantity (result, &angle, FALSE);
  wsi_quantity_set_seen (near, 1, &unknown);
  wsi_quantity_add_near_lens_line (near, &unknown);
  assert_near (contribution_of (near, "unknown lens"), 0.1, 1e-12);
  WsQuantity *near_length = wsi_result_add_quantity (result, &length, TRUE);
  wsi_quantity_set_seen (near_length, 500, &scaled);
  wsi_quantity_add_near_lens_line (near_length, &scaled);
  assert_near (contribution_of (near_length, "unknown lens"), 0.01, 1e-12);
}

/* 0.05 degrees or a part in a thousand anywhere, and what is seen on top, by the root of squares;
 * all in proportion to the distortion where somebody told it. */
static void
an_unknown_lens_has_a_line (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  WsQuantity *in_deg = wsi_result_add_quantity (result, &angle, TRUE);
  wsi_quantity_add_lens_line (in_deg, 0.001, &scaled);
  assert_int_equal (in_deg->budget->len, 0);
  wsi_quantity_set_seen (in_deg, 1, &scaled);
  wsi_quantity_add_lens_line (in_deg, 0.001, &scaled);
  assert_near (contribution_of (in_deg, "unknown lens"), hypot (0.05, 0.001 * 180 / G_PI), 1e-12);
  WsQuantity *in_mm = wsi_result_add_quantity (result, &length, TRUE);
  wsi_quantity_set_seen (in_mm, -500, &scaled);
  wsi_quantity_add_lens_line (in_mm, 0.2, &scaled);
  assert_near (contribution_of (in_mm, "unknown lens"), hypot (0.005, 0.002), 1e-12);

  WsOptics told = scaled;
  told.lens_distortion = 0.0006;
  WsQuantity *good = wsi_result_add_quantity (result, &angle, TRUE);
  wsi_quantity_set_seen (good, 1, &told);
  wsi_quantity_add_lens_line (good, 0, &told);
  assert_near (contribution_of (good, "unknown lens"), 0.01, 1e-12);
  const WsLens lens = { .model = WS_LENS_TELECENTRIC };
  told.lens = &lens;
  WsQuantity *calibrated = wsi_result_add_quantity (result, &angle, TRUE);
  wsi_quantity_set_seen (calibrated, 1, &told);
  wsi_quantity_add_lens_line (calibrated, 0, &told);
  assert_int_equal (calibrated->budget->len, 0);
}

static void
what_is_unknown_has_no_numbers (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  WsQuantity *quantity = wsi_result_add_quantity (result, &length, TRUE);
  wsi_quantity_add_scale_line (quantity, &scaled);
  assert_int_equal (quantity->budget->len, 0);
  wsi_quantity_set_seen (quantity, 120, &scaled);
  wsi_quantity_finish (quantity, &scaled);
  assert_non_null (ws_result_quantity (result, "length"));
  wsi_quantity_forget (quantity);
  assert_null (ws_result_quantity (result, "length"));
  assert_true (isnan (quantity->value) && isnan (quantity->U));
  assert_int_equal (quantity->budget->len, 0);
}

static void
one_of_a_family_knows_its_number (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("none");
  const WsQuantity *third = wsi_result_add_numbered (result, &corners, 3, FALSE);
  const WsQuantity *alone = wsi_result_add_quantity (result, &angle, FALSE);
  assert_string_equal (third->name, "corner_3_angle_deg");
  assert_string_equal (third->info->label, "Corner 3");
  assert_int_equal (third->number, 3);
  assert_true (ws_quantity_is_of_family (third, "corner_N_angle"));
  assert_false (ws_quantity_is_of_family (third, "segment_N_angle"));
  assert_false (ws_quantity_is_of_family (alone, "angle"));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (what_is_seen_becomes_what_is_recorded),
    cmocka_unit_test (every_quantity_has_scale_or_lens),
    cmocka_unit_test (an_unknown_lens_has_a_line),
    cmocka_unit_test (what_is_unknown_has_no_numbers),
    cmocka_unit_test (one_of_a_family_knows_its_number),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
