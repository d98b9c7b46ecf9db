#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/judge.h>
#include <whetsight/view.h>

#include "result/build.h"

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

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_every_view_is_declared_whole),
    cmocka_unit_test (test_quantities_are_declared_once),
    cmocka_unit_test (test_a_card_may_limit_all_that_is_declared),
    cmocka_unit_test (test_kinds_find_their_view),
    cmocka_unit_test (test_a_black_picture_is_a_retake),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
