/*
 * Drills are made up from the lip lines z = H + (R - r) cot k, so that what the advice
 * says can be held against the same drill ground by it.
 */
#include "base/testing.h"

#include <whetsight/judge.h>

#include "base/geometry.h"
#include "result/build.h"
#include "tool/drill/side/advice.h"

static const WsQuantityInfo infos[] = {
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" },
  { "half_angle_a", WS_UNIT_DEGREE, NULL, "Half angle a", "" },
  { "half_angle_b", WS_UNIT_DEGREE, NULL, "Half angle b", "" },
  { "half_angle_difference", WS_UNIT_DEGREE, NULL, "Half angle difference", "" },
  { "lip_length_difference", WS_UNIT_LENGTH, NULL, "Lip length difference", "" },
  { "lip_height_difference", WS_UNIT_LENGTH, NULL, "Lip height difference", "" },
  { "point_offset", WS_UNIT_LENGTH, NULL, "Point offset", "" },
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "" },
  { "corner_wear_a", WS_UNIT_LENGTH, NULL, "Corner wear a", "" },
  { "corner_wear_b", WS_UNIT_LENGTH, NULL, "Corner wear b", "" },
  { "lip_straightness_a", WS_UNIT_LENGTH, NULL, "Lip straightness a", "" },
  { "chip_depth_a", WS_UNIT_LENGTH, NULL, "Chip depth a", "" },
  { "chip_depth_b", WS_UNIT_LENGTH, NULL, "Chip depth b", "" },
};

/* In that table. */
#define WEAR_A 8
#define CHIP_A 11

/* A card that names its tool but limits nothing itself.  Free with ws_tool_card_free(). */
static WsToolCard *
card_of (WsToolKind kind)
{
  WsToolCard *card = ws_tool_card_new (kind);
  card->id = g_strdup ("QT-1");
  return card;
}

/* A drill as ground: half angles, corner a above corner b. */
typedef struct
{
  double diameter, half_angle_a, half_angle_b, height;
  double chip_a, corner_b;
  double U_angle, U_length;
  double mm_per_px; /* 0: lengths are in px, 100 to the mm */
} Ground;

static const Ground good = { 10.0, 59.0, 59.0, 0.0, 0.0, 0.04, 0.02, 0.003, 0.01 };

static void
set (WsResult *result, gsize index, double value, double U)
{
  WsQuantity *quantity = g_ptr_array_index (result->quantities, index);
  quantity->known = TRUE;
  quantity->value = value;
  wsi_quantity_add_line (quantity, "edge noise", WS_DISTRIBUTION_NORMAL, 0.5 * U, 1.0);
  wsi_quantity_combine (quantity);
}

static WsResult *
measure (const Ground *drill)
{
  WsResult *result = wsi_result_new ("drill-side");
  for (gsize i = 0; i < G_N_ELEMENTS (infos); i++)
    wsi_result_add_quantity (result, &infos[i], drill->mm_per_px > 0.0);

  double px = drill->mm_per_px > 0.0 ? 1.0 : 100.0;
  double a = wsi_radians (drill->half_angle_a), b = wsi_radians (drill->half_angle_b);
  double R = 0.5 * drill->diameter;
  double tops = drill->height + R / tan (a) - R / tan (b);
  double offset = -tops / (1.0 / tan (a) + 1.0 / tan (b));
  double values[] = {
    drill->half_angle_a + drill->half_angle_b,
    drill->half_angle_a,
    drill->half_angle_b,
    drill->half_angle_a - drill->half_angle_b,
    px * ((R + offset) / sin (a) - (R - offset) / sin (b)),
    px * drill->height,
    px * offset,
    px * drill->diameter,
    px * 0.04,
    px * drill->corner_b,
    px * 0.004,
    px * drill->chip_a,
    0.0,
  };
  for (gsize i = 0; i < G_N_ELEMENTS (infos); i++)
    set (result, i, values[i],
         infos[i].unit == WS_UNIT_DEGREE ? drill->U_angle : px * drill->U_length);
  return result;
}

static WsResult *
judge (const Ground *drill, const WsToolCard *card)
{
  WsResult *result = measure (drill);
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_drill_side_advise (card, result);
  return result;
}

static WsResult *
judge_twist_drill (const Ground *drill)
{
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  return judge (drill, card);
}

static const WsFinding *
finding (const WsResult *result, const char *code)
{
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *candidate = g_ptr_array_index (result->findings, i);
    if (g_str_equal (candidate->code, code))
      return candidate;
  }
  return NULL;
}

