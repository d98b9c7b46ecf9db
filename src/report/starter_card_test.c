#include "report/starter_card.h"

#include "base/testing.h"
#include "result/build.h"

#include <glib/gstdio.h>
#include <whetsight/judge.h>
#include <whetsight/view.h>

static WsToolCard *
load (const char *text)
{
  GError *error = NULL;
  g_autofree char *path = NULL;
  const int file = g_file_open_tmp ("whetsight-XXXXXX.tool", &path, &error);
  assert_true (file >= 0 && g_close (file, NULL));
  assert_true (g_file_set_contents (path, text, -1, NULL));
  WsToolCard *card = ws_tool_card_load (path, &error);
  if (error != NULL)
    fail_msg ("%s in\n%s", error->message, text);
  g_unlink (path);
  return card;
}

static WsResult *
limits_of (const WsView *view, const WsToolCard *card)
{
  WsResult *result = wsi_result_new (view->name);
  for (gsize i = 0; i < view->n_quantities; i++)
    if (strchr (view->quantities[i].stem, 'N') == NULL)
      wsi_quantity_set (wsi_result_add_quantity (result, &view->quantities[i], TRUE), 1);
  ws_limits_apply (result, card);
  return result;
}

static void
assert_same_end (double a, double b)
{
  if (isfinite (a) || isfinite (b))
    assert_near (a, b, 5.1e-5);
}

static void
assert_same_limits (const WsView *view, const WsToolCard *card, const WsToolCard *plain)
{
  g_autoptr (WsResult) ours = limits_of (view, card);
  g_autoptr (WsResult) theirs = limits_of (view, plain);
  for (guint i = 0; i < ours->quantities->len; i++)
  {
    const WsQuantity *a = g_ptr_array_index (ours->quantities, i);
    const WsQuantity *b = g_ptr_array_index (theirs->quantities, i);
    assert_same_end (a->lower, b->lower);
    assert_same_end (a->upper, b->upper);
    assert_int_equal (a->limit_source != NULL, b->limit_source != NULL);
  }
}

/* Who writes nothing but kind and size is judged the same. */
static void
limits_are_those_built_in (void **state)
{
  (void)state;
  static const struct
  {
    WsToolKind kind;
    const char *size;
    double mm;
  } cases[] = {
    { WS_KIND_TWIST_DRILL, "6.5", 6.5 },     { WS_KIND_TWIST_DRILL, "#7", 0.201 * 25.4 },
    { WS_KIND_TWIST_DRILL, "1/2 in", 12.7 }, { WS_KIND_TWIST_DRILL, "30 mm", 30 },
    { WS_KIND_TWIST_DRILL, "0.5", 0.5 },     { WS_KIND_SPOT_DRILL, "F", 0.257 * 25.4 },
    { WS_KIND_CUTOFF_BLADE, "1/8", 3.175 },  { WS_KIND_FORM_TOOL, NULL, NAN },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    for (WsAnswer hole = WS_ANSWER_UNKNOWN; hole <= WS_ANSWER_YES; hole++)
    {
      const WsStarter starter = {
        .kind = cases[i].kind, .id = "T-1", .size = cases[i].size, .point_angle = NAN, .hole = hole
      };
      g_autofree char *text = wsi_starter_card (&starter);
      g_autoptr (WsToolCard) card = load (text);
      g_autoptr (WsToolCard) plain = ws_tool_card_new (cases[i].kind);
      const gboolean is_blade = cases[i].kind >= WS_KIND_CUTOFF_BLADE;
      *(is_blade ? &plain->width_mm : &plain->diameter_mm) = cases[i].mm;
      plain->part_has_centre_hole = hole;
      plain->id = g_strdup ("T-1");
      for (const WsView *const *view = ws_views (); *view != NULL; view++)
        if ((*view)->kinds & 1U << cases[i].kind)
          assert_same_limits (*view, card, plain);
    }
}

static void
what_is_told_is_on_the_card (void **state)
{
  (void)state;
  const WsStarter starter = { .kind = WS_KIND_TWIST_DRILL,
                              .id = "QT-D-1",
                              .purpose = "brass fittings",
                              .size = "1/4 in",
                              .hand = "left",
                              .point_angle = 135 };
  g_autofree char *text = wsi_starter_card (&starter);
  g_autoptr (WsToolCard) card = load (text);
  assert_true (g_str_has_prefix (text, "# brass fittings\n"));
  assert_string_equal (card->id, "QT-D-1");
  assert_near (card->diameter_mm, 6.35, 1e-12);
  assert_int_equal (card->hand, WS_HAND_LEFT);
  assert_near (ws_tool_card_limit (card, "point_angle_deg")->lower, 130, 1e-9);
  assert_near (ws_tool_card_limit (card, "point_angle_deg")->upper, 140, 1e-9);
}

static void
a_blades_hand_is_read_back (void **state)
{
  (void)state;
  WsStarter starter = { .kind = WS_KIND_CUTOFF_BLADE,
                        .id = "QT-B-1",
                        .size = "3",
                        .hand = "right",
                        .point_angle = NAN,
                        .hole = WS_ANSWER_NO };
  g_autofree char *text = wsi_starter_card (&starter);
  g_autoptr (WsToolCard) card = load (text);
  assert_int_equal (card->hand, WS_HAND_RIGHT);
  assert_int_equal (card->part_has_centre_hole, WS_ANSWER_NO);
  starter.hand = NULL;
  g_autofree char *asking = wsi_starter_card (&starter);
  g_autoptr (WsToolCard) silent = load (asking);
  assert_contains (asking, "# hand = left");
  assert_int_equal (silent->hand, WS_HAND_UNKNOWN);
}

/* The line before a limit, or before its comment sign, tells where it comes from. */
static void
every_limit_names_its_source (void **state)
{
  (void)state;
  const WsStarter starter = {
    .kind = WS_KIND_TWIST_DRILL, .id = "T-1", .size = "6.5", .point_angle = NAN
  };
  g_autofree char *text = wsi_starter_card (&starter);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  guint n = 0;
  for (gsize i = 1; lines[i] != NULL; i++)
    if (strstr (lines[i], "..") != NULL)
    {
      assert_true (g_str_has_prefix (lines[i - 1], "# "));
      assert_non_null (strchr (lines[i - 1], ':'));
      n++;
    }
  assert_true (n > 12);
  assert_contains (text, "h8");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (limits_are_those_built_in),
    cmocka_unit_test (what_is_told_is_on_the_card),
    cmocka_unit_test (a_blades_hand_is_read_back),
    cmocka_unit_test (every_limit_names_its_source),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
