#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/judge.h>
#include <whetsight/view.h>

#include "optics/lens.h"
#include "result/build.h"
#include "tool/advise.h"

static void
test_every_view_is_declared_whole (void **state)
{
  (void)state;
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
  {
    assert_ptr_equal (ws_view_find ((*view)->name), *view);
    assert_true ((*view)->kinds != 0);
    assert_true (*(*view)->summary != '\0');
    assert_true ((*view)->n_quantities > 0);
    assert_non_null ((*view)->measure);
  }
  assert_null (ws_view_find ("drill-sid"));
}

/* Names are what cards and records are written in: one meaning each. */
static void
test_quantities_are_declared_once (void **state)
{
  (void)state;
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    for (gsize i = 0; i < (*view)->n_quantities; i++)
    {
      const WsQuantityInfo *info = &(*view)->quantities[i];
      assert_true (*info->label != '\0' && *info->meaning != '\0');
      for (const char *c = info->stem; *c != '\0'; c++)
        /* N stands for the number in a family whose size varies by picture. */
        assert_true (g_ascii_islower (*c) || g_ascii_isdigit (*c) || *c == '_' || *c == 'N');
      for (gsize j = 0; j < i; j++)
        assert_string_not_equal (info->stem, (*view)->quantities[j].stem);
    }
}

/* A card of that kind with one limit, or NULL. */
static WsToolCard *
card_with_limit (WsToolKind kind, const char *quantity, GError **error)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-views-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "a.tool", NULL);
  g_autofree char *text = g_strdup_printf ("[tool]\nid = a\nkind = %s\n[limits]\n%s = .. 0.02\n",
                                           ws_tool_kind_name (kind), quantity);
  assert_true (g_file_set_contents (path, text, -1, NULL));
  WsToolCard *card = ws_tool_card_load (path, error);
  g_unlink (path);
  g_rmdir (folder);
  return card;
}

static void
check_limited (WsToolKind kind, const WsQuantityInfo *info, const char *name)
{
  GError *error = NULL;
  g_autoptr (WsToolCard) card = card_with_limit (kind, name, &error);
  if (card == NULL)
    fail_msg ("%s", error->message);
  g_autoptr (WsResult) result = wsi_result_new ("a view");
  WsQuantity *quantity = strstr (info->stem, "_N_") != NULL
                           ? wsi_result_add_numbered (result, info, 3, TRUE)
                           : wsi_result_add_quantity (result, info, TRUE);
  wsi_quantity_set (quantity, 0.03);
  wsi_quantity_combine (quantity);
  ws_limits_apply (result, card);
  ws_verdicts_apply (result);
  assert_string_equal (quantity->limit_source, "tool card");
  assert_near (quantity->upper, 0.02, 0);
  assert_int_equal (quantity->verdict, WS_VERDICT_REJECT);
}

/* What is listed may be limited, in a family each one by its number or all by the letter N. */
static void
test_a_card_may_limit_all_that_is_declared (void **state)
{
  (void)state;
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    for (gsize i = 0; i < (*view)->n_quantities; i++)
    {
      const WsQuantityInfo *info = &(*view)->quantities[i];
      g_autofree char *name =
        g_strdup_printf ("%s_%s", info->stem, ws_unit_suffix (info->unit, TRUE));
      g_autoptr (GString) third = g_string_new (name);
      g_string_replace (third, "_N_", "_3_", 0);
      for (guint kind = 0; kind < WS_N_KINDS; kind++)
        if ((*view)->kinds & 1U << kind)
        {
          check_limited ((WsToolKind)kind, info, name);
          check_limited ((WsToolKind)kind, info, third->str);
        }
    }
}

static void
test_kinds_find_their_view (void **state)
{
  (void)state;
  const WsView *drill = ws_view_find ("drill-side");
  assert_ptr_equal (ws_view_for_kind (WS_KIND_TWIST_DRILL), drill);
  assert_ptr_equal (ws_view_for_kind (WS_KIND_SPOT_DRILL), drill);
  assert_ptr_not_equal (ws_view_for_kind (WS_KIND_FORM_TOOL), drill);
}

static void
test_a_black_picture_is_a_retake (void **state)
{
  (void)state;
  const WsOptics optics = WS_OPTICS_UNKNOWN;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  for (guint side = 1; side < 300; side += 149)
  {
    g_autoptr (WsImage) image = ws_image_new (side, side, NULL);
    g_autoptr (WsResult) result = ws_measure (ws_view_find ("drill-side"), image, card, &optics);
    assert_int_equal (result->verdict, WS_VERDICT_RETAKE);
    assert_int_not_equal (result->reason, WS_RETAKE_NONE);
    assert_int_equal (result->quantities->len, 0);
    assert_int_equal (result->advice->len, 0);
  }
}