/* All advice in one text.  Free with g_free(). */
static char *
advice (const WsResult *result)
{
  GString *text = g_string_new (NULL);
  for (guint i = 0; i < result->advice->len; i++)
    g_string_append_printf (text, "%s\n", (const char *)g_ptr_array_index (result->advice, i));
  return g_string_free (text, FALSE);
}

static char *
findings (const WsResult *result)
{
  GString *text = g_string_new (NULL);
  for (guint i = 0; i < result->findings->len; i++)
    g_string_append_printf (text, "%s\n",
                            ((const WsFinding *)g_ptr_array_index (result->findings, i))->text);
  return g_string_free (text, FALSE);
}

static void
test_a_good_drill_is_left_alone (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = judge_twist_drill (&good);
  g_autofree char *text = advice (result);
  assert_int_equal (result->verdict, WS_VERDICT_ACCEPT);
  assert_non_null (finding (result, "lips-equal"));
  assert_null (finding (result, "lip-longer"));
  assert_null (finding (result, "point-off-centre"));
  assert_string_equal (text, "Nothing to grind: the limits are met.\n");
  assert_int_equal (result->cautions->len, 0);
}

/* Corner b 0.2 mm above corner a at equal angles: e = (h / 2) tan 59 deg = 0.1664 mm toward b,
 * hole at most D + 2 e = 10.333 mm, and b is the shorter lip and the one to grind. */
static void
test_the_high_lip_is_ground (void **state)
{
  (void)state;
  Ground drill = good;
  drill.height = -0.2;
  g_autoptr (WsResult) result = judge_twist_drill (&drill);
  g_autofree char *text = advice (result);
  assert_int_equal (result->verdict, WS_VERDICT_REJECT);
  assert_contains (finding (result, "lip-longer")->text, "Lip a is longer than lip b by 0.388");
  assert_contains (finding (result, "lip-higher")->text, "Lip b stands ahead");
  assert_contains (finding (result, "point-off-centre")->text, "toward lip b");
  assert_contains (finding (result, "point-off-centre")->text, "at most 10.333 mm");
  assert_contains (finding (result, "point-off-centre")->text, "bound");
  assert_contains (text, "Leave lip a as it is.");
  assert_contains (text, "Grind lip b back by 0.200 mm along the drill's axis (0.171 mm square");
  assert_contains (text, "shorter");
}

static void
test_the_other_way_round (void **state)
{
  (void)state;
  Ground drill = good;
  drill.height = 0.2;
  g_autoptr (WsResult) result = judge_twist_drill (&drill);
  g_autofree char *text = advice (result);
  assert_contains (finding (result, "lip-longer")->text, "Lip b is longer than lip a");
  assert_contains (text, "Leave lip b as it is.");
  assert_contains (text, "Grind lip a back by 0.200 mm");
}

/* Lip a 3 deg flatter with the corners level: its centre is low, so a keeps its place there,
 * and either lip can be matched only by taking metal off. */
static void
test_unequal_angles (void **state)
{
  (void)state;
  Ground drill = good;
  drill.half_angle_a = 60.5;
  drill.half_angle_b = 57.5;
  g_autoptr (WsResult) result = judge_twist_drill (&drill);
  g_autofree char *text = advice (result);
  assert_contains (finding (result, "angles-unequal")->text,
                   "Lip a is flatter than lip b by 3.000");
  assert_contains (text, "Leave lip a as it is.");
  /* b to 60.5 deg: R (cot 57.5 - cot 60.5) = 0.3562 mm at the centre, nothing at the corner; told
   * no less. */
  assert_contains (text, "Grind lip b 3.0° flatter, to 60.5° from the axis. Along the axis that "
                         "takes off nothing at the outer corner and 0.357 mm at the centre.");
}

