/*
 * Accepted is only what was judged whole.
 */
#include "base/testing.h"
#include "result/build.h"

#include <string.h>

#include <whetsight/judge.h>

#define DRILL (1U << WS_KIND_TWIST_DRILL)
#define SPOT (1U << WS_KIND_SPOT_DRILL)

static const WsQuantityInfo infos[] = {
  { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" },
  { "point_offset", WS_UNIT_LENGTH, NULL, "Point offset", "" },
  { "chip_depth_a", WS_UNIT_LENGTH, NULL, "Chip depth a", "" },
};

static const WsRequired required[] = {
  { .kinds = DRILL, .stem = "point_angle" },
  { .kinds = DRILL, .stem = "point_offset", .on_card = "the card lacks a word" },
  { .kinds = DRILL, .stem = "burn_area", .by_nominal = TRUE },
};

typedef struct
{
  WsToolCard *card;
  WsResult *result;
  WsQuantity *q[3];
  gboolean has_scale;
} Fixture;

/* All three inside their limits, with a card and a scale. */
static int
setup_with (Fixture *f, gboolean has_scale)
{
  *f = (Fixture){ .card = ws_tool_card_new (WS_KIND_TWIST_DRILL),
                  .result = wsi_result_new ("drill-side"),
                  .has_scale = has_scale };
  f->card->id = g_strdup ("QT-D-0118");
  for (gsize i = 0; i < 3; i++)
  {
    f->q[i] = wsi_result_add_quantity (f->result, &infos[i], has_scale);
    wsi_quantity_set (f->q[i], 1.0);
    f->q[i]->U = 0.1;
    f->q[i]->lower = 0.0;
    f->q[i]->upper = 2.0;
    f->q[i]->limit_source = "tool card";
  }
  return 0;
}

static void
clear (Fixture *f)
{
  ws_tool_card_free (f->card);
  ws_result_free (f->result);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Fixture, clear)

static void
unlimit (WsQuantity *quantity)
{
  quantity->lower = -INFINITY;
  quantity->upper = INFINITY;
  quantity->limit_source = NULL;
}

static void
judge (Fixture *f)
{
  ws_verdicts_apply (f->result);
  ws_verdicts_require (f->result, required, G_N_ELEMENTS (required), f->card, f->has_scale);
}

static void
assert_held (Fixture *f, const char *code, const char *why)
{
  judge (f);
  assert_int_equal (f->result->verdict, WS_VERDICT_UNDECIDED);
  assert_string_equal (ws_result_reason (f->result), code);
  assert_string_equal (f->result->hold_why, why);
  assert_int_equal (f->result->findings->len, 1);
}

static void
test_judged_whole_is_accepted (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  unlimit (f.q[2]); /* nobody asks for it */
  judge (&f);
  assert_int_equal (f.result->verdict, WS_VERDICT_ACCEPT);
  assert_int_equal (f.result->findings->len, 0);
}

static void
test_no_card_is_no_accept (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  g_clear_pointer (&f.card->id, g_free);
  assert_held (&f, "not-judged", "Not judged: no tool card says what this tool should be.");
}

static void
test_no_scale_is_no_accept (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, FALSE);
  unlimit (f.q[1]);
  f.q[1]->info = &infos[2]; /* one clause for all lengths */
  f.q[2]->info = &infos[1];
  assert_held (&f, "not-judged", "Not judged: lengths, since no scale was given.");
}

static void
test_what_has_no_limit_is_named (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  unlimit (f.q[0]);
  unlimit (f.q[1]);
  assert_held (&f, "not-judged",
               "Not judged: Point angle: no limit for it; Point offset: the card lacks a word.");
}

static void
test_what_is_not_seen_is_named (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  wsi_quantity_forget (f.q[0]);
  unlimit (f.q[0]);
  wsi_quantity_forget (f.q[2]); /* the card's limit asks for it */
  assert_held (&f, "not-seen", "Not seen in this picture: Point angle; Chip depth a.");
}

static void
test_both_are_told (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  unlimit (f.q[0]);
  wsi_quantity_forget (f.q[1]);
  assert_held (&f, "not-judged",
               "Not judged: Point angle: no limit for it. Not seen in this picture: Point offset.");
}

