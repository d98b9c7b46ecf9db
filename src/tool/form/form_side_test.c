#include <whetsight/view.h>

#include "base/testing.h"

#include "base/geometry.h"
#include "result/build.h"

static const WsQuantityInfo infos[2] = {
  { "front_relief", WS_UNIT_DEGREE, NULL, "Front relief", "An angle." },
  { "top_rake", WS_UNIT_DEGREE, NULL, "Top rake", "An angle." },
};

/* Of a tool whose profile was corrected for 10 degrees of relief and 5 of rake. */
static WsResult *
advised (double relief_deg, double rake_deg)
{
  const double values[2] = { relief_deg, rake_deg };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_FORM_TOOL);
  card->form.correction.relief = wsi_radians (10);
  card->form.correction.rake = wsi_radians (5);
  WsResult *result = wsi_result_new ("form-side");
  for (guint k = 0; k < 2; k++)
  {
    WsQuantity *quantity = wsi_result_add_quantity (result, &infos[k], FALSE);
    wsi_quantity_set (quantity, values[k]);
    quantity->U = 0.3;
  }
  ws_view_find ("form-side")->advise (card, result);
  return result;
}

static gboolean
finds (const WsResult *result, const char *part)
{
  for (guint i = 0; i < result->findings->len; i++)
  {
    const WsFinding *finding = g_ptr_array_index (result->findings, i);
    if (strcmp (finding->code, "not-as-corrected") == 0 && strstr (finding->text, part) != NULL)
      return TRUE;
  }
  return FALSE;
}

static void
angles_are_compared_with_those_corrected_for (void **state)
{
  (void)state;
  g_autoptr (WsResult) good = advised (10.2, 4.8);
  assert_int_equal (good->findings->len, 0);
  g_autoptr (WsResult) relief = advised (10.8, 4.8);
  assert_int_equal (relief->findings->len, 1);
  assert_true (finds (relief, "The front relief is 10.8"));
  assert_true (finds (relief, "corrected for 10.00°"));
  g_autoptr (WsResult) rake = advised (10.2, 4.2);
  assert_int_equal (rake->findings->len, 1);
  assert_true (finds (rake, "The top rake is 4.2"));
  assert_true (finds (rake, "corrected for 5.00°"));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (angles_are_compared_with_those_corrected_for),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