/* Ground by the advice, the drill must come out equal: a property, over many drills. */
static void
test_grinding_by_the_advice_makes_lips_equal (void **state)
{
  (void)state;
  for (int i = 0; i < 60; i++)
  {
    Ground drill = good;
    drill.half_angle_a = 57.0 + 0.31 * (i % 13);
    drill.half_angle_b = 61.0 - 0.37 * (i % 11);
    drill.height = 0.05 * (i % 9 - 4);
    drill.U_length = 1e-4;
    g_autoptr (WsResult) result = judge_twist_drill (&drill);
    double corner[2] = { drill.height, 0.0 };
    double half[2] = { drill.half_angle_a, drill.half_angle_b };
    for (guint line = 0; line < result->advice->len; line++)
    {
      const char *text = g_ptr_array_index (result->advice, line);
      char lip;
      double turn, to, take;
      char nothing[8] = "", way[8];
      if (sscanf (text, "Grind lip %c back by %lf mm", &lip, &take) == 2)
        corner[lip - 'a'] -= take;
      else if (sscanf (
                 text,
                 "Grind lip %c %lf° %7[a-z], to %lf° from the axis. Along the axis that takes off "
                 "%lf mm",
                 &lip, &turn, way, &to, &take) == 5)
      {
        corner[lip - 'a'] -= take;
        half[lip - 'a'] = to;
      }
      else if (sscanf (
                 text,
                 "Grind lip %c %lf° %7[a-z], to %lf° from the axis. Along the axis that takes off "
                 "%7s",
                 &lip, &turn, way, &to, nothing) == 5)
        half[lip - 'a'] = to;
    }
    if (result->verdict == WS_VERDICT_REJECT)
      assert_near (corner[0], corner[1], 0.0015);
    assert_near (half[0], half[1],
                 fabs (drill.half_angle_a - drill.half_angle_b) < 1.02 ? 1.1 : 0.11);
  }
}

static void
test_point_angle_off (void **state)
{
  (void)state;
  Ground drill = good;
  drill.half_angle_a = drill.half_angle_b = 66.0;
  g_autoptr (WsResult) flat = judge_twist_drill (&drill);
  g_autofree char *text = advice (flat);
  assert_contains (finding (flat, "point-flat")->text, "too flat: 132.000");
  assert_contains (text, "Grind lip a 7.0° sharper, to 59.0°");
  assert_contains (text, "Grind lip b 7.0° sharper, to 59.0°");

  drill.half_angle_a = drill.half_angle_b = 55.0;
  g_autoptr (WsResult) sharp = judge_twist_drill (&drill);
  assert_contains (finding (sharp, "point-sharp")->text, "at least 113.0°");
}

/* 0.2 mm square to the lip is 0.2 / sin 59 deg = 0.233 mm along the axis, off both lips. */
static void
test_a_chip_comes_off_both_lips (void **state)
{
  (void)state;
  Ground drill = good;
  drill.chip_a = 0.2;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measure (&drill);
  WsQuantity *depth = g_ptr_array_index (result->quantities, CHIP_A);
  wsi_quantity_set_place (depth, (WsPoint){ 11.0, 25.0 });
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_drill_side_advise (card, result);

  const WsFinding *chip = finding (result, "chip");
  g_autofree char *text = advice (result);
  assert_true (chip->has_place);
  assert_near (chip->where_px.y, 25.0, 0.0);
  assert_contains (chip->text, "Lip a has a chip, 0.2000 ± 0.0030 mm deep");
  assert_contains (text, "Grind lip a back by 0.237 mm");
  assert_contains (text, "Grind lip b back by 0.237 mm");
  /* (0.2 + 0.003) / sin 59 deg, U being on the side of more damage. */
  assert_contains (text, "0.237 mm along the axis cleans up the damage");
}

/* c cot (k / 4) = 1.1506 mm with c = 0.3 mm and its U of 0.003. */
static void
test_a_worn_corner (void **state)
{
  (void)state;
  Ground drill = good;
  drill.corner_b = 0.3;
  g_autoptr (WsResult) result = judge_twist_drill (&drill);
  g_autofree char *text = advice (result);
  assert_contains (finding (result, "corner-worn")->text, "lip b is worn");
  assert_contains (finding (result, "corner-worn")->text, "binds");
  assert_contains (text, "Grind lip b back by 1.151 mm");

  drill.corner_b = 0.058;
  g_autoptr (WsResult) fresh = judge_twist_drill (&drill);
  assert_null (finding (fresh, "corner-worn"));
}

static void
test_nothing_is_claimed_within_U (void **state)
{
  (void)state;
  Ground drill = good;
  drill.height = -0.2;
  drill.half_angle_a = 59.5;
  drill.U_length = 0.8;
  drill.U_angle = 1.0;
  g_autoptr (WsResult) result = judge_twist_drill (&drill);
  g_autofree char *found = findings (result);
  g_autofree char *text = advice (result);
  assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
  assert_lacks (found, "longer");
  assert_lacks (found, "off the axis");
  assert_contains (found, "can't be told from equal with this picture");
  assert_lacks (text, "Grind");
  assert_contains (text, "Measure again");
}

