#include "base/testing.h"

#include <string.h>

#include <whetsight/judge.h>
#include <whetsight/view.h>

#include "result/build.h"
#include "tool/card_fit.h"

static const WsQuantityInfo infos[] = {
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "Of the envelope." },
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "Of the point." },
};

static const WsFitBand bands[] = {
  { WS_TRAIT_DIAMETER, "diameter", 0.03, 0.01, 0.05, FALSE },
  { WS_TRAIT_POINT, "point_angle", 10, 10, 0, FALSE },
  { WS_TRAIT_WIDTH, NULL, 0.15, 0.05, 0.05, FALSE },
  { .trait = WS_TRAIT_HAND },
};

static const WsView view = { .name = "drill-side", .fits = bands, .n_fits = G_N_ELEMENTS (bands) };

/* NAN leaves a quantity unknown; `U` is in the quantity's own unit. */
static WsResult *
seen (double diameter, double point, double U, gboolean has_scale)
{
  const double values[] = { diameter, point };
  WsResult *result = wsi_result_new (view.name);
  for (gsize i = 0; i < G_N_ELEMENTS (values); i++)
  {
    WsQuantity *quantity = wsi_result_add_quantity (result, &infos[i], has_scale);
    if (isnan (values[i]))
      continue;
    wsi_quantity_set (quantity, values[i]);
    wsi_quantity_add_line (quantity, "a line", WS_DISTRIBUTION_NORMAL, 0.5 * U, 1);
    wsi_quantity_combine (quantity);
  }
  return result;
}

static WsToolCard *
twist_drill (double diameter)
{
  WsToolCard *card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->id = g_strdup ("QT-D-1");
  card->diameter_mm = diameter;
  return card;
}

static gboolean
is_held (WsResult *result, const WsToolCard *card)
{
  ws_limits_apply (result, card);
  wsi_card_fit_check (&view, card, result);
  ws_verdicts_apply (result);
  const gboolean held = result->hold == WS_HOLD_VERDICT;
  if (held)
  {
    assert_string_equal (result->hold_code, "card-mismatch");
    assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
  }
  return held;
}

static gboolean
is_mismatch (const WsToolCard *card, double diameter, double point, double U)
{
  g_autoptr (WsResult) result = seen (diameter, point, U, TRUE);
  return is_held (result, card);
}

/* From 9.65 to 10.15 mm, and U beyond that, it may be the drill of 10 mm. */
static void
test_bands_end_where_wear_ends (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = twist_drill (10);
  assert_false (is_mismatch (card, 9.66, 118, 0.001));
  assert_true (is_mismatch (card, 9.64, 118, 0.001));
  assert_false (is_mismatch (card, 9.64, 118, 0.011));
  assert_false (is_mismatch (card, 10.14, 118, 0.001));
  assert_true (is_mismatch (card, 10.16, 118, 0.001));
  assert_false (is_mismatch (card, 10.16, 118, 0.011));
  /* Built-in limits of the point: 113 to 123 degrees. */
  assert_false (is_mismatch (card, 10, 127.9, 0.001));
  assert_true (is_mismatch (card, 10, 128.1, 0.001));
  assert_true (is_mismatch (card, 10, 107.9, 0.001));
  assert_false (is_mismatch (card, 10, 107.9, 0.2));
}

static void
add_limit (WsToolCard *card, const char *quantity, double lower, double upper)
{
  const WsLimit limit = { g_strdup (quantity), lower, upper };
  g_array_append_val (card->limits, limit);
}

/* Where nothing makes a tool larger, the card's word, or its limit, is the most. */
static void
test_no_drill_grows (void **state)
{
  (void)state;
  static const WsFitBand none = { WS_TRAIT_DIAMETER, "diameter", 0.03, 0, 0.05, FALSE };
  static const WsView grows_not = { .name = "drill-side", .fits = &none, .n_fits = 1 };
  static const double sizes[] = { 9.66, 10.001, 10.004, 10.02 };
  g_autoptr (WsToolCard) card = twist_drill (10.0);
  for (gsize i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    g_autoptr (WsResult) result = seen (sizes[i], 118, 0.002, TRUE);
    wsi_card_fit_check (&grows_not, card, result);
    assert_int_equal (result->hold == WS_HOLD_VERDICT, sizes[i] > 10.002);
  }
  add_limit (card, "diameter_mm", 9.9, 10.01);
  g_autoptr (WsResult) coated = seen (10.008, 118, 0.002, TRUE);
  wsi_card_fit_check (&grows_not, card, coated);
  assert_int_equal (coated->hold, WS_HOLD_NONE);
}