static void
test_a_rejection_stands (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, FALSE);
  f.q[0]->value = 5.0;
  judge (&f);
  assert_int_equal (f.result->verdict, WS_VERDICT_REJECT);
  assert_int_equal (f.result->findings->len, 0);
}

/* Nothing is required of a kind without limits, and so something must be. */
static void
test_nothing_judged_is_nothing_accepted (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  f.card->kind = WS_KIND_SPOT_DRILL;
  for (gsize i = 0; i < 3; i++)
    unlimit (f.q[i]);
  assert_held (&f, "not-judged", "Not judged: there are no limits to judge its shape by.");
}

static void
test_damage_is_not_accepted (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  judge (&f);
  wsi_result_add_finding (f.result, "lips-equal", g_strdup ("Fine."), NULL);
  g_ptr_array_add (f.result->advice, g_strdup ("Nothing to grind."));
  ws_verdicts_conclude (f.result, f.card, TRUE);
  assert_int_equal (f.result->verdict, WS_VERDICT_ACCEPT);
  wsi_result_add_finding (f.result, "chip", g_strdup ("A chip."), NULL);
  ws_verdicts_conclude (f.result, f.card, TRUE);
  assert_int_equal (f.result->verdict, WS_VERDICT_UNDECIDED);
  assert_string_equal (ws_result_reason (f.result), "damage");
  assert_int_equal (f.result->advice->len, 1);
  assert_non_null (strstr (g_ptr_array_index (f.result->advice, 0), "Look at the damage"));
}

/* A blade's clearance is limited by the card alone; one that rubs in the groove is no good blade
 * without a limit either. */
static void
test_a_blade_that_rubs_is_not_accepted (void **state)
{
  (void)state;
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  judge (&f);
  wsi_result_add_finding (f.result, "side-rubs", g_strdup ("It rubs."), NULL);
  ws_verdicts_conclude (f.result, f.card, TRUE);
  assert_int_equal (f.result->verdict, WS_VERDICT_UNDECIDED);
  assert_string_equal (ws_result_reason (f.result), "damage");
}

static void
test_what_settles_it_is_advised (void **state)
{
  (void)state;
  for (guint missing = 0; missing < 3; missing++)
  {
    static const char *const words[] = { "--tool", "--scale", "Complete the tool card" };
    g_auto (Fixture) f;
    setup_with (&f, missing != 1);
    unlimit (f.q[1]);
    if (missing == 0)
      g_clear_pointer (&f.card->id, g_free);
    judge (&f);
    ws_verdicts_conclude (f.result, f.card, f.has_scale);
    assert_int_equal (f.result->advice->len, 1);
    assert_non_null (strstr (g_ptr_array_index (f.result->advice, 0), words[missing]));
  }
}

/* Built-in limits judge colour in a picture of anything. */
static void
test_no_burn_is_nothing_accepted (void **state)
{
  (void)state;
  static const WsQuantityInfo burn = { "burn_area", WS_UNIT_SHARE, NULL, "Burnt share", "" };
  g_auto (Fixture) f;
  setup_with (&f, TRUE);
  for (gsize i = 0; i < 3; i++)
    unlimit (f.q[i]);
  WsQuantity *share = wsi_result_add_quantity (f.result, &burn, TRUE);
  wsi_quantity_set (share, 0.0);
  share->upper = 0.005;
  share->limit_source = "built in";
  ws_verdicts_apply (f.result);
  ws_verdicts_require (f.result, required, 0, f.card, TRUE);
  assert_held (&f, "not-judged", "Not judged: there are no limits to judge its shape by.");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_judged_whole_is_accepted),
    cmocka_unit_test (test_no_card_is_no_accept),
    cmocka_unit_test (test_no_scale_is_no_accept),
    cmocka_unit_test (test_what_has_no_limit_is_named),
    cmocka_unit_test (test_what_is_not_seen_is_named),
    cmocka_unit_test (test_both_are_told),
    cmocka_unit_test (test_a_rejection_stands),
    cmocka_unit_test (test_nothing_judged_is_nothing_accepted),
    cmocka_unit_test (test_no_burn_is_nothing_accepted),
    cmocka_unit_test (test_damage_is_not_accepted),
    cmocka_unit_test (test_a_blade_that_rubs_is_not_accepted),
    cmocka_unit_test (test_what_settles_it_is_advised),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
