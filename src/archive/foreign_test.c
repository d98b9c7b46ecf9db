/*
 * A database's file that is none of ours, or that changes while it is read.
 */
#include "archive/archive_for_tests.h"
#include "archive/engine_sqlite.h"
#include "archive/statements.h"

/* Readers leave alone what isn't an archive. */
static void
test_readers_make_nothing (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *path = g_build_filename (fixture->folder, "archive.db", NULL);
  static const char *const contents[] = { "", "a text in the archive's place" };
  for (gsize i = 0; i < G_N_ELEMENTS (contents); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autofree char *after = NULL;
    assert_true (g_file_set_contents (path, contents[i], -1, NULL));
    assert_null (ws_archive_open (fixture->folder, WS_ARCHIVE_READ, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_true (g_file_get_contents (path, &after, NULL, NULL));
    assert_string_equal (after, contents[i]);
  }
}

/* A folder that can't be written to is read as one that nobody writes to; somebody does. */
static void
test_read_while_somebody_writes (void **state)
{
  const Fixture *fixture = *state;
  WsVerification found;
  g_autoptr (GError) error = NULL;
  GString *told = g_string_new (NULL);
  const WsVerifier verifier = { collect, NULL, told };
  fill (fixture);
  g_autoptr (WsArchive) archive = ws_archive_open (fixture->folder, WS_ARCHIVE_READ, NULL);
  g_autofree char *path = g_build_filename (fixture->folder, "archive.db", NULL);
  g_autofree char *uri = g_strdup_printf ("file:%s?immutable=1", path);
  WsSqlite *sqlite = (WsSqlite *)archive->engine;
  sqlite3_close (sqlite->db);
  assert_int_equal (
    sqlite3_open_v2 (uri, &sqlite->db, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL), SQLITE_OK);
  assert_true (ws_archive_verify (archive, NULL, &verifier, &found, &error));
  {
    g_autoptr (WsArchive) writer = open_archive (fixture, WS_ARCHIVE_WRITE);
    store_row (writer, 6, NULL);
  }
  assert_false (ws_archive_verify (archive, NULL, &verifier, &found, &error));
  assert_contains (error->message, "try again");
  assert_string_equal (told->str, "");
  g_string_free (told, TRUE);
}

static void
test_other_databases (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  assert_null (ws_archive_open (fixture->folder, WS_ARCHIVE_READ, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  g_clear_error (&error);
  change (fixture, "CREATE TABLE other (x)");
  assert_null (ws_archive_open (fixture->folder, WS_ARCHIVE_WRITE, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  g_clear_error (&error);
  change (fixture, "PRAGMA application_id = 1467171186; PRAGMA user_version = 99");
  assert_null (ws_archive_open (fixture->folder, WS_ARCHIVE_WRITE, &error));
  assert_contains (error->message, "newer");
  g_clear_error (&error);
  g_autofree char *path = g_build_filename (fixture->folder, "archive.db", NULL);
  assert_true (g_file_set_contents (path,
                                    "this is no database at all, but text that is long "
                                    "enough to be looked at as one, or so one should think "
                                    "when reading it; a header takes a hundred bytes",
                                    -1, NULL));
  assert_null (ws_archive_open (fixture->folder, WS_ARCHIVE_READ, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_readers_make_nothing, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_read_while_somebody_writes, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_other_databases, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
