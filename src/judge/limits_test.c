#include "base/testing.h"

#include <whetsight/judge.h>

#include "judge/limits.h"
#include "result/build.h"

static const WsQuantityInfo infos[] = {
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" },
  { "half_angle_difference", WS_UNIT_DEGREE, NULL, "Half angle difference", "" },
  { "lip_height_difference", WS_UNIT_LENGTH, NULL, "Lip height difference", "" },
  { "point_offset", WS_UNIT_LENGTH, NULL, "Point offset", "" },
  { "lip_length_difference", WS_UNIT_LENGTH, NULL, "Lip length difference", "" },
  { "diameter", WS_UNIT_LENGTH, "DC", "Diameter", "" },
  { "corner_wear_a", WS_UNIT_LENGTH, NULL, "Corner wear a", "" },
  { "chip_depth_b", WS_UNIT_LENGTH, NULL, "Chip depth b", "" },
  { "chisel_flat", WS_UNIT_LENGTH, NULL, "Chisel flat", "" },
  { "side_rake", WS_UNIT_DEGREE, NULL, "Side rake", "" },
  { "front_relief", WS_UNIT_DEGREE, NULL, "Front relief", "" },
  { "chip_depth", WS_UNIT_LENGTH, NULL, "Chip depth", "" },
  { "corner_wear_b", WS_UNIT_LENGTH, NULL, "Corner wear b", "" },
  { "chip_depth_a", WS_UNIT_LENGTH, NULL, "Chip depth a", "" },
  { "lip_straightness_a", WS_UNIT_LENGTH, NULL, "Lip straightness a", "" },
  { "lip_straightness_b", WS_UNIT_LENGTH, NULL, "Lip straightness b", "" },
  { "corner_radius_left", WS_UNIT_LENGTH, NULL, "Corner radius left", "" },
  { "corner_radius_right", WS_UNIT_LENGTH, NULL, "Corner radius right", "" },
  { "edge_straightness", WS_UNIT_LENGTH, NULL, "Edge straightness", "" },
  { "chisel_edge_angle", WS_UNIT_DEGREE, NULL, "Chisel edge angle", "" },
  { "lip_relief", WS_UNIT_DEGREE, NULL, "Lip relief", "" },
  { "lip_relief_a", WS_UNIT_DEGREE, NULL, "Lip relief a", "" },
  { "lip_relief_b", WS_UNIT_DEGREE, NULL, "Lip relief b", "" },
  { "lip_parallelism", WS_UNIT_DEGREE, NULL, "Lip parallelism", "" },
  { "web_centrality", WS_UNIT_LENGTH, NULL, "Web centrality", "" },
  { "wear_land_mean", WS_UNIT_LENGTH, NULL, "Wear land mean", "" },
  { "wear_land_max", WS_UNIT_LENGTH, NULL, "Wear land max", "" },
  { "burn_depth_max", WS_UNIT_LENGTH, NULL, "Burn depth", "" },
};

static WsResult *
measured (double diameter, gboolean has_scale)
{
  WsResult *result = wsi_result_new ("drill-side");
  for (gsize i = 0; i < G_N_ELEMENTS (infos); i++)
  {
    WsQuantity *quantity = wsi_result_add_quantity (result, &infos[i], has_scale);
    quantity->known = TRUE;
    quantity->value = g_str_equal (infos[i].stem, "diameter") ? diameter : 0.0;
    quantity->U = 0.001;
  }
  return result;
}

/* A card that names its tool but limits nothing itself.  Free with ws_tool_card_free(). */
static WsToolCard *
card_of (WsToolKind kind)
{
  WsToolCard *card = ws_tool_card_new (kind);
  card->id = g_strdup ("QT-1");
  return card;
}

static void
add_limit (WsToolCard *card, const char *name, double lower, double upper)
{
  WsLimit limit = { g_strdup (name), lower, upper };
  g_array_append_val (card->limits, limit);
}

static void
check (const WsResult *result, const char *stem, double lower, double upper, const char *source)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  if (isfinite (lower) || isfinite (quantity->lower))
    assert_near (quantity->lower, lower, 1e-9);
  if (isfinite (upper) || isfinite (quantity->upper))
    assert_near (quantity->upper, upper, 1e-9);
  if (source == NULL)
    assert_null (quantity->limit_source);
  else
    assert_contains (quantity->limit_source, source);
}