static void
test_remedy_follows_the_largest_contribution (void **state)
{
  (void)state;
  static const struct
  {
    const char *line, *remedy;
  } cases[] = { { "scale", "the scale known better" },
                { "alignment: lips turned", "square to the camera" },
                { "form", "larger and sharper" } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
    g_autoptr (WsResult) result = measure (&good);
    WsQuantity *angle = g_ptr_array_index (result->quantities, 0);
    wsi_quantity_add_line (angle, cases[i].line, WS_DISTRIBUTION_NORMAL, 4.0, 1.0);
    wsi_quantity_combine (angle);
    ws_limits_apply (result, card);
    ws_verdicts_apply (result);
    wsi_drill_side_advise (card, result);
    g_autofree char *text = advice (result);
    assert_contains (text, cases[i].remedy);
  }
}

static void
test_without_a_scale_there_are_no_mm (void **state)
{
  (void)state;
  Ground drill = good;
  drill.height = -0.2;
  drill.chip_a = 0.2;
  drill.mm_per_px = 0.0;
  g_autoptr (WsResult) result = judge_twist_drill (&drill);
  g_autofree char *found = findings (result);
  g_autofree char *text = advice (result);
  assert_non_null (finding (result, "no-scale"));
  assert_lacks (found, " mm");
  assert_lacks (text, " mm");
  assert_contains (found, "off the axis by 1.664 ± 0.030 % of the diameter");
  assert_contains (found, "at most 3.33 % of the diameter");
  /* The chip: 2.03 / sin 59 deg = 2.37 % off the chipped lip, and 2 % more off the high one. */
  assert_contains (text, "Grind lip a back by 2.37 % of the diameter");
  assert_contains (text, "Grind lip b back by 4.37 % of the diameter");
}

/* 13 mm, 58.95 and 58.19 degrees, lip b's corner 0.0652 mm high: level corners alone would leave
 * the point 0.098 mm off, and 0.106 mm are allowed, U 0.011.  So the angles are made equal, too. */
static void
test_angles_that_would_leave_an_offset_are_made_equal (void **state)
{
  (void)state;
  const Ground drill = { 13.0, 58.954, 58.186, -0.0652, 0.0, 0.06, 0.015, 0.011, 0.01 };
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  card->diameter_mm = 13.0;
  const WsLimit offset = { g_strdup ("point_offset_mm"), -0.1057, 0.1057 };
  const WsLimit point = { g_strdup ("point_angle_deg"), 115.0, 121.0 };
  g_array_append_val (card->limits, offset);
  g_array_append_val (card->limits, point);
  g_autoptr (WsResult) result = judge (&drill, card);
  g_autofree char *text = advice (result);
  assert_int_equal (((WsQuantity *)g_ptr_array_index (result->quantities, 3))->verdict,
                    WS_VERDICT_ACCEPT);
  assert_contains (text, "Grind lip b 0.8° flatter, to 59.0° from the axis");
}

/* Taken with the point down, the picture shows lip a on the right. */
static void
test_lips_are_told_as_the_picture_shows_them (void **state)
{
  (void)state;
  Ground drill = good;
  drill.chip_a = 0.2;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measure (&drill);
  wsi_quantity_set_place (g_ptr_array_index (result->quantities, WEAR_A), (WsPoint){ 900, 500 });
  wsi_quantity_set_place (g_ptr_array_index (result->quantities, WEAR_A + 1),
                          (WsPoint){ 400, 480 });
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_drill_side_advise (card, result);
  g_autofree char *text = advice (result);
  assert_contains (text, "The lip marked a is on the right in the picture, the lip marked b on the "
                         "left.");
  assert_lacks (text, "point up");
}

/* Without a scale the card's diameter tells mm: 20 px of 1000 px are 0.2 mm of 10 mm. */
static void
test_the_cards_diameter_tells_mm (void **state)
{
  (void)state;
  Ground drill = good;
  drill.chip_a = 0.2;
  drill.mm_per_px = 0.0;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->diameter_mm = 10.0;
  g_autoptr (WsResult) result = judge (&drill, card);
  g_autofree char *found = findings (result);
  g_autofree char *text = advice (result);
  assert_contains (found, "Lip a has a chip, 0.2000 ± 0.0030 mm deep");
  assert_contains (found, "in mm by the card's diameter");
  assert_contains (text, "Grind lip a back by 0.237 mm");
  assert_lacks (text, "of the diameter");
}