/* What the card lets the tool be by its own limits is its word as well. */
static void
test_the_cards_limits_widen_the_band (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = twist_drill (10);
  add_limit (card, "diameter_mm", 9, INFINITY);
  add_limit (card, "point_angle_deg", 130, INFINITY);
  assert_false (is_mismatch (card, 9.1, 135, 0.001));
  assert_true (is_mismatch (card, 10.3, 135, 0.001));
  assert_false (is_mismatch (card, 10, 170, 0.001));
  assert_false (is_mismatch (card, 10, 120.1, 0.001));
  assert_true (is_mismatch (card, 10, 118, 0.001));
  g_array_set_size (card->limits, 0);
  add_limit (card, "point_angle_deg", 90, 140);
  assert_false (is_mismatch (card, 10, 92, 0.001));
  assert_true (is_mismatch (card, 10, 89, 0.001));
}

static void
test_what_nobody_says_fits (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) silent = twist_drill (NAN), card = twist_drill (10);
  assert_false (is_mismatch (silent, 3, 118, 0.001));
  assert_false (is_mismatch (card, NAN, NAN, 0.001));
  /* Nor do px. */
  g_autoptr (WsResult) unscaled = seen (432, 118, 0.1, FALSE);
  assert_false (is_held (unscaled, card));
}

/* Where the card names no angle its kind stands for it; without a card nothing does. */
static void
test_a_kind_has_its_point (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = twist_drill (NAN), none = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = seen (6, 90, 0.05, TRUE), unnamed = seen (6, 90, 0.05, TRUE);
  assert_true (is_held (result, card));
  assert_contains (result->hold_why, "names no point angle");
  assert_contains (result->hold_why, "a spot drill");
  assert_false (is_held (unnamed, none));
}

static void
test_sizes_that_no_tool_has (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) none = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) huge = seen (31918, 118, 1, TRUE), tiny = seen (0.02, 118, 1e-4, TRUE);
  assert_true (is_held (huge, none));
  assert_contains (huge->hold_why, "no tool of this trade");
  assert_true (is_held (tiny, none));
}

/* What was seen, what the card says, what to check. */
static void
test_words (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = twist_drill (6.5);
  add_limit (card, "point_angle_deg", 116, 120);
  g_autoptr (WsResult) result = seen (5.998, 90.03, 0.02, TRUE);
  assert_true (is_held (result, card));
  assert_int_equal (result->findings->len, 2);
  const WsFinding *size = g_ptr_array_index (result->findings, 0);
  assert_contains (size->text, "6.00 ± 0.02 mm");
  assert_contains (size->text, "the card says 6.5 mm");
  assert_contains (size->text, "check the scale");
  const WsFinding *point = g_ptr_array_index (result->findings, 1);
  assert_contains (point->text, "90.03 ± 0.02°");
  assert_contains (point->text, "116° to 120°");
  assert_string_equal (result->hold_why, size->text);
}

static void
check_width (double width, gboolean in_part, gboolean held)
{
  const WsOptics optics = { .has_scale = TRUE, .mm_per_px = 0.01 };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  g_autoptr (WsResult) result = seen (10, 118, 0.001, TRUE);
  card->id = g_strdup ("QT-B-1");
  card->width_mm = 3;
  wsi_result_see (result, WS_TRAIT_WIDTH, width / 0.01, 1, &optics);
  result->seen[WS_TRAIT_WIDTH].in_part = in_part;
  assert_int_equal (is_held (result, card), held);
}

/* An edge that goes on beyond the picture can only be too wide. */
static void
test_sizes_seen_without_a_quantity (void **state)
{
  (void)state;
  check_width (2.55, FALSE, FALSE);
  check_width (2.4, FALSE, TRUE);
  check_width (2.4, TRUE, FALSE);
  check_width (3.3, TRUE, TRUE);
}

/* A form tool's profile says how wide its edge is from the front, unless its card does. */
static void
test_a_profile_has_a_width (void **state)
{
  (void)state;
  static const char text[] = "unit mm\nstart 0 0\nline 2 0\nline 4 2\nline 6 0\nline 8 0\n";
  static const struct
  {
    double seen, told;
    gboolean held;
  } tries[] = { { 8, NAN, FALSE }, { 2, NAN, TRUE }, { 10, NAN, TRUE }, { 10, 10, FALSE } };
  const WsOptics optics = { .has_scale = TRUE, .mm_per_px = 0.01 };
  const WsView *face = ws_view_find ("form-face");
  for (gsize i = 0; i < G_N_ELEMENTS (tries); i++)
  {
    g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_FORM_TOOL);
    g_autoptr (WsResult) result = wsi_result_new (face->name);
    card->form.nominal = ws_contour_parse (text, strlen (text), "v.profile", NULL);
    card->width_mm = tries[i].told;
    wsi_result_see (result, WS_TRAIT_WIDTH, tries[i].seen / 0.01, 1, &optics);
    wsi_card_fit_check (face, card, result);
    assert_int_equal (result->hold, tries[i].held ? WS_HOLD_VERDICT : WS_HOLD_NONE);
  }
}