/* 118 +-5 deg to 1/2 inch, +-3 above; lip height 0.002 to 0.006 in: both from memory. */
static void
test_built_in_by_size (void **state)
{
  (void)state;
  static const struct
  {
    double diameter, angle, height;
  } sizes[] = { { 3.0, 5.0, 0.0508 },    { 3.175, 5.0, 0.0508 }, { 6.0, 5.0, 0.0762 },
                { 12.7, 5.0, 0.1016 },   { 13.0, 3.0, 0.1270 },  { 25.4, 3.0, 0.1270 },
                { 25.401, 3.0, 0.1524 }, { 80.0, 3.0, 0.1524 } };
  for (gsize i = 0; i < G_N_ELEMENTS (sizes); i++)
  {
    g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
    g_autoptr (WsResult) result = measured (sizes[i].diameter, TRUE);
    ws_limits_apply (result, card);
    check (result, "point_angle", 118.0 - sizes[i].angle, 118.0 + sizes[i].angle, "memory");
    check (result, "lip_height_difference", -sizes[i].height, sizes[i].height, "memory");
  }
}

/* h = 2 e cot 59 deg; lengths differ by 2 e / sin 59 deg. */
static void
test_offset_and_length_follow_from_height (void **state)
{
  (void)state;
  const double k = 59.0 * G_PI / 180.0;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (10.0, TRUE);
  ws_limits_apply (result, card);
  double h = ws_result_quantity (result, "lip_height_difference")->upper;
  double e = ws_result_quantity (result, "point_offset")->upper;
  double l = ws_result_quantity (result, "lip_length_difference")->upper;
  assert_near (h, 2.0 * e / tan (k), 1e-5);
  assert_near (l, 2.0 * e / sin (k), 1e-5);
}

/* h8 as a catalogue page quotes DIN 1414 / ISO 286: 3 to 6 mm -0.018, 6 to 10 mm -0.022. */
static void
test_diameter_only_about_the_cards (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (6.49, TRUE);
  ws_limits_apply (result, card);
  check (result, "diameter", -INFINITY, INFINITY, NULL);
  card->diameter_mm = 6.5;
  ws_limits_apply (result, card);
  check (result, "diameter", 6.478, 6.5, "h8");
  card->diameter_mm = 6.0;
  ws_limits_apply (result, card);
  check (result, "diameter", 5.982, 6.0, "h8");
}

/* ISO 286-2, deviations of h8 in um by nominal sizes in mm, as a catalogue page quotes them for
 * DIN 1414.  The bands go on to what ISO 286-2 calls over 80 up to 120; a drill over 100 isn't in
 * DIN 1414. */
static void
test_h8_by_every_band (void **state)
{
  (void)state;
  static const struct
  {
    double up_to, um;
  } bands[] = { { 3, 14 },  { 6, 18 },  { 10, 22 }, { 18, 27 },
                { 30, 33 }, { 50, 39 }, { 80, 46 }, { 100, 54 } };
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  double above = 1.0;
  for (gsize i = 0; i < G_N_ELEMENTS (bands); i++)
  {
    const double sizes[] = { above + 0.01, 0.5 * (above + bands[i].up_to), bands[i].up_to };
    for (gsize k = 0; k < G_N_ELEMENTS (sizes); k++)
    {
      g_autoptr (WsResult) result = measured (sizes[k], TRUE);
      card->diameter_mm = sizes[k];
      ws_limits_apply (result, card);
      check (result, "diameter", sizes[k] - 0.001 * bands[i].um, sizes[k], "h8");
    }
    above = bands[i].up_to;
  }
  static const double outside[] = { 1.0, 100.01 };
  for (gsize i = 0; i < G_N_ELEMENTS (outside); i++)
  {
    g_autoptr (WsResult) result = measured (outside[i], TRUE);
    card->diameter_mm = outside[i];
    ws_limits_apply (result, card);
    check (result, "diameter", -INFINITY, INFINITY, NULL);
  }
}

/* Whatever else is built in, its number and what it says of its source: for a drill of 10 mm with a
 * web of nothing, or a blade 2 mm wide.  The wear land is from ISO 3685:1993, 0.3 mm even and 0.6
 * mm localized, as a public page quotes it. */
