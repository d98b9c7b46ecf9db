#include "tool/advise.h"

#include "base/testing.h"
#include "result/build.h"

static gboolean
says (const WsResult *result, const char *words)
{
  for (guint i = 0; i < result->cautions->len; i++)
    if (strstr (g_ptr_array_index (result->cautions, i), words) != NULL)
      return TRUE;
  return FALSE;
}

static void
cautions_follow_from_the_work (void **state)
{
  (void)state;
  g_autoptr (WsResult) none = wsi_result_new ("test");
  wsi_advise (none, WS_WORK_NONE, g_strdup ("Measure again."));
  assert_int_equal (none->cautions->len, 0);

  g_autoptr (WsResult) ground = wsi_result_new ("test");
  wsi_advise (ground, WS_WORK_GRIND, g_strdup ("Grind."));
  assert_true (says (ground, "eye protection"));
  assert_true (says (ground, "guards"));
  assert_true (says (ground, "edges cut"));
  assert_true (says (ground, "local safety rules"));
  assert_true (says (ground, "trained"));
  assert_false (says (ground, "Lock"));

  g_autoptr (WsResult) mounted = wsi_result_new ("test");
  wsi_advise (mounted, WS_WORK_MOUNT, g_strdup ("Set it out."));
  assert_true (says (mounted, "Lock the machine out"));
  assert_true (says (mounted, "edges cut"));
  assert_true (says (mounted, "local safety rules"));
  assert_false (says (mounted, "guards"));
}

static void
each_caution_is_said_once (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("test");
  wsi_advise (result, WS_WORK_GRIND, g_strdup ("Grind."));
  wsi_advise (result, WS_WORK_GRIND, g_strdup ("Grind more."));
  wsi_advise (result, WS_WORK_MOUNT, g_strdup ("Set it out."));
  for (guint i = 0; i < result->cautions->len; i++)
    for (guint k = 0; k < i; k++)
      assert_string_not_equal (g_ptr_array_index (result->cautions, i),
                               g_ptr_array_index (result->cautions, k));
  assert_true (says (result, "Lock the machine out"));
  assert_int_equal (result->advice->len, 3);
}

static void
a_lost_tool_is_not_worked_on (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("test");
  wsi_advise_set_aside (result, g_strdup ("It is too thin."));
  wsi_advise (result, WS_WORK_GRIND, g_strdup ("Grind."));
  wsi_advise (result, WS_WORK_NONE, g_strdup ("Check the scale."));
  assert_int_equal (result->advice->len, 2);
  assert_string_equal (g_ptr_array_index (result->advice, 0), "Set it aside. It is too thin.");
  assert_int_equal (result->cautions->len, 0);
}

/* Only a card says to what to grind; without one nothing is given up. */
static void
a_conclusion_leaves_nothing_open (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) none = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->id = g_strdup ("T");

  g_autoptr (WsResult) good = wsi_result_new ("test");
  good->verdict = WS_VERDICT_ACCEPT;
  wsi_advise_conclude (card, good);
  assert_string_equal (g_ptr_array_index (good->advice, 0),
                       "Nothing to grind: the limits are met.");

  g_autoptr (WsResult) bad = wsi_result_new ("test");
  bad->verdict = WS_VERDICT_REJECT;
  wsi_advise_conclude (none, bad);
  assert_null (bad->set_aside);
  wsi_advise_conclude (card, bad);
  assert_int_equal (ws_result_action (bad), WS_ACTION_SET_ASIDE);

  g_autoptr (WsResult) ground = wsi_result_new ("test");
  ground->verdict = WS_VERDICT_REJECT;
  wsi_advise (ground, WS_WORK_GRIND, g_strdup ("Grind."));
  wsi_advise_conclude (card, ground);
  assert_null (ground->set_aside);
  wsi_advise_set_aside (ground, g_strdup ("It is too thin."));
  assert_int_equal (ground->advice->len, 1);
  assert_int_equal (ground->cautions->len, 0);
}

static void
sides_are_those_of_the_picture (void **state)
{
  (void)state;
  const WsPoint middle = { 50.0, 50.0 };
  assert_string_equal (wsi_picture_side ((WsPoint){ 10.0, 60.0 }, middle), "on the left");
  assert_string_equal (wsi_picture_side ((WsPoint){ 90.0, 60.0 }, middle), "on the right");
  assert_string_equal (wsi_picture_side ((WsPoint){ 60.0, 10.0 }, middle), "at the top");
  assert_string_equal (wsi_picture_side ((WsPoint){ 60.0, 90.0 }, middle), "at the bottom");
}

static void
cleaning_comes_first (void **state)
{
  (void)state;
  g_autoptr (WsResult) result = wsi_result_new ("drill-side");
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->id = g_strdup ("QT-D-0080");
  result->verdict = WS_VERDICT_REJECT;
  wsi_advise_cleaning_first (result);
  assert_int_equal (result->advice->len, 0);
  wsi_result_add_finding (result, "wire-edge", g_strdup ("Lip a carries a wire edge."), NULL);
  wsi_advise_cleaning_first (result);
  assert_string_equal (g_ptr_array_index (result->advice, 0),
                       "First hone the wire edge off lightly, and measure again: what follows is "
                       "for the tool without it.");
  assert_true (result->cautions->len >= 3);
  /* Nothing is scrapped for what a stone may cure. */
  wsi_advise_conclude (card, result);
  assert_null (result->set_aside);
  result->verdict = WS_VERDICT_ACCEPT;
  wsi_advise_cleaning_first (result);
  assert_int_equal (result->advice->len, 1);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (cleaning_comes_first),
    cmocka_unit_test (cautions_follow_from_the_work),
    cmocka_unit_test (each_caution_is_said_once),
    cmocka_unit_test (a_lost_tool_is_not_worked_on),
    cmocka_unit_test (a_conclusion_leaves_nothing_open),
    cmocka_unit_test (sides_are_those_of_the_picture),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