static void
test_unknown_quantities_are_survived (void **state)
{
  (void)state;
  Ground drill = good;
  drill.height = -0.2;
  for (gsize unknown = 0; unknown <= G_N_ELEMENTS (infos); unknown++)
  {
    g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
    g_autoptr (WsResult) result = measure (&drill);
    for (gsize i = 0; i < G_N_ELEMENTS (infos); i++)
      if (i == unknown || unknown == G_N_ELEMENTS (infos))
        ((WsQuantity *)g_ptr_array_index (result->quantities, i))->known = FALSE;
    ws_limits_apply (result, card);
    ws_verdicts_apply (result);
    wsi_drill_side_advise (card, result);
    g_autofree char *found = findings (result), *text = advice (result);
    assert_lacks (found, "nan");
    assert_lacks (text, "nan");
  }
}

/* Where nothing may be accepted, nothing is said to be near a limit, or in order, for that. */
static void
test_nothing_is_praised_that_is_withheld (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measure (&good);
  wsi_result_hold (result, WS_HOLD_ACCEPT, "untrusted", "Why.");
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  wsi_drill_side_advise (card, result);
  g_autofree char *text = advice (result);
  assert_int_equal (result->verdict, WS_VERDICT_UNDECIDED);
  assert_lacks (text, "near a limit");
  assert_lacks (text, "Nothing to grind");
}

/* Only the card knows which angle a drill should have; what keeps its angle can be told. */
static void
test_without_a_card_no_angle_is_ground (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  Ground drill = good;
  drill.half_angle_a = 62.0;
  g_autoptr (WsResult) unequal = judge (&drill, card);
  g_autofree char *turned = advice (unequal);
  assert_int_equal (unequal->verdict, WS_VERDICT_REJECT);
  assert_contains (turned, "--tool");
  assert_lacks (turned, "Grind");
  drill = good;
  drill.chip_a = 0.3;
  g_autoptr (WsResult) chipped = judge (&drill, card);
  g_autofree char *back = advice (chipped);
  assert_contains (back, "Grind lip a back");
  assert_contains (back, "Keep its angle");
}

static void
test_a_spot_drill_drills_no_hole (void **state)
{
  (void)state;
  Ground drill = good;
  drill.half_angle_a = drill.half_angle_b = 45.0;
  drill.height = -0.3;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_SPOT_DRILL);
  g_autoptr (WsResult) result = judge (&drill, card);
  g_autofree char *found = findings (result);
  assert_contains (found, "start the hole off its place");
  assert_lacks (found, "oversize");
}

static void
test_a_wrong_diameter_cannot_be_ground (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  card->diameter_mm = 10.5;
  g_autoptr (WsResult) result = judge (&good, card);
  g_autofree char *text = advice (result);
  assert_contains (finding (result, "diameter-under")->text, "can't cure");
  assert_contains (text, "Set it aside.");
  assert_contains (result->set_aside, "no grinding of the point");
  assert_int_equal (ws_result_action (result), WS_ACTION_SET_ASIDE);
}

/* Unequal lips of a drill that is lost anyway are no work for anybody. */
static void
test_a_lost_drill_is_not_ground (void **state)
{
  (void)state;
  Ground drill = good;
  drill.half_angle_a = 61.0;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->diameter_mm = 10.5;
  g_autoptr (WsResult) result = judge (&drill, card);
  g_autofree char *text = advice (result);
  assert_lacks (text, "Grind");
  assert_int_equal (result->cautions->len, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_good_drill_is_left_alone),
    cmocka_unit_test (test_the_high_lip_is_ground),
    cmocka_unit_test (test_the_other_way_round),
    cmocka_unit_test (test_unequal_angles),
    cmocka_unit_test (test_grinding_by_the_advice_makes_lips_equal),
    cmocka_unit_test (test_point_angle_off),
    cmocka_unit_test (test_a_chip_comes_off_both_lips),
    cmocka_unit_test (test_a_worn_corner),
    cmocka_unit_test (test_nothing_is_claimed_within_U),
    cmocka_unit_test (test_remedy_follows_the_largest_contribution),
    cmocka_unit_test (test_without_a_scale_there_are_no_mm),
    cmocka_unit_test (test_angles_that_would_leave_an_offset_are_made_equal),
    cmocka_unit_test (test_lips_are_told_as_the_picture_shows_them),
    cmocka_unit_test (test_the_cards_diameter_tells_mm),
    cmocka_unit_test (test_unknown_quantities_are_survived),
    cmocka_unit_test (test_nothing_is_praised_that_is_withheld),
    cmocka_unit_test (test_without_a_card_no_angle_is_ground),
    cmocka_unit_test (test_a_spot_drill_drills_no_hole),
    cmocka_unit_test (test_a_wrong_diameter_cannot_be_ground),
    cmocka_unit_test (test_a_lost_drill_is_not_ground),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
