#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/card.h>
#include <whetsight/error.h>

static WsToolCard *
load (const char *more, GError **error)
{
  g_autofree char *path = NULL;
  const int fd = g_file_open_tmp ("whetsight-XXXXXX.tool", &path, NULL);
  g_autofree char *text =
    g_strconcat ("[tool]\nid = QT-M-0001\nkind = twist-drill\ndiameter_mm = 6.5\n", more, NULL);
  g_close (fd, NULL);
  assert_true (g_file_set_contents (path, text, -1, NULL));
  WsToolCard *card = ws_tool_card_load (path, error);
  g_remove (path);
  return card;
}

static void
a_master_has_its_values (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = load ("[master]\npoint_angle_deg = 118.021 +- 0.02\n"
                                      "web_in = 0.04±0.0001\n",
                                      NULL);
  assert_true (card->is_master);
  const WsMasterValue *angle = ws_tool_card_master (card, "point_angle_deg");
  assert_near (angle->value, 118.021, 1e-12);
  assert_near (angle->U, 0.02, 1e-12);
  const WsMasterValue *web = ws_tool_card_master (card, "web_mm");
  assert_near (web->value, 1.016, 1e-12);
  assert_near (web->U, 0.00254, 1e-12);
  assert_null (ws_tool_card_master (card, "diameter_mm"));
}

static void
a_group_alone_marks_it (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = load ("[master]\n", NULL);
  g_autoptr (WsToolCard) other = load ("", NULL);
  assert_true (card->is_master && card->masters->len == 0);
  assert_false (other->is_master);
}

static void
what_is_none_is_refused (void **state)
{
  static const char *const lines[] = {
    "point_angle_deg = 118.021",   "point_angle_deg = 118 +- 0",
    "point_angle_deg = 118 +- -1", "point_angle_deg = 118 +- x",
    "point_angle = 118 +- 1",      "web_mm = 1 +- 0.1\nweb_in = 0.04 +- 0.01"
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (lines); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autofree char *text = g_strdup_printf ("[master]\n%s\n", lines[i]);
    g_autoptr (WsToolCard) card = load (text, &error);
    assert_null (card);
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, "[master]");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_master_has_its_values),
    cmocka_unit_test (a_group_alone_marks_it),
    cmocka_unit_test (what_is_none_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
