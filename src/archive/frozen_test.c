#include "archive/frozen.h"

#include "base/testing.h"

#include <glib/gstdio.h>

#include "archive/database.h"
#include "archive/files.h"
#include "archive/sample_for_tests.h"

static int
set_up (void **state)
{
  *state = g_dir_make_tmp ("whetsight-frozen-XXXXXX", NULL);
  return 0;
}

static int
tear_down (void **state)
{
  sample_remove_tree (*state);
  g_free (*state);
  return 0;
}

static void
store (WsArchive *archive, const char *id)
{
  const Sample sample = { id, "2026-11-25T10:00:00Z", "QT-D-1", "accept", 118.0, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  assert_true (ws_archive_store (archive, inspection, NULL, NULL));
}

static int
take_count (void *data, int n, char **values, char **names)
{
  (void)n;
  (void)names;
  *(guint64 *)data = g_ascii_strtoull (values[0], NULL, 10);
  return 0;
}

static void
assert_rows (const char *path, guint64 expected)
{
  guint64 n = 0;
  sqlite3 *db = wsi_frozen_open (path);
  assert_non_null (db);
  assert_int_equal (sqlite3_exec (db, "SELECT count (*) FROM inspection", take_count, &n, NULL),
                    SQLITE_OK);
  assert_int_equal (n, expected);
  sqlite3_close (db);
}

/* While a writer has it open the rows are in the log. */
static void
test_what_is_in_the_log (void **state)
{
  const char *folder = *state;
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  g_autofree char *log = g_strconcat (path, "-wal", NULL);
  WsArchive *writer = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  assert_non_null (writer);
  store (writer, "id-1");
  store (writer, "id-2");
  assert_true (g_file_test (log, G_FILE_TEST_EXISTS));
  assert_rows (path, 2);
  store (writer, "id-3");
  assert_rows (path, 3);
  ws_archive_free (writer);
}

/* An empty log is what a full disk leaves. */
static void
test_an_empty_log (void **state)
{
  const char *folder = *state;
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  g_autofree char *log = g_strconcat (path, "-wal", NULL);
  WsArchive *writer = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  store (writer, "id-1");
  ws_archive_free (writer);
  assert_rows (path, 1);
  assert_true (g_file_set_contents (log, "", 0, NULL));
  assert_rows (path, 1);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_what_is_in_the_log, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_an_empty_log, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
