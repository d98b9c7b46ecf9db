#include "tool/flank/front_lit.h"

#include "base/testing.h"

#include "result/build.h"

static const WsQuantityInfo infos[WS_FRONT_LIT_N] = { WS_FRONT_LIT_QUANTITIES };

/* Advised on lands of these widths, px, with these verdicts. */
static WsResult *
advised (double mean, double most, WsVerdict verdict)
{
  const double values[] = { mean, most };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  WsResult *result = wsi_result_new ("drill-end");
  for (guint k = 0; k < 2; k++)
  {
    WsQuantity *quantity =
      wsi_result_add_quantity (result, &infos[WS_FRONT_LIT_LAND_MEAN + k], FALSE);
    wsi_quantity_set (quantity, values[k]);
    quantity->U = 0.5;
    quantity->verdict = verdict;
  }
  wsi_front_lit_advise (card, result);
  return result;
}

static gboolean
finds (const WsResult *result, const char *code, const char *part)
{
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (g_str_equal (finding->code, code) && strstr (finding->text, part) != NULL)
      return TRUE;
  }
  return FALSE;
}

static void
a_land_is_told_and_ground_away_when_too_wide (void **state)
{
  (void)state;
  g_autoptr (WsResult) worn = advised (14.2, 17.4, WS_VERDICT_REJECT);
  assert_true (finds (worn, "wear-land", "VB 14.20 px on average, at most 17.40 px."));
  assert_int_equal (worn->advice->len, 1);
  /* 17.4 and its U. */
  assert_contains (g_ptr_array_index (worn->advice, 0), "up to 17.90 px wide");
  assert_true (worn->work & WS_WORK_GRIND);

  g_autoptr (WsResult) allowed = advised (14.2, 17.4, WS_VERDICT_ACCEPT);
  assert_true (finds (allowed, "inside-limits", "inside the limits"));
  assert_int_equal (allowed->advice->len, 0);
}

static void
without_a_land_there_is_nothing_to_say (void **state)
{
  (void)state;
  g_autoptr (WsResult) fresh = advised (0, 0, WS_VERDICT_ACCEPT);
  assert_int_equal (fresh->findings->len, 0);
  assert_int_equal (fresh->advice->len, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_land_is_told_and_ground_away_when_too_wide),
    cmocka_unit_test (without_a_land_there_is_nothing_to_say),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
