#include "base/testing.h"

#include <whetsight/view.h>

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
    cmocka_unit_test (test_kinds_find_their_view),
    cmocka_unit_test (test_a_black_picture_is_a_retake),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
