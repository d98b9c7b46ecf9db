#include "result/build.h"
#include "tool/flank/burn_meaning.h"
#include "tool/flank/burn_report.h"

#include "base/testing.h"

#include <string.h>

#define LENGTH 100
#define DEPTH 60

static const WsQuantityInfo infos[WS_BURN_N] = { WS_BURN_QUANTITIES };

typedef struct
{
  WsStrip strip;
  WsFlank flank;
} Lip;

/* Heat over the middle half, `depth` px deep; 0: none. */
static Lip *
lip_new (const char *label, WsBurnTrouble trouble, guint depth)
{
  Lip *lip = g_new0 (Lip, 1);
  lip->strip = (WsStrip){ .along = { 1, 0 }, .inward = { 0, 1 }, .length = LENGTH, .depth = DEPTH };
  lip->flank = (WsFlank){ .label = label, .band = wsi_band_new (LENGTH, DEPTH) };
  lip->flank.burn = (WsBurn){ .trouble = trouble,
                              .present = depth > 0,
                              .films = g_new0 (guint8, LENGTH * DEPTH),
                              .area = 50.0 * depth,
                              .evaluated = LENGTH * 25,
                              .depth = depth,
                              .depth_seen = depth,
                              .u_fade = 1,
                              .length = depth > 0 ? 50 : 0,
                              .dominant = WS_FILM_STRAW,
                              .hottest = WS_FILM_BLUE };
  for (guint d = 0; d < depth; d++)
    memset (lip->flank.burn.films + d * LENGTH + 25, WS_FILM_STRAW, 50);
  return lip;
}

static void
lip_free (Lip *lip)
{
  wsi_flanks_clear (&lip->flank, 1);
  g_free (lip);
}

/* Takes both over. */
static WsResult *
reported (Lip *a, Lip *b, gboolean depth_is_seen)
{
  const WsOptics optics = { .has_scale = FALSE };
  WsResult *result = wsi_result_new ("drill-end");
  a->flank.strip = &a->strip;
  b->flank.strip = &b->strip;
  const WsFlank flanks[2] = { a->flank, b->flank };
  WsBurnQuantities q = { NULL, NULL, NULL };
  q.area = wsi_result_add_quantity (result, &infos[WS_BURN_AREA], FALSE);
  if (depth_is_seen)
    q.depth = wsi_result_add_quantity (result, &infos[WS_BURN_DEPTH], FALSE);
  q.length = wsi_result_add_quantity (result, &infos[WS_BURN_LENGTH], FALSE);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  wsi_burn_report (flanks, 2, card, &optics, &q, result);
  lip_free (a);
  lip_free (b);
  return result;
}

static guint
count_findings (const WsResult *result, const char *code)
{
  guint n = 0;
  for (guint i = 0; i < result->findings->len; i++)
    n += g_str_equal (((const WsFinding *)g_ptr_array_index (result->findings, i))->code, code);
  return n;
}

static void
both_lips_add_up_and_the_deeper_counts (void **state)
{
  (void)state;
  g_autoptr (WsResult) result =
    reported (lip_new ("a", WS_BURN_JUDGED, 10), lip_new ("b", WS_BURN_JUDGED, 20), TRUE);
  assert_near (ws_result_quantity (result, "burn_depth_max")->value, 20, 0);
  assert_near (ws_result_quantity (result, "burn_length")->value, 100, 0);
  assert_near (ws_result_quantity (result, "burn_area")->value, 1500.0 / (2 * LENGTH * 25), 1e-9);
  assert_int_equal (count_findings (result, "burn"), 2);
  /* In the middle of the heat, a third into it. */
  const WsFinding *first = g_ptr_array_index (result->findings, 0);
  assert_near (first->where_px.x, LENGTH / 2.0, 1.5);
  assert_near (first->where_px.y, 3, 0.1);
}

/* Colour along the very edge alone has its middle, too. */
static void
shallow_heat_is_shown_where_it_is (void **state)
{
  (void)state;
  g_autoptr (WsResult) result =
    reported (lip_new ("a", WS_BURN_JUDGED, 1), lip_new ("b", WS_BURN_JUDGED, 0), TRUE);
  assert_int_equal (count_findings (result, "burn"), 1);
  const WsFinding *first = g_ptr_array_index (result->findings, 0);
  assert_near (first->where_px.x, LENGTH / 2.0, 1.5);
}

static void
a_lip_in_doubt_hides_no_burn_and_proves_none_absent (void **state)
{
  (void)state;
  g_autoptr (WsResult) burnt =
    reported (lip_new ("a", WS_BURN_FOREIGN_COLOUR, 50), lip_new ("b", WS_BURN_JUDGED, 20), TRUE);
  assert_near (ws_result_quantity (burnt, "burn_depth_max")->value, 20, 0);
  assert_near (ws_result_quantity (burnt, "burn_length")->value, 50, 0);
  assert_int_equal (count_findings (burnt, "burn"), 1);

  g_autoptr (WsResult) unsure =
    reported (lip_new ("a", WS_BURN_FOREIGN_COLOUR, 50), lip_new ("b", WS_BURN_JUDGED, 0), TRUE);
  assert_null (ws_result_quantity (unsure, "burn_depth_max"));
  assert_null (ws_result_quantity (unsure, "burn_area"));
  assert_int_equal (count_findings (unsure, "burn"), 0);
  assert_int_equal (count_findings (unsure, "burn-unjudged"), 1);
}

