#include "base/testing.h"

#include "result/build.h"
#include "tool/blade/advice.h"

#include <math.h>
#include <whetsight/judge.h>

/* A card that names its tool but limits nothing itself.  Free with ws_tool_card_free(). */
static WsToolCard *
card_of (WsToolKind kind)
{
  WsToolCard *card = ws_tool_card_new (kind);
  card->id = g_strdup ("QT-1");
  return card;
}

static const WsQuantityInfo infos[] = {
  { "side_rake", WS_UNIT_DEGREE, NULL, "Side rake", "" },
  { "edge_width", WS_UNIT_LENGTH, "CW", "Edge width", "" },
  { "side_clearance_mean", WS_UNIT_DEGREE, NULL, "Clearance, mean", "" },
  { "side_clearance_left", WS_UNIT_DEGREE, NULL, "Clearance left", "" },
  { "side_clearance_right", WS_UNIT_DEGREE, NULL, "Clearance right", "" },
  { "corner_radius_left", WS_UNIT_LENGTH, NULL, "Corner radius left", "" },
  { "corner_radius_right", WS_UNIT_LENGTH, NULL, "Corner radius right", "" },
  { "edge_straightness", WS_UNIT_LENGTH, NULL, "Edge straightness", "" },
  { "chip_depth", WS_UNIT_LENGTH, NULL, "Chip depth", "" },
  { "front_relief", WS_UNIT_DEGREE, NULL, "Front relief", "" },
  { "top_rake", WS_UNIT_DEGREE, NULL, "Top rake", "" },
  { "tip_height", WS_UNIT_LENGTH, NULL, "Tip height", "" },
};

static WsQuantity *
quantity_of (const WsResult *result, const char *stem)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (g_str_equal (quantity->info->stem, stem))
      return quantity;
  }
  return NULL;
}

static void
set (WsResult *result, const char *stem, double value)
{
  quantity_of (result, stem)->value = value;
}

/* A good blade, 3 mm wide and 20 mm high. */
static WsResult *
measured (const char *view, gboolean has_scale)
{
  WsResult *result = wsi_result_new (view);
  for (gsize i = 0; i < G_N_ELEMENTS (infos); i++)
  {
    WsQuantity *quantity = wsi_result_add_quantity (result, &infos[i], has_scale);
    quantity->known = TRUE;
    quantity->value = 0.0;
    quantity->U = 0.005;
  }
  set (result, "side_rake", 7.0);
  set (result, "edge_width", 3.0);
  set (result, "side_clearance_mean", 1.5);
  set (result, "side_clearance_left", 1.5);
  set (result, "side_clearance_right", 1.5);
  set (result, "front_relief", 10.0);
  set (result, "top_rake", 5.0);
  set (result, "tip_height", 20.0);
  result->hand = "right";
  return result;
}

static char *
all_texts (const WsResult *result)
{
  GString *all = g_string_new (NULL);
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    g_string_append_printf (all, "%s: %s\n", finding->code, finding->text);
  }
  for (guint i = 0; i < result->advice->len; i++)
    g_string_append_printf (all, "%s\n", (const char *)g_ptr_array_index (result->advice, i));
  return g_string_free (all, FALSE);
}

static char *
advised (WsResult *result, WsAnswer centre_hole)
{
  g_autoptr (WsToolCard) card = card_of (WS_KIND_CUTOFF_BLADE);
  card->part_has_centre_hole = centre_hole;
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  if (g_str_equal (result->view, "blade-plan"))
    wsi_blade_plan_advise (card, result);
  else
    wsi_blade_side_advise (card, result);
  return all_texts (result);
}

static void
test_a_good_blade_is_left_alone (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  g_autofree char *text = advised (result, WS_ANSWER_YES);
  assert_contains (text, "Nothing to grind");
  assert_contains (text, "hand: The right corner leads");
  assert_lacks (text, "setback");
  assert_int_equal (result->cautions->len, 0);
}

/* 3 mm (tan 11 - tan 7), by hand: 0.21479 mm, so 0.22 at the lagging corner, the tip where it was.
 */
static void
test_too_little_rake_for_a_part_without_a_hole (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  g_autofree char *text = advised (result, WS_ANSWER_NO);
  assert_contains (text, "side-rake-small");
  assert_contains (text, "a tip left on it");
  assert_contains (text, "11.0° of side rake");
  assert_contains (text, "0.22 mm at the lagging (left) corner and nothing at the leading (right)");
  assert_contains (text, "setting length needn't change");
}

