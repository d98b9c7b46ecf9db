/*
 * Accounts, and what people change beside inspections, in the chain.
 */
#include "base/testing.h"

#include "archive/account.h"
#include "archive/archive_for_tests.h"

static gboolean
set (WsArchive *archive, const char *name, const char *role, const char *hash, const char *reason,
     GError **error)
{
  const WsAccount account = { .name = (char *)name, .role = (char *)role, .hash = (char *)hash };
  const WsEventWords words = { .by = "Q. Quill", .account = "quill", .text = reason };
  return wsi_account_set (archive, &account, &words, error);
}

static void
keep_line (const char *what, gpointer data)
{
  g_string_append_printf (data, "%s\n", what);
}

/* What verifying tells. */
static char *
told_by (WsArchive *archive)
{
  WsVerification found;
  GString *told = g_string_new (NULL);
  const WsVerifier verifier = { keep_line, NULL, told };
  assert_true (ws_archive_verify (archive, NULL, &verifier, &found, NULL));
  return g_string_free (told, FALSE);
}

static void
test_changes_stand_in_the_chain (void **state)
{
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  g_autoptr (GError) error = NULL;
  assert_true (set (archive, "oly", "operator", "first", "new in the shop", &error));
  assert_true (set (archive, "oly", "toolroom", "second", "grinds now", &error));
  g_autoptr (WsAccount) account = wsi_account_find (archive, "oly", &error);
  assert_string_equal (account->role, "toolroom");
  assert_null (account->wrong);
  g_autoptr (GPtrArray) events = wsi_events_of (archive, WS_EVENT_ACCOUNT, "oly", &error);
  assert_int_equal (events->len, 2);
  const WsEvent *second = g_ptr_array_index (events, 1);
  assert_string_equal (second->text, "grinds now");
  assert_string_equal (second->by, "Q. Quill");
  assert_string_equal (json_string_value (json_object_get (second->before, "role")), "operator");
  assert_string_equal (json_string_value (json_object_get (second->after, "role")), "toolroom");
  /* The chain has no hash that passwords could be guessed by. */
  g_autofree char *text = json_dumps (second->after, 0);
  assert_lacks (text, "\"second\"");
  g_autofree char *told = told_by (archive);
  assert_string_equal (told, "");
}

static void
test_without_a_reason_nothing_changes (void **state)
{
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  g_autoptr (GError) error = NULL;
  assert_false (set (archive, "oly", "operator", "first", "  ", &error));
  assert_int_equal (error->code, WS_ERROR_USAGE);
  assert_null (wsi_account_find (archive, "oly", NULL));
}

static void
test_what_was_changed_behind_its_back_is_told (void **state)
{
  static const struct
  {
    const char *sql, *told;
    const char *on_a_server; /* or NULL for the same */
  } changes[] = {
    { "UPDATE account SET role = 'quality'", "account oly: it is not as the last entry", NULL },
    { "UPDATE account SET hash = 'mine'", "account oly: it is not as the last entry", NULL },
    { "INSERT INTO account VALUES ('eve', 'quality', 'mine')", "account eve: it stands in the",
      "INSERT INTO account (bench, name, role, hash) VALUES ('bench 2', 'eve', 'quality', "
      "'mine')" },
    { "DELETE FROM account", "account oly: removed from the table", NULL },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (changes); i++)
  {
    const Fixture *fixture = *state;
    g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
    assert_true (set (archive, "oly", "operator", "first", "new in the shop", NULL));
    change_either (fixture, changes[i].sql,
                   changes[i].on_a_server != NULL ? changes[i].on_a_server : changes[i].sql);
    g_autofree char *told = told_by (archive);
    assert_contains (told, changes[i].told);
    g_autoptr (WsAccount) account = wsi_account_find (archive, "oly", NULL);
    g_autoptr (WsAccount) eve = wsi_account_find (archive, "eve", NULL);
    assert_true (i == 2 ? eve->wrong != NULL : account == NULL || account->wrong != NULL);
    g_autoptr (GError) error = NULL;
    if (i < 2)
      assert_false (set (archive, "oly", "operator", "third", "again", &error));
    change (fixture, "DELETE FROM account");
    assert_true (set (archive, "oly", "operator", "first", "put right", NULL));
  }
}

/* An entry that was edited makes nobody's account. */
static void
test_an_edited_entry_is_no_proof (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  assert_true (set (archive, "oly", "operator", "first", "new in the shop", NULL));
  change (fixture, "UPDATE record SET record = replace (record, 'operator', 'quality');"
                   "UPDATE account SET role = 'quality'");
  g_autoptr (WsAccount) account = wsi_account_find (archive, "oly", NULL);
  assert_contains (account->wrong, "not as it was written");
}

static void
test_entries_are_no_inspections (void **state)
{
  g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
  guint64 count;
  char hash[65];
  const WsEventWords words = { .kind = WS_EVENT_REGRIND,
                               .subject = "QT-D-0118",
                               .by = "T. Grinder",
                               .text = "0.3 mm off both lips" };
  assert_true (wsi_event_add (archive, &words, NULL));
  assert_true (ws_archive_head (archive, &count, hash, NULL));
  assert_int_equal (count, 1);
  g_autoptr (GString) seen = g_string_new (NULL);
  WsVerification found;
  const WsVerifier verifier = { keep_line, NULL, seen };
  assert_true (ws_archive_verify (archive, NULL, &verifier, &found, NULL));
  assert_int_equal (found.events, 1);
  assert_int_equal (found.notes, 0);
  g_autoptr (GPtrArray) events = wsi_events_of (archive, WS_EVENT_REGRIND, "QT-D-0118", NULL);
  assert_int_equal (events->len, 1);
  g_autoptr (WsEvent) other = wsi_event_last (archive, WS_EVENT_CARD, "QT-D-0118", NULL);
  assert_null (other);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_changes_stand_in_the_chain, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_without_a_reason_nothing_changes, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_was_changed_behind_its_back_is_told, set_up,
                                     tear_down),
    cmocka_unit_test_setup_teardown (test_an_edited_entry_is_no_proof, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_entries_are_no_inspections, set_up, tear_down),
  };
  return run_on_both_engines (tests);
}