/* ---- Advice of every view on every quantity ----------------------------------------------- */

static double
usual (const char *stem)
{
  static const struct
  {
    const char *stem;
    double value;
  } values[] = {
    { "point_angle", 118.0 },       { "half_angle_a", 59.0 },
    { "half_angle_b", 59.0 },       { "diameter", 10.0 },
    { "edge_width", 3.0 },          { "side_rake", 7.0 },
    { "front_relief", 10.0 },       { "top_rake", 2.0 },
    { "tip_height", 16.0 },         { "lip_relief", 12.0 },
    { "chisel_edge_angle", 125.0 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (values); i++)
    if (g_str_equal (stem, values[i].stem))
      return values[i].value;
  return 0.5;
}

/* All as usual and accepted but for number `bad`, which is below or above its limits. */
static WsResult *
one_rejected (const WsView *view, gsize bad, gboolean is_low)
{
  WsResult *result = wsi_result_new (view->name);
  for (gsize i = 0; i < view->n_quantities; i++)
  {
    const WsQuantityInfo *info = &view->quantities[i];
    WsQuantity *quantity = strstr (info->stem, "_N_") != NULL
                             ? wsi_result_add_numbered (result, info, 3, TRUE)
                             : wsi_result_add_quantity (result, info, TRUE);
    wsi_quantity_set (quantity, usual (info->stem));
    quantity->U = 0.01;
    quantity->limit_source = "tool card";
    quantity->verdict = i == bad ? WS_VERDICT_REJECT : WS_VERDICT_ACCEPT;
    quantity->lower = quantity->value - (i != bad ? 1.0 : is_low ? -0.2 : 0.4);
    quantity->upper = quantity->value + (i != bad ? 1.0 : is_low ? 0.4 : -0.2);
  }
  result->hand = "right";
  result->verdict = WS_VERDICT_REJECT;
  return result;
}

static gboolean
any_matches (const GPtrArray *texts, const char *pattern)
{
  for (guint i = 0; i < texts->len; i++)
    if (g_regex_match_simple (pattern, g_ptr_array_index (texts, i), 0, 0))
      return TRUE;
  return FALSE;
}

static void
check_advice (const WsResult *result)
{
  const gboolean grinds = any_matches (result->advice, "Grind |[Rr]egrind|[Gg]rind it");
  const gboolean mounts = any_matches (result->advice, "[Ss]et the blade out|centre height");
  assert_true (result->advice->len > 0);
  assert_int_equal (grinds, ws_result_action (result) == WS_ACTION_REGRIND);
  assert_int_equal (!grinds, ws_result_action (result) == WS_ACTION_SET_ASIDE);
  assert_int_equal (grinds, any_matches (result->cautions, "eye protection"));
  assert_int_equal (grinds, any_matches (result->cautions, "local safety rules"));
  if (mounts)
    assert_true (any_matches (result->cautions, "Lock the machine out"));
}

/* Whatever is rejected, something is to be done about it, with its cautions. */
static void
test_every_rejection_has_advice_and_cautions (void **state)
{
  (void)state;
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    for (gsize bad = 0; bad < (*view)->n_quantities; bad++)
      for (gboolean is_low = FALSE; is_low <= TRUE; is_low++)
        for (WsToolKind kind = 0; kind < WS_N_KINDS; kind++)
        {
          if (!((*view)->kinds & 1U << kind))
            continue;
          g_autoptr (WsToolCard) card = ws_tool_card_new (kind);
          card->id = g_strdup ("T");
          g_autoptr (WsResult) result = one_rejected (*view, bad, is_low);
          (*view)->advise (card, result);
          wsi_advise_conclude (card, result);
          check_advice (result);
        }
}

/* ---- Places ------------------------------------------------------------------------- */

static const WsQuantityInfo depth = { "chip_depth_max", WS_UNIT_LENGTH, NULL, "Depth", "A depth." };
static const WsPoint ideal = { 300, 40 };

/* Finds a quantity, a mark and a finding at one place of the ideal picture. */
static void
see_one_place (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
               WsResult *result)
{
  (void)image;
  (void)card;
  WsQuantity *quantity = wsi_result_add_quantity (result, &depth, optics->has_scale);
  wsi_quantity_set_seen (quantity, 3, optics);
  wsi_quantity_set_place (quantity, ideal);
  wsi_result_add_mark (result, WS_MARK_APEX, NULL, &ideal, 1);
  wsi_result_add_finding (result, "chip", g_strdup ("A chip."), &ideal);
}

static void
advise_nothing (const WsToolCard *card, WsResult *result)
{
  (void)card;
  (void)result;
}

static void
assert_at (WsPoint found, WsPoint expected)
{
  assert_near (found.x, expected.x, 1e-9);
  assert_near (found.y, expected.y, 1e-9);
}

/* Measured is in the ideal picture; told is where things lie in the picture taken. */
static void
test_places_are_those_of_the_picture (void **state)
{
  (void)state;
  const WsView view = { .name = "drill-side",
                        .kinds = 1U << WS_KIND_TWIST_DRILL,
                        .quantities = &depth,
                        .n_quantities = 1,
                        .measure = see_one_place,
                        .advise = advise_nothing };
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = 400, .height = 300 };
  lens.parameters[WS_LENS_T_SCALE] = 0.01;
  lens.parameters[WS_LENS_T_K1] = 0.02;
  const WsOptics optics[2] = { WS_OPTICS_UNKNOWN, ws_optics_of_lens (&lens) };
  const WsPoint expected[2] = { ideal, ws_lens_to_picture (&lens, ideal) };
  assert_true (hypot (expected[1].x - ideal.x, expected[1].y - ideal.y) > 0.5);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  g_autoptr (WsImage) image = ws_image_new (400, 300, NULL);
  for (guint k = 0; k < 2; k++)
  {
    g_autoptr (WsResult) result = ws_measure (&view, image, card, &optics[k]);
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, 0);
    const WsMark *mark = g_ptr_array_index (result->marks, 0);
    const WsFinding *finding = g_ptr_array_index (result->findings, 0);
    assert_true (quantity->has_place && finding->has_place);
    assert_at (quantity->where_px, expected[k]);
    assert_at (g_array_index (mark->points, WsPoint, 0), expected[k]);
    assert_at (finding->where_px, expected[k]);
  }
}