static void
check_hand (WsHand told, const char *hand, WsHold hold)
{
  g_autoptr (WsToolCard) card = twist_drill (10);
  g_autoptr (WsResult) result = seen (10, 118, 0.001, TRUE);
  card->hand = told;
  result->hand = hand;
  wsi_card_fit_check (&view, card, result);
  assert_int_equal (result->hold, hold);
}

static void
test_flutes_have_a_hand (void **state)
{
  (void)state;
  check_hand (WS_HAND_RIGHT, "right", WS_HOLD_NONE);
  check_hand (WS_HAND_RIGHT, "left", WS_HOLD_VERDICT);
  check_hand (WS_HAND_LEFT, "right", WS_HOLD_VERDICT);
  check_hand (WS_HAND_UNKNOWN, "left", WS_HOLD_NONE);
  check_hand (WS_HAND_LEFT, NULL, WS_HOLD_NONE);
}

/* A blade gets its hand at the wheel: the other one is a fault of the tool. */
static void
test_a_blade_ground_the_other_way_is_rejected (void **state)
{
  (void)state;
  static const WsFitBand hand = { .trait = WS_TRAIT_HAND, .is_ground = TRUE };
  const WsView plan = { .name = "blade-plan", .fits = &hand, .n_fits = 1 };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  g_autoptr (WsResult) result = wsi_result_new (plan.name);
  card->hand = WS_HAND_RIGHT;
  result->hand = "left";
  wsi_card_fit_check (&plan, card, result);
  ws_verdicts_apply (result);
  assert_int_equal (result->verdict, WS_VERDICT_REJECT);
  const WsFinding *finding = g_ptr_array_index (result->findings, 0);
  assert_string_equal (finding->code, "wrong-hand");
  assert_contains (finding->text, "the left corner leads");
}

/* Each view holds a card against something, if the card can say it and the picture can show it. */
/* As a thick wire's end, cut off at an angle, would be. */
static void
test_no_blade_is_as_low_as_wide (void **state)
{
  (void)state;
  static const WsQuantityInfo tip = { "tip_height", WS_UNIT_LENGTH, "h", "Height", "Of the tip." };
  static const double heights[] = { 4.6, 5.98, 6.1, 12.7 };
  const WsView *side = ws_view_find ("blade-side");
  for (gsize i = 0; i < G_N_ELEMENTS (heights); i++)
  {
    g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
    g_autoptr (WsResult) result = wsi_result_new ("blade-side");
    WsQuantity *quantity = wsi_result_add_quantity (result, &tip, TRUE);
    card->width_mm = 3;
    wsi_quantity_set (quantity, heights[i]);
    wsi_quantity_add_line (quantity, "a line", WS_DISTRIBUTION_NORMAL, 0.005, 1);
    wsi_quantity_combine (quantity);
    wsi_card_fit_check (side, card, result);
    assert_int_equal (result->hold == WS_HOLD_VERDICT, heights[i] < 5.99);
  }
}

static void
test_views_declare_what_they_hold_against_the_card (void **state)
{
  (void)state;
  static const char *const views[] = { "drill-side", "drill-end",  "drill-relief", "blade-plan",
                                       "blade-side", "blade-face", "form-face" };
  for (gsize i = 0; i < G_N_ELEMENTS (views); i++)
  {
    const WsView *declared = ws_view_find (views[i]);
    assert_true (declared->n_fits > 0);
    for (gsize k = 0; k < declared->n_fits; k++)
    {
      const WsFitBand *band = &declared->fits[k];
      g_autofree char *name = g_strdup_printf ("%s_mm", band->stem != NULL ? band->stem : "");
      if (band->stem != NULL && band->trait != WS_TRAIT_POINT)
        assert_non_null (ws_view_lookup (views[i], name));
      if (band->trait != WS_TRAIT_HAND)
        assert_true (band->below > 0 && band->above >= 0);
    }
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_bands_end_where_wear_ends),
    cmocka_unit_test (test_no_drill_grows),
    cmocka_unit_test (test_the_cards_limits_widen_the_band),
    cmocka_unit_test (test_what_nobody_says_fits),
    cmocka_unit_test (test_a_kind_has_its_point),
    cmocka_unit_test (test_sizes_that_no_tool_has),
    cmocka_unit_test (test_words),
    cmocka_unit_test (test_sizes_seen_without_a_quantity),
    cmocka_unit_test (test_a_profile_has_a_width),
    cmocka_unit_test (test_flutes_have_a_hand),
    cmocka_unit_test (test_a_blade_ground_the_other_way_is_rejected),
    cmocka_unit_test (test_no_blade_is_as_low_as_wide),
    cmocka_unit_test (test_views_declare_what_they_hold_against_the_card),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