static void
depth_out_of_view_is_unknown (void **state)
{
  (void)state;
  Lip *b = lip_new ("b", WS_BURN_JUDGED, 20);
  b->flank.burn.leaves_view = TRUE;
  g_autoptr (WsResult) result = reported (lip_new ("a", WS_BURN_JUDGED, 0), b, TRUE);
  assert_null (ws_result_quantity (result, "burn_depth_max"));
  assert_true (ws_result_quantity (result, "burn_area")->value > 0.1);
}

static void
advice_goes_by_the_depth_or_without (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  for (gboolean seen = FALSE; seen <= TRUE; seen++)
  {
    g_autoptr (WsResult) result =
      reported (lip_new ("a", WS_BURN_JUDGED, 0), lip_new ("b", WS_BURN_JUDGED, 20), seen);
    for (guint i = 0; i < result->quantities->len; i++)
      ((WsQuantity *)g_ptr_array_index (result->quantities, i))->verdict = WS_VERDICT_REJECT;
    wsi_burn_advise (card, result);
    assert_int_equal (result->advice->len, 0); /* nothing is ground that isn't rejected */
    result->verdict = WS_VERDICT_REJECT;
    wsi_burn_advise (card, result);
    assert_int_equal (result->advice->len, 1);
    const char *advice = g_ptr_array_index (result->advice, 0);
    assert_contains (advice, "Burnt edge");
    if (seen)
      assert_contains (advice, "Grind the edge back by at least");
    else
      assert_contains (advice, "Grind away more of flank and face than is coloured");
    assert_contains (advice, "heat reached below the colour (common practice, no source)");
    assert_lacks (advice, "until no colour");
    assert_int_equal (result->grinding->len, seen ? 1 : 0);
    assert_true (result->cautions->len >= 4);
  }
  g_autoptr (WsResult) clean =
    reported (lip_new ("a", WS_BURN_JUDGED, 0), lip_new ("b", WS_BURN_JUDGED, 0), TRUE);
  wsi_burn_advise (card, clean);
  assert_int_equal (clean->advice->len, 0);
}

/* 20 px and its U, told no less. */
static void
the_depth_advised_is_the_least (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsResult) result =
    reported (lip_new ("a", WS_BURN_JUDGED, 0), lip_new ("b", WS_BURN_JUDGED, 20), TRUE);
  for (guint i = 0; i < result->quantities->len; i++)
    ((WsQuantity *)g_ptr_array_index (result->quantities, i))->verdict = WS_VERDICT_REJECT;
  result->verdict = WS_VERDICT_REJECT;
  wsi_burn_advise (card, result);
  const WsQuantity *depth = ws_result_quantity (result, "burn_depth_max");
  const WsGrinding *by = &g_array_index (result->grinding, WsGrinding, 0);
  assert_string_equal (by->name, "edge_back_px");
  assert_true (by->value >= depth->value + depth->U && by->value < depth->value + 1.2 * depth->U);
}

/* The same blue edge is soft on one steel and need not be on another. */
static void
the_meaning_goes_by_the_material (void **state)
{
  (void)state;
  static const struct
  {
    WsMaterial material;
    const char *says, *lacks, *advice;
  } all[] = {
    { WS_MATERIAL_CARBON_STEEL, "293 to 337 °C", "cracks", "it has lost hardness" },
    { WS_MATERIAL_HIGH_SPEED_STEEL, "doesn't prove that it is soft", "293", "fine cracks" },
    { WS_MATERIAL_CARBIDE, "doesn't mean that it lost hardness", "293", "fine cracks" },
    { WS_MATERIAL_CERAMIC, "no temper colours", "293", "fine cracks" },
    { WS_MATERIAL_UNKNOWN, "Put the material on the tool card", "it has lost", "carbide may have" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    g_autofree char *meaning = wsi_burn_meaning (all[i].material, WS_FILM_BLUE);
    assert_contains (meaning, all[i].says);
    assert_lacks (meaning, all[i].lacks);
    g_autofree char *advice =
      g_strconcat (wsi_burn_effect (all[i].material), wsi_burn_look (all[i].material), NULL);
    assert_contains (advice, all[i].advice);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (both_lips_add_up_and_the_deeper_counts),
    cmocka_unit_test (shallow_heat_is_shown_where_it_is),
    cmocka_unit_test (a_lip_in_doubt_hides_no_burn_and_proves_none_absent),
    cmocka_unit_test (depth_out_of_view_is_unknown),
    cmocka_unit_test (advice_goes_by_the_depth_or_without),
    cmocka_unit_test (the_depth_advised_is_the_least),
    cmocka_unit_test (the_meaning_goes_by_the_material),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