static void
test_the_other_limits (void **state)
{
  (void)state;
  static const struct
  {
    WsToolKind kind;
    const char *stem;
    double lower, upper;
    const char *source;
  } limits[] = {
    { WS_KIND_TWIST_DRILL, "half_angle_difference", -1, 1, "common practice" },
    { WS_KIND_TWIST_DRILL, "corner_wear_a", -INFINITY, 0.075, "common practice" },
    { WS_KIND_TWIST_DRILL, "corner_wear_b", -INFINITY, 0.075, "common practice" },
    { WS_KIND_TWIST_DRILL, "lip_straightness_a", -INFINITY, 0.1, "common practice" },
    { WS_KIND_TWIST_DRILL, "lip_straightness_b", -INFINITY, 0.1, "common practice" },
    { WS_KIND_TWIST_DRILL, "chip_depth_a", -INFINITY, 0.1, "common practice" },
    { WS_KIND_TWIST_DRILL, "chip_depth_b", -INFINITY, 0.1, "common practice" },
    { WS_KIND_TWIST_DRILL, "chisel_edge_angle", 115, 135, "memory" },
    { WS_KIND_TWIST_DRILL, "lip_relief", 7, 24, "common practice" },
    { WS_KIND_TWIST_DRILL, "lip_relief_a", 7, 24, "common practice" },
    { WS_KIND_TWIST_DRILL, "lip_relief_b", 7, 24, "common practice" },
    { WS_KIND_TWIST_DRILL, "lip_parallelism", -INFINITY, 2, "common practice" },
    { WS_KIND_TWIST_DRILL, "web_centrality", -INFINITY, 0.15, "memory" },
    { WS_KIND_TWIST_DRILL, "wear_land_mean", -INFINITY, 0.3, "ISO 3685" },
    { WS_KIND_TWIST_DRILL, "wear_land_max", -INFINITY, 0.6, "ISO 3685" },
    { WS_KIND_TWIST_DRILL, "burn_depth_max", -INFINITY, 0.1, "common practice" },
    { WS_KIND_TWIST_DRILL, "edge_straightness", -INFINITY, INFINITY, NULL },
    { WS_KIND_SPOT_DRILL, "chip_depth_a", -INFINITY, 0.1, "common practice" },
    { WS_KIND_SPOT_DRILL, "lip_relief", -INFINITY, INFINITY, NULL },
    { WS_KIND_CUTOFF_BLADE, "corner_radius_left", -INFINITY, 0.1, "common practice" },
    { WS_KIND_CUTOFF_BLADE, "corner_radius_right", -INFINITY, 0.1, "common practice" },
    { WS_KIND_CUTOFF_BLADE, "edge_straightness", -INFINITY, 0.02, "common practice" },
    { WS_KIND_CUTOFF_BLADE, "chip_depth", -INFINITY, 0.02, "common practice" },
    { WS_KIND_CUTOFF_BLADE, "wear_land_mean", -INFINITY, 0.3, "ISO 3685" },
    { WS_KIND_CUTOFF_BLADE, "wear_land_max", -INFINITY, 0.6, "ISO 3685" },
    { WS_KIND_FORM_TOOL, "wear_land_max", -INFINITY, 0.6, "ISO 3685" },
    { WS_KIND_FORM_TOOL, "burn_depth_max", -INFINITY, 0.1, "common practice" },
    { WS_KIND_FORM_TOOL, "chip_depth", -INFINITY, INFINITY, NULL },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (limits); i++)
  {
    g_autoptr (WsToolCard) card = card_of (limits[i].kind);
    g_autoptr (WsResult) result = measured (10.0, TRUE);
    card->web_mm = 0.0;
    card->width_mm = 2.0;
    ws_limits_apply (result, card);
    check (result, limits[i].stem, limits[i].lower, limits[i].upper, limits[i].source);
  }
}

static void
test_the_card_comes_first (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (6.5, TRUE);
  add_limit (card, "point_angle_deg", 134.0, 136.0);
  add_limit (card, "point_offset_mm", -INFINITY, 0.02);
  ws_limits_apply (result, card);
  check (result, "point_angle", 134.0, 136.0, "tool card");
  check (result, "point_offset", -INFINITY, 0.02, "tool card");
  check (result, "half_angle_difference", -1.0, 1.0, "common practice");
  check (result, "chisel_flat", -INFINITY, INFINITY, NULL);
}