/* 3 mm (tan 12 - tan 7) comes off the leading corner, and the tip moves by it: 0.26931 mm. */
static void
test_too_much_rake_moves_the_tip (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  set (result, "side_rake", 12.0);
  result->hand = "left";
  g_autofree char *text = advised (result, WS_ANSWER_YES);
  assert_contains (text, "side-rake-large");
  assert_contains (text, "pushed off early");
  assert_contains (text, "nothing at the lagging (right) corner and 0.27 mm at the leading (left)");
  assert_contains (text, "setback: Ground so, the tip lies 0.27 mm farther back along the blade");
  assert_contains (text, "set the blade out by 0.27 mm again");
}

static void
test_damage_is_ground_out (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  set (result, "chip_depth", 0.1);
  set (result, "corner_radius_left", 0.3);
  set (result, "side_clearance_right", -0.2);
  wsi_quantity_set_place (quantity_of (result, "chip_depth"), (WsPoint){ 10, 30 });
  g_autofree char *text = advised (result, WS_ANSWER_YES);
  assert_contains (text, "chip: The edge has a chip");
  assert_contains (text, "corner-worn: The left corner");
  assert_contains (text, "side-rubs: The right side has no clearance");
  assert_contains (text, "back at the angle it has");
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (g_str_equal (finding->code, "chip"))
      assert_near (finding->where_px.y, 30.0, 0.0);
  }
}

static WsQuantity *
at (WsResult *result, const char *stem, double x, double y)
{
  WsQuantity *quantity = quantity_of (result, stem);
  wsi_quantity_set_place (quantity, (WsPoint){ x, y });
  return quantity;
}

/* Taken with the edge down, the picture shows the left corner on the right. */
static void
test_sides_are_told_as_the_picture_shows_them (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  set (result, "chip_depth", 0.1);
  at (result, "corner_radius_left", 900.0, 700.0);
  at (result, "corner_radius_right", 300.0, 650.0);
  g_autofree char *text = advised (result, WS_ANSWER_YES);
  assert_contains (text,
                   "the left corner is on the right in the picture, the right one on the left");
  assert_contains (text, "along the edge toward the leading corner");
}

/* A chip of 0.5 mm off sides that fall away by 3 degrees each: 2 x 0.51 tan 3 of the width is lost.
 */
static void
test_a_blade_that_gets_too_narrow_is_set_aside (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  set (result, "chip_depth", 0.5);
  set (result, "side_clearance_left", 3.0);
  set (result, "side_clearance_right", 3.0);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  card->part_has_centre_hole = WS_ANSWER_YES;
  const WsLimit limit = { g_strdup ("edge_width_mm"), 2.96, INFINITY };
  g_array_append_val (card->limits, limit);
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_blade_plan_advise (card, result);
  g_autofree char *text = all_texts (result);
  assert_int_equal (ws_result_action (result), WS_ACTION_SET_ASIDE);
  assert_contains (text, "its edge would be 2.95 mm wide, and at least 2.96 mm is needed");
  assert_lacks (text, "Grind the front");
  assert_int_equal (result->grinding->len, 0);
}

static void
test_sides_without_clearance_are_no_work_for_the_front (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  set (result, "side_clearance_right", 0.2);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  card->part_has_centre_hole = WS_ANSWER_YES;
  const WsLimit limit = { g_strdup ("side_clearance_right_deg"), 0.5, 3.0 };
  g_array_append_val (card->limits, limit);
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_blade_plan_advise (card, result);
  assert_int_equal (ws_result_action (result), WS_ACTION_SET_ASIDE);
  assert_contains (result->set_aside, "too little clearance");
}

/* A fault alone is enough, the rake being as it should. */
static void
test_any_damage_is_ground_out (void **state)
{
  (void)state;
  static const char *const stems[] = { "chip_depth", "edge_straightness", "corner_radius_left",
                                       "corner_radius_right" };
  for (gsize i = 0; i < G_N_ELEMENTS (stems); i++)
  {
    g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
    set (result, stems[i], 0.3);
    g_autofree char *text = advised (result, WS_ANSWER_YES);
    assert_contains (text, "back at the angle it has");
  }
}

static void
test_without_a_scale_nothing_is_in_mm (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", FALSE);
  set (result, "edge_width", 500.0);
  g_autofree char *text = advised (result, WS_ANSWER_NO);
  assert_contains (text, "no-scale");
  /* 500 px (tan 11 - tan 7), by hand: 35.798. */
  assert_contains (text, "35.8 px at the lagging");
}