#define LAMP_SIZE 500

/* A bright square that comes in from the border, with noise, and dark bars before it. */
static WsImage *
lamp_with_bars (guint n_bars)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (5);
  WsImage *image = ws_image_new (LAMP_SIZE, LAMP_SIZE, NULL);
  for (guint y = 0; y < LAMP_SIZE; y++)
    for (guint x = 0; x < LAMP_SIZE; x++)
    {
      const gboolean is_lamp = x >= 120 && x < 380 && y >= 90;
      const guint bar = y >= 130 ? (y - 130) / 60 : n_bars;
      const gboolean is_bar = bar < n_bars && (y - 130) % 60 < 40 && x >= 150 && x < 350;
      const double light = (is_lamp && !is_bar ? 0.7 : 0.03) + 0.004 * g_rand_double (random);
      image->linear[(gsize)y * LAMP_SIZE + x] = (guint16)(light * WS_IMAGE_FULL_SCALE);
    }
  return image;
}

/* Parts that lay on a light panel once made a blade of it. */
static void
test_a_light_with_things_before_it_is_no_blade (void **state)
{
  (void)state;
  static const char *const names[] = { "blade-plan", "blade-side", "form-side" };
  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
  {
    const WsView *view = ws_view_find (names[i]);
    g_autoptr (WsToolCard) card =
      ws_tool_card_new (i < 2 ? WS_KIND_CUTOFF_BLADE : WS_KIND_FORM_TOOL);
    const WsOptics optics = WS_OPTICS_UNKNOWN;
    g_autoptr (WsImage) bare = lamp_with_bars (0);
    g_autoptr (WsImage) barred = lamp_with_bars (5);
    g_autoptr (WsResult) alone = ws_measure (view, bare, card, &optics);
    g_autoptr (WsResult) result = ws_measure (view, barred, card, &optics);
    assert_true (alone->detail == NULL || strstr (alone->detail, "as of a light") == NULL);
    assert_int_equal (result->verdict, WS_VERDICT_RETAKE);
    assert_int_equal (result->reason, WS_RETAKE_WRONG_VIEW);
    assert_contains (result->detail, "as of a light with things before it");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_every_view_is_declared_whole),
    cmocka_unit_test (test_quantities_are_declared_once),
    cmocka_unit_test (test_a_card_may_limit_all_that_is_declared),
    cmocka_unit_test (test_kinds_find_their_view),
    cmocka_unit_test (test_a_black_picture_is_a_retake),
    cmocka_unit_test (test_a_light_with_things_before_it_is_no_blade),
    cmocka_unit_test (test_every_rejection_has_advice_and_cautions),
    cmocka_unit_test (test_places_are_those_of_the_picture),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