static void
test_wear_allows_for_the_margin (void **state)
{
  (void)state;
  assert_near (wsi_unworn_corner_shortfall (10.0, 1.5), 5.0 - sqrt (25.0 - 0.5625), 1e-12);
  assert_near (wsi_unworn_corner_shortfall (10.0, NAN), 5.0 - sqrt (25.0 - 0.600625), 1e-12);
  assert_near (wsi_unworn_corner_shortfall (10.0, 99.0), 5.0, 1e-12);

  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (10.0, TRUE);
  card->web_mm = 2.0;
  ws_limits_apply (result, card);
  check (result, "corner_wear_a", -INFINITY, 0.075 + 5.0 - sqrt (24.0), "common practice");
  check (result, "chip_depth_b", -INFINITY, 0.1, "common practice");
}

/* To grind a good drill of another sort to what is usual would ruin it. */
static void
test_without_a_card_no_angle_is_usual (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) nameless = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (6.5, TRUE);
  ws_limits_apply (result, nameless);
  check (result, "point_angle", -INFINITY, INFINITY, NULL);
  check (result, "chisel_edge_angle", -INFINITY, INFINITY, NULL);
  check (result, "lip_relief", -INFINITY, INFINITY, NULL);
  check (result, "lip_relief_a", -INFINITY, INFINITY, NULL);
  check (result, "half_angle_difference", -1.0, 1.0, "common practice");
  check (result, "chip_depth_b", -INFINITY, 0.065, "common practice");
}

/* A chip is a chip without mm, too: in parts of the diameter, 500 px here. */
static void
test_damage_is_judged_in_parts (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (500.0, FALSE);
  ws_limits_apply (result, card);
  check (result, "chip_depth_b", -INFINITY, 5.0, "common practice");
  check (result, "lip_height_difference", -INFINITY, INFINITY, NULL);

  /* The card's own limit by the card's own size, 10 mm; unknown without one. */
  add_limit (card, "chip_depth_b_mm", -INFINITY, 0.3);
  ws_limits_apply (result, card);
  check (result, "chip_depth_b", -INFINITY, INFINITY, "tool card");
  card->diameter_mm = 10.0;
  ws_limits_apply (result, card);
  check (result, "chip_depth_b", -INFINITY, 15.0, "tool card");
}