/* Where the picture can't tell the sides apart the mean counts: 0.305 cot 40.75 and 0.305 cot 41.5,
 * by hand 0.354 and 0.345 mm. */
static void
test_the_mean_clearance_counts_for_either_side (void **state)
{
  (void)state;
  for (gboolean has_mean = FALSE; has_mean <= TRUE; has_mean++)
  {
    g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
    set (result, "corner_radius_right", 0.3);
    wsi_quantity_forget (quantity_of (result, "side_clearance_left"));
    wsi_quantity_forget (quantity_of (result, "side_clearance_right"));
    if (!has_mean)
      wsi_quantity_forget (quantity_of (result, "side_clearance_mean"));
    g_autofree char *text = advised (result, WS_ANSWER_YES);
    assert_contains (text, has_mean ? "0.36 mm at the leading" : "0.35 mm at the leading");
  }
}

/* 500 px are the card's 3 mm: 0.2148 mm, told no less. */
static void
test_the_cards_width_tells_mm (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", FALSE);
  set (result, "edge_width", 500.0);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  card->id = g_strdup ("T");
  card->width_mm = 3.0;
  card->part_has_centre_hole = WS_ANSWER_NO;
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_blade_plan_advise (card, result);
  g_autofree char *text = all_texts (result);
  assert_contains (text, "in mm by the card's width");
  assert_contains (text, "0.22 mm at the lagging");
  assert_lacks (text, " px");
}

/* 20 mm (tan 10 - tan 5), by hand: 1.7768 mm at the foot; the tip stays. */
static void
test_a_rubbing_heel (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-side", TRUE);
  set (result, "front_relief", 5.0);
  g_autofree char *text = advised (result, WS_ANSWER_UNKNOWN);
  assert_contains (text, "front-relief-small");
  assert_contains (text, "heel");
  assert_contains (text, "take off 1.78 mm at its foot");
  assert_contains (text, "setting length needn't change");
}

/* 20 mm (tan 15 - tan 10), by hand: 1.8324 mm at the edge; under 5 degrees of top rake the tip
 * then is 0.1603 mm lower. */
static void
test_a_weak_edge (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-side", TRUE);
  set (result, "front_relief", 15.0);
  g_autofree char *text = advised (result, WS_ANSWER_UNKNOWN);
  assert_contains (text, "front-relief-large");
  assert_contains (text, "take off 1.84 mm at the edge");
  assert_contains (text, "setback");
  assert_contains (text, "0.16 mm lower");
  assert_contains (text, "a pip of 0.32 mm");
  assert_int_equal (result->work, WS_WORK_GRIND | WS_WORK_MOUNT);
}

/* The tip height on the card can't be judged, and no amounts follow. */
static void
test_without_a_base (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-side", TRUE);
  set (result, "front_relief", 5.0);
  for (guint i = 0; i < result->quantities->len; i++)
  {
    WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    quantity->known = !g_str_equal (quantity->info->stem, "tip_height");
  }
  g_autofree char *text = advised (result, WS_ANSWER_UNKNOWN);
  assert_contains (text, "no-base: The base isn't in the picture");
  assert_contains (text, "front-relief-small");
  assert_contains (text, "Grind the front to 10.0° of relief. How much");
  assert_lacks (text, "take off");
}

static void
test_near_a_limit_nothing_is_claimed (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured ("blade-plan", TRUE);
  set (result, "side_rake", 8.001);
  g_autofree char *text = advised (result, WS_ANSWER_YES);
  assert_lacks (text, "side-rake");
  assert_contains (text, "too near a limit");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_good_blade_is_left_alone),
    cmocka_unit_test (test_too_little_rake_for_a_part_without_a_hole),
    cmocka_unit_test (test_too_much_rake_moves_the_tip),
    cmocka_unit_test (test_damage_is_ground_out),
    cmocka_unit_test (test_any_damage_is_ground_out),
    cmocka_unit_test (test_sides_are_told_as_the_picture_shows_them),
    cmocka_unit_test (test_a_blade_that_gets_too_narrow_is_set_aside),
    cmocka_unit_test (test_sides_without_clearance_are_no_work_for_the_front),
    cmocka_unit_test (test_without_a_scale_nothing_is_in_mm),
    cmocka_unit_test (test_the_mean_clearance_counts_for_either_side),
    cmocka_unit_test (test_the_cards_width_tells_mm),
    cmocka_unit_test (test_a_rubbing_heel),
    cmocka_unit_test (test_a_weak_edge),
    cmocka_unit_test (test_without_a_base),
    cmocka_unit_test (test_near_a_limit_nothing_is_claimed),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