static void
test_without_a_scale_only_angles (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = card_of (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result = measured (500.0, FALSE);
  ws_limits_apply (result, card);
  check (result, "point_angle", 113.0, 123.0, "memory");
  check (result, "point_offset", -INFINITY, INFINITY, NULL);
  check (result, "diameter", -INFINITY, INFINITY, NULL);

  /* The card's limit in mm remains as a limit that can't be checked. */
  add_limit (card, "point_offset_mm", -0.02, 0.02);
  ws_limits_apply (result, card);
  check (result, "point_offset", -INFINITY, INFINITY, "tool card");
  ws_verdicts_apply (result);
  assert_int_equal (ws_result_quantity (result, "point_offset")->verdict, WS_VERDICT_UNDECIDED);
}

static void
test_kinds_differ (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured (6.0, TRUE);
  g_autoptr (WsToolCard) spot = card_of (WS_KIND_SPOT_DRILL);
  ws_limits_apply (result, spot);
  check (result, "point_angle", 88.0, 92.0, "common practice");
  g_autoptr (WsToolCard) blade = card_of (WS_KIND_CUTOFF_BLADE);
  ws_limits_apply (result, blade);
  check (result, "point_angle", -INFINITY, INFINITY, NULL);
}

/* Design: side rake 7 degrees for parts with a centre hole, 10 to 12 without; front relief about
 * 10; all common practice, no source. */
static void
test_blades_by_the_part (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = measured (6.0, TRUE);
  g_autoptr (WsToolCard) blade = card_of (WS_KIND_CUTOFF_BLADE);
  ws_limits_apply (result, blade);
  check (result, "side_rake", -INFINITY, INFINITY, NULL);
  check (result, "front_relief", 8.0, 12.0, "common practice");
  check (result, "chip_depth", -INFINITY, INFINITY, NULL);
  blade->width_mm = 3.0;
  blade->part_has_centre_hole = WS_ANSWER_YES;
  ws_limits_apply (result, blade);
  check (result, "side_rake", 6.0, 8.0, "common practice");
  check (result, "chip_depth", -INFINITY, 0.03, "common practice");
  blade->part_has_centre_hole = WS_ANSWER_NO;
  ws_limits_apply (result, blade);
  check (result, "side_rake", 10.0, 12.0, "common practice");
  add_limit (blade, "side_rake_deg", 12.0, 14.0);
  ws_limits_apply (result, blade);
  check (result, "side_rake", 12.0, 14.0, "tool card");
}

/* A segment of a profile takes the whole profile's band, unless the card has one for it. */
static void
test_a_profile_band_holds_for_its_segments (void **state)
{
  (void)state;
  static const WsQuantityInfo family = { "segment_N_deviation", WS_UNIT_LENGTH, NULL, "", "" };
  g_autoptr (WsToolCard) card = card_of (WS_KIND_FORM_TOOL);
  add_limit (card, "profile_deviation_max_mm", -INFINITY, 0.02);
  add_limit (card, "segment_2_deviation_mm", -0.005, 0.005);
  g_autoptr (WsResult) result = wsi_result_new ("form-plan");
  WsQuantity *segments[2];
  for (guint i = 0; i < 2; i++)
  {
    segments[i] = wsi_result_add_numbered (result, &family, i + 1, TRUE);
    segments[i]->known = TRUE;
    segments[i]->value = 0.01;
    segments[i]->U = 0.001;
  }
  ws_limits_apply (result, card);
  assert_near (segments[0]->upper, 0.02, 0.0);
  assert_true (isinf (segments[0]->lower));
  assert_string_equal (segments[0]->limit_source, "tool card");
  assert_near (segments[1]->upper, 0.005, 0.0);
}

/* A line has no head: what is judged is how far it lies from the limits, not by which of its two
 * ends it was told. */
static void
test_a_direction_is_told_by_its_number_nearest_to_the_limits (void **state)
{
  (void)state;
  static const WsQuantityInfo family = { "segment_N_angle", WS_UNIT_DIRECTION, NULL, "", "" };
  static const struct
  {
    double measured, lower, upper, told;
    WsVerdict verdict;
  } rows[] = {
    { -89.992, 89.8, 90.2, 90.008, WS_VERDICT_ACCEPT },
    { 90.008, -90.2, -89.8, -89.992, WS_VERDICT_ACCEPT },
    { -89.7, 89.8, 90.2, 90.3, WS_VERDICT_REJECT },
    { 89.7, 89.8, 90.2, 89.7, WS_VERDICT_REJECT },
    { 0.1, 179.8, 180.2, 180.1, WS_VERDICT_ACCEPT },
    { -30, 149.5, 150.5, 150, WS_VERDICT_ACCEPT },
    { -89.992, 89.8, INFINITY, 90.008, WS_VERDICT_ACCEPT },
    { 89.992, -INFINITY, -89.8, -90.008, WS_VERDICT_ACCEPT },
    { -89.992, -INFINITY, INFINITY, -89.992, WS_VERDICT_UNDECIDED },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (rows); i++)
  {
    g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_FORM_TOOL);
    add_limit (card, "segment_1_angle_deg", rows[i].lower, rows[i].upper);
    g_autoptr (WsResult) result = wsi_result_new ("form-plan");
    WsQuantity *angle = wsi_result_add_numbered (result, &family, 1, TRUE);
    assert_string_equal (angle->name, "segment_1_angle_deg");
    angle->known = TRUE;
    angle->value = rows[i].measured;
    angle->U = 0.01;
    ws_limits_apply (result, card);
    ws_verdicts_apply (result);
    assert_near (angle->value, rows[i].told, 1e-9);
    assert_int_equal (angle->verdict, rows[i].verdict);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_built_in_by_size),
    cmocka_unit_test (test_offset_and_length_follow_from_height),
    cmocka_unit_test (test_diameter_only_about_the_cards),
    cmocka_unit_test (test_h8_by_every_band),
    cmocka_unit_test (test_the_other_limits),
    cmocka_unit_test (test_the_card_comes_first),
    cmocka_unit_test (test_wear_allows_for_the_margin),
    cmocka_unit_test (test_without_a_card_no_angle_is_usual),
    cmocka_unit_test (test_damage_is_judged_in_parts),
    cmocka_unit_test (test_without_a_scale_only_angles),
    cmocka_unit_test (test_kinds_differ),
    cmocka_unit_test (test_blades_by_the_part),
    cmocka_unit_test (test_a_profile_band_holds_for_its_segments),
    cmocka_unit_test (test_a_direction_is_told_by_its_number_nearest_to_the_limits),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
