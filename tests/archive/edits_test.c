/*
 * Somebody changes an archive somewhere: a column, a row, a table, a file, a byte.  Each change is
 * told by verify, or what can be read of the archive is the same as before, or it concerns what
 * nothing is read from.  WHETSIGHT_EDITS sets how many changes are made, 120 by default; with 10000
 * every column of every row is met.
 */
#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>

#include <whetsight/clear.h>

#include "aside_for_tests.h"

#define DEFAULT_EDITS 120
#define ALL_EDITS 5000 /* from so many on every column has to have been met */

typedef struct
{
  const char *whole, *edited; /* folders: as it was, and the copy that is changed */
  sqlite3 *db;                /* of the copy, while a change is made by SQL */
  GRand *rand;
  char *what;          /* the change, in words */
  gboolean left_over;  /* it is a file as stopped copies leave them */
  GHashTable *columns; /* "table.column" -> NULL, those that were met */
} Editing;

typedef gboolean (*Edit) (Editing *editing);

/* ---- By SQL -----------------------------------------------------------------------------------
 */

static guint
draw (const Editing *editing, guint n)
{
  return (guint)g_rand_int_range (editing->rand, 0, (gint32)n);
}

static gboolean
change_by (Editing *editing, const char *sql)
{
  return sqlite3_exec (editing->db, sql, NULL, NULL, NULL) == SQLITE_OK &&
         sqlite3_total_changes (editing->db) >= 0;
}

/* Texts in the first column of what is selected. */
static GPtrArray *
list (sqlite3 *db, const char *sql)
{
  sqlite3_stmt *stmt = NULL;
  GPtrArray *texts = g_ptr_array_new_with_free_func (g_free);
  if (sqlite3_prepare_v2 (db, sql, -1, &stmt, NULL) == SQLITE_OK)
    while (sqlite3_step (stmt) == SQLITE_ROW)
      g_ptr_array_add (texts, g_strdup ((const char *)sqlite3_column_text (stmt, 0)));
  sqlite3_finalize (stmt);
  return texts;
}

/* Free with g_free(); NULL when there is none. */
static char *
pick (Editing *editing, const char *sql)
{
  g_autoptr (GPtrArray) texts = list (editing->db, sql);
  return texts->len > 0 ? g_strdup (g_ptr_array_index (texts, draw (editing, texts->len))) : NULL;
}

static char *
pick_table (Editing *editing)
{
  return pick (editing, "SELECT name FROM sqlite_schema WHERE type = 'table'");
}

static char *
pick_column (Editing *editing, const char *table)
{
  g_autofree char *sql = g_strdup_printf ("SELECT name FROM pragma_table_info ('%s')", table);
  return pick (editing, sql);
}

/* A condition that one row meets; "0" when there is none. */
static char *
pick_row (Editing *editing, const char *table)
{
  g_autofree char *key_sql = g_strdup_printf (
    "SELECT group_concat ('quote (' || name || ')', ' || '' '' || ') FROM pragma_table_info ('%s')"
    " WHERE pk > 0",
    table);
  g_autofree char *key = pick (editing, key_sql);
  g_autofree char *sql = g_strdup_printf ("SELECT %s FROM %s", key, table);
  g_autofree char *row = pick (editing, sql);
  if (row == NULL)
    return g_strdup ("0");
  char *quoted = sqlite3_mprintf ("%s = %Q", key, row);
  char *condition = g_strdup (quoted);
  sqlite3_free (quoted);
  return condition;
}

static gboolean
edit_value (Editing *editing)
{
  static const char *const values[] = {
    "NULL",
    "''",
    "'x'",
    "0",
    "1",
    "-1",
    "3",
    "9e99",
    "x'00ff'",
    "%1$s + 1",
    "%1$s || ' '",
    "upper (%1$s)",
    "substr (%1$s, 2)",
    "replace (%1$s, '1', '7')",
    "replace (%1$s, 'accept', 'reject')",
    "replace (%1$s, ':', ' :')",
    "(SELECT max (%1$s) FROM %2$s)",
    "(SELECT min (%1$s) FROM %2$s)",
  };
  g_autofree char *table = pick_table (editing);
  g_autofree char *column = pick_column (editing, table);
  g_autofree char *row = pick_row (editing, table);
  const char *pattern = values[draw (editing, G_N_ELEMENTS (values))];
  g_auto (GStrv) parts = g_strsplit (pattern, "%1$s", -1);
  g_autofree char *named = g_strjoinv (column, parts);
  g_auto (GStrv) rest = g_strsplit (named, "%2$s", -1);
  g_autofree char *value = g_strjoinv (table, rest);
  editing->what = g_strdup_printf ("UPDATE %1$s SET %2$s = %3$s WHERE (%4$s) AND %2$s IS NOT %3$s",
                                   table, column, value, row);
  if (!change_by (editing, editing->what) || sqlite3_changes (editing->db) == 0)
    return FALSE;
  g_hash_table_add (editing->columns, g_strdup_printf ("%s.%s", table, column));
  return TRUE;
}

static gboolean
edit_swap (Editing *editing)
{
  g_autofree char *table = pick_table (editing);
  g_autofree char *column = pick_column (editing, table);
  g_autofree char *a = pick_row (editing, table);
  g_autofree char *b = pick_row (editing, table);
  editing->what = g_strdup_printf (
    "UPDATE %1$s SET %2$s = CASE WHEN %3$s THEN (SELECT %2$s FROM %1$s WHERE %4$s) ELSE"
    " (SELECT %2$s FROM %1$s WHERE %3$s) END WHERE (%3$s) OR (%4$s)",
    table, column, a, b);
  return change_by (editing, editing->what) && sqlite3_changes (editing->db) == 2;
}

static gboolean
edit_rows (Editing *editing)
{
  g_autofree char *table = pick_table (editing);
  g_autofree char *row = pick_row (editing, table);
  g_autofree char *column = pick_column (editing, table);
  if (draw (editing, 2) == 0)
    editing->what = g_strdup_printf ("DELETE FROM %s WHERE %s", table, row);
  else
    editing->what = g_strdup_printf (
      "CREATE TEMP TABLE t AS SELECT * FROM %1$s WHERE %2$s; UPDATE t SET %3$s = coalesce"
      " (%3$s + 1000, 'x'); INSERT INTO main.%1$s SELECT * FROM t; DROP TABLE t",
      table, row, column);
  return change_by (editing, editing->what) && sqlite3_changes (editing->db) > 0;
}

static gboolean
edit_tables (Editing *editing)
{
  static const char *const changes[] = {
    "CREATE TABLE more (x)",
    "CREATE VIEW shown AS SELECT * FROM inspection",
    "CREATE INDEX quick ON inspection (station)",
    "CREATE TRIGGER keep AFTER INSERT ON inspection BEGIN DELETE FROM inspection; END",
    "CREATE TEMP TABLE nothing (x); DROP INDEX inspection_tool",
    "DROP INDEX inspection_image",
    "DROP TABLE seal",
    "DROP TABLE pending",
    "DROP TABLE quantity",
    "ALTER TABLE inspection ADD COLUMN extra TEXT",
    "ALTER TABLE head RENAME COLUMN digest TO digests",
    "ALTER TABLE seal RENAME TO seals",
    "ANALYZE",
    "PRAGMA user_version = 1",
    "PRAGMA user_version = 99",
    "PRAGMA user_version = -1",
    "PRAGMA application_id = 7",
    "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace (sql, ' NOT NULL', '')"
    " WHERE name = 'record'; PRAGMA writable_schema = RESET",
    "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace (sql, 'CHECK (one = 1)',"
    " '') WHERE name = 'head'; PRAGMA writable_schema = RESET",
    "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = sql || ' ' WHERE name ="
    " 'inspection'; PRAGMA writable_schema = RESET",
    "PRAGMA writable_schema = ON; DELETE FROM sqlite_schema WHERE name = 'inspection_time';"
    " PRAGMA writable_schema = RESET",
    "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET rootpage = 2 WHERE name = 'seal';"
    " PRAGMA writable_schema = RESET",
  };
  editing->what = g_strdup (changes[draw (editing, G_N_ELEMENTS (changes))]);
  return change_by (editing, editing->what);
}

/* By somebody who knows how the tables hang together, but computes no hash anew. */
static gboolean
edit_knowingly (Editing *editing)
{
  static const char *const changes[] = {
    "DELETE FROM quantity WHERE number = (SELECT count FROM head); DELETE FROM record WHERE number "
    "="
    " (SELECT count FROM head); DELETE FROM inspection WHERE number = (SELECT count FROM head);"
    "UPDATE head SET count = count - 1, hash = (SELECT hash FROM inspection ORDER BY number DESC"
    " LIMIT 1)",
    "UPDATE inspection SET verdict = 'accept' WHERE number = 4; UPDATE quantity SET verdict ="
    " 'accept' WHERE number = 4; UPDATE record SET record = replace (record, 'reject', 'accept')"
    " WHERE number = 4",
    "UPDATE inspection SET number = -number WHERE number IN (2, 3); UPDATE inspection SET number ="
    " CASE number WHEN -2 THEN 3 WHEN -3 THEN 2 ELSE number END",
    "DELETE FROM seal; UPDATE head SET seals = 0, seals_hash = ''",
    "DELETE FROM file WHERE sha256 = (SELECT image FROM inspection WHERE number = 4)",
    "UPDATE inspection SET pictures = 0 WHERE number = 4; DELETE FROM file WHERE sha256 IN (SELECT"
    " image FROM inspection WHERE number = 4)",
    "INSERT INTO file VALUES (lower (hex (randomblob (32))), 7)",
    "UPDATE inspection SET imported = NULL WHERE imported IS NOT NULL",
    "UPDATE inspection SET clock = NULL WHERE clock IS NOT NULL",
    "DELETE FROM record WHERE number = (SELECT max (number) FROM inspection WHERE about NOT NULL);"
    "DELETE FROM inspection WHERE number = (SELECT max (number) FROM inspection WHERE about NOT"
    " NULL); UPDATE head SET count = count - 1",
    "UPDATE inspection SET about = 'id-2' WHERE about IS NOT NULL",
    "UPDATE head SET digest = ''",
    "DELETE FROM head",
    "INSERT INTO quantity SELECT 2, 'more_mm', value, U, lower, upper, verdict FROM quantity"
    " WHERE number = 3 LIMIT 1",
    "UPDATE quantity SET lower = NULL, upper = NULL WHERE number = 4",
  };
  editing->what = g_strdup (changes[draw (editing, G_N_ELEMENTS (changes))]);
  return change_by (editing, editing->what) && sqlite3_total_changes (editing->db) > 0;
}

/* ---- Files ------------------------------------------------------------------------------------
 */

/* A picture that is there. */
static char *
pick_file (Editing *editing)
{
  g_autofree char *sha256 = pick (editing, "SELECT sha256 FROM file");
  return g_strdup_printf ("%s/images/%.2s/%s", editing->edited, sha256, sha256);
}

static gboolean
edit_picture (Editing *editing)
{
  char *bytes;
  gsize n;
  g_autofree char *path = pick_file (editing);
  g_autofree char *other = pick_file (editing);
  g_autofree char *aside = g_strconcat (editing->edited, "-aside", NULL);
  const guint how = draw (editing, 8);
  assert_true (g_file_get_contents (how == 4 ? other : path, &bytes, &n, NULL));
  const gsize at = n > 0 ? draw (editing, (guint)n) : 0;
  editing->what = g_strdup_printf ("file %s, way %u, at %u", path, how, (guint)at);
  g_remove (path);
  if (how == 0)
    bytes[at] = (char)(bytes[at] ^ (1 << draw (editing, 8)));
  else if (how == 1)
    n = at;
  if (how == 2) /* it stays away */
    ;
  else if (how == 3)
    g_mkdir (path, 0777);
  else if (how == 5)
  {
    g_file_set_contents (aside, bytes, (gssize)n, NULL);
    assert_int_equal (symlink (aside, path), 0);
  }
  else
    g_file_set_contents (path, bytes, (gssize)n, NULL);
  if (how == 6 || how == 7) /* twice, or in another folder */
  {
    g_autofree char *name = g_path_get_basename (path);
    g_autofree char *to = g_build_filename (editing->edited, how == 6 ? "." : "images", name, NULL);
    g_file_set_contents (to, bytes, (gssize)n, NULL);
  }
  g_free (bytes);
  return how != 4 || !g_str_equal (path, other);
}

static gboolean
edit_folder (Editing *editing)
{
  static const char *const names[] = { "stranger",        "images/stranger", "images/ab/stranger",
                                       "archive.db.bak",  ".hidden",         "announced",
                                       "archive.db.part", "images/zz" };
  g_autofree char *file = pick_file (editing);
  g_autofree char *fan = g_path_get_dirname (file);
  g_autofree char *images = g_path_get_dirname (fan);
  g_autofree char *moved = g_strconcat (editing->edited, "-aside", NULL);
  const guint how = draw (editing, G_N_ELEMENTS (names) + 3);
  if (how < G_N_ELEMENTS (names))
  {
    g_autofree char *path = g_build_filename (editing->edited, names[how], NULL);
    g_autofree char *folder = g_path_get_dirname (path);
    editing->what = g_strdup_printf ("one more: %s", names[how]);
    editing->left_over = how == 5 || how == 6;
    g_mkdir_with_parents (folder, 0777);
    return how == 7 ? g_mkdir (path, 0777) == 0 : g_file_set_contents (path, "x", 1, NULL);
  }
  const char *from = how == G_N_ELEMENTS (names) ? images : fan;
  editing->what =
    g_strdup_printf ("%s %s", how > G_N_ELEMENTS (names) + 1 ? "gone:" : "linked:", from);
  return g_rename (from, moved) == 0 &&
         (how > G_N_ELEMENTS (names) + 1 || symlink (moved, from) == 0);
}

/* ---- Bytes of the database --------------------------------------------------------------------
 */

static gboolean
edit_bytes (Editing *editing)
{
  char *bytes;
  gsize n;
  g_autofree char *path = g_build_filename (editing->edited, "archive.db", NULL);
  const guint how = draw (editing, 12);
  assert_true (g_file_get_contents (path, &bytes, &n, NULL));
  const gsize at = how == 0 ? draw (editing, 100) : draw (editing, (guint)n);
  editing->what = g_strdup_printf ("archive.db, way %u, at %u", how, (guint)at);
  if (how == 1)
    n = at;
  else if (how == 2)
    memset (bytes + at / 4096 * 4096, 0, MIN (4096, n - at / 4096 * 4096));
  else if (how == 3)
    bytes[at] = 0;
  else
    bytes[at] = (char)(bytes[at] ^ (1 << draw (editing, 8)));
  const gboolean done = g_file_set_contents (path, bytes, (gssize)n, NULL);
  g_free (bytes);
  return done;
}

static gboolean
edit_beside (Editing *editing)
{
  static const char *const suffixes[] = { "-wal", "-shm", "-journal" };
  char bytes[5000];
  const char *suffix = suffixes[draw (editing, G_N_ELEMENTS (suffixes))];
  g_autofree char *path = g_strconcat (editing->edited, "/archive.db", suffix, NULL);
  const gsize n = draw (editing, sizeof bytes);
  editing->what = g_strdup_printf ("%u bytes in archive.db%s", (guint)n, suffix);
  for (gsize i = 0; i < n; i++)
    bytes[i] = (char)draw (editing, 256);
  return g_file_set_contents (path, bytes, (gssize)n, NULL);
}

/* ---- What can be read of it -------------------------------------------------------------------
 */

static void
dump_rows (sqlite3 *db, const char *table, GString *text)
{
  sqlite3_stmt *stmt = NULL;
  g_autofree char *sql = g_strdup_printf ("SELECT * FROM %s ORDER BY 1, 2", table);
  if (sqlite3_prepare_v2 (db, sql, -1, &stmt, NULL) == SQLITE_OK)
    while (sqlite3_step (stmt) == SQLITE_ROW)
    {
      g_string_append (text, table);
      for (int i = 0; i < sqlite3_column_count (stmt); i++)
        g_string_append_printf (text, "|%d:%s", sqlite3_column_type (stmt, i),
                                (const char *)sqlite3_column_text (stmt, i));
      g_string_append_c (text, '\n');
    }
  g_string_append_printf (text, "%s: %d\n", table, sqlite3_errcode (db));
  sqlite3_finalize (stmt);
}

/* Pictures aren't in it: verify hashes them all. */
static char *
dump (const char *folder)
{
  static const char *const tables[] = { "inspection", "record", "quantity",     "file",
                                        "seal",       "head",   "sqlite_schema" };
  sqlite3 *db = NULL;
  GString *text = g_string_new (NULL);
  g_autofree char *path = g_build_filename (folder, "archive.db", NULL);
  sqlite3_open_v2 (path, &db, SQLITE_OPEN_READWRITE, NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (tables); i++)
    dump_rows (db, tables[i], text);
  sqlite3_close (db);
  return g_string_free (text, FALSE);
}

/* TRUE when verify tells of it, or can't read on, and says so. */
static gboolean
is_told (const char *folder)
{
  g_autoptr (GError) error = NULL;
  WsVerification found = { 0 };
  g_autoptr (GString) lines = g_string_new (NULL);
  const WsVerifier verifier = { collect, NULL, lines };
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, &error);
  const gboolean read =
    archive != NULL && ws_archive_verify (archive, NULL, &verifier, &found, &error);
  if (!read)
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA) ||
                 g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  return !read || found.wrong > 0;
}

/* ---- All of them ------------------------------------------------------------------------------
 */

static const struct
{
  const char *name;
  Edit edit;
  guint share;
  gboolean by_sql;
  gboolean in_database; /* so that comparing what it holds tells whether it matters */
} kinds[] = {
  { "a value", edit_value, 40, TRUE, TRUE },
  { "two values", edit_swap, 8, TRUE, TRUE },
  { "rows", edit_rows, 8, TRUE, TRUE },
  { "tables", edit_tables, 8, TRUE, TRUE },
  { "several at once", edit_knowingly, 8, TRUE, TRUE },
  { "a picture", edit_picture, 8, TRUE, FALSE },
  { "a folder", edit_folder, 5, TRUE, FALSE },
  { "a byte", edit_bytes, 12, FALSE, TRUE },
  { "beside", edit_beside, 3, FALSE, TRUE },
};

static guint
pick_kind (const Editing *editing)
{
  guint all = 0, kind = 0;
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    all += kinds[i].share;
  guint at = draw (editing, all);
  while (at >= kinds[kind].share)
    at -= kinds[kind++].share;
  return kind;
}

static void
open_copy (Editing *editing)
{
  g_autofree char *path = g_build_filename (editing->edited, "archive.db", NULL);
  assert_int_equal (sqlite3_open (path, &editing->db), SQLITE_OK);
  sqlite3_exec (editing->db, "PRAGMA ignore_check_constraints = ON; PRAGMA synchronous = OFF", NULL,
                NULL, NULL);
}

/* Notes, seals, a mark of an import, pictures that a rule removed, and one that was announced. */
static void
make_whole (const Aside *aside, const char *whole)
{
  WsCleared cleared;
  GString *lines = g_string_new (NULL);
  const WsVerifier verifier = { collect, NULL, lines };
  const WsClearRule rule = { "1d", "Q. Quill", NULL };
  const WsNoteWords words = { WS_NOTE_SIGN_OFF, "Q. Quill", "seen", NULL };
  const Sample sample = { "old", "2001-01-01T00:00:00Z", "QT-D-0118", "accept", 118.0, NULL };
  WsArchive *archive = open_archive (&aside->archive, WS_ARCHIVE_WRITE);
  g_autoptr (WsInspection) imported = sample_inspection (&sample);
  imported->imported = g_strdup ("elsewhere");
  assert_true (ws_archive_store (archive, imported, NULL, NULL));
  store_row (archive, 40, NULL);
  assert_true (ws_archive_clear (archive, &rule, FALSE, &verifier, &cleared, NULL));
  assert_true (cleared.pictures > 0);
  store_row (archive, 2 * N_ROWS, NULL);
  assert_true (ws_archive_add_note (archive, "id-4", &words, NULL, NULL));
  g_free (ws_archive_seal (archive, NULL));
  g_free (ws_archive_seal (archive, NULL));
  ws_archive_free (archive);
  g_string_free (lines, TRUE);
  change (&aside->archive, "INSERT INTO pending VALUES (lower (hex (zeroblob (32))))");
  copy_folder (aside->archive.folder, whole);
  assert_false (is_told (whole));
}

/* Returns FALSE when the change couldn't be made. */
static gboolean
edit_once (Editing *editing, guint kind)
{
  g_autofree char *aside = g_strconcat (editing->edited, "-aside", NULL);
  sample_remove_tree (aside);
  copy_folder (editing->whole, editing->edited);
  open_copy (editing);
  if (!kinds[kind].by_sql)
    g_clear_pointer (&editing->db, sqlite3_close);
  g_clear_pointer (&editing->what, g_free);
  editing->left_over = FALSE;
  const gboolean done = kinds[kind].edit (editing);
  g_clear_pointer (&editing->db, sqlite3_close);
  return done;
}

static void
check_columns (const Editing *editing)
{
  g_autofree char *path = g_build_filename (editing->whole, "archive.db", NULL);
  sqlite3 *db = NULL;
  assert_int_equal (sqlite3_open (path, &db), SQLITE_OK);
  g_autoptr (GPtrArray) names =
    list (db, "SELECT s.name || '.' || c.name FROM sqlite_schema s, pragma_table_info (s.name) c"
              " WHERE s.type = 'table'");
  sqlite3_close (db);
  for (guint i = 0; i < names->len; i++)
    if (!g_hash_table_contains (editing->columns, g_ptr_array_index (names, i)))
      fail_msg ("%s was never changed", (const char *)g_ptr_array_index (names, i));
}

static void
test_changes_are_told (void **state)
{
  const Aside *aside = *state;
  const char *setting = g_getenv ("WHETSIGHT_EDITS");
  const guint n = setting != NULL ? (guint)atoi (setting) : DEFAULT_EDITS;
  g_autofree char *whole = beside (aside, "whole");
  g_autofree char *edited = beside (aside, "edited");
  g_autoptr (GHashTable) columns = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  Editing editing = { whole, edited, NULL, g_rand_new_with_seed (1), NULL, FALSE, columns };
  guint told[G_N_ELEMENTS (kinds)] = { 0 }, harmless[G_N_ELEMENTS (kinds)] = { 0 }, missed = 0;
  make_whole (aside, whole);
  g_autofree char *before = dump (whole);
  for (guint i = 0; i < n;)
  {
    const guint kind = pick_kind (&editing);
    if (!edit_once (&editing, kind))
      continue;
    i++;
    g_autofree char *after = NULL;
    if (is_told (edited))
      told[kind]++;
    else if (editing.left_over ||
             (kinds[kind].in_database && g_str_equal (before, after = dump (edited))))
      harmless[kind]++;
    else
    {
      print_error ("not told: %s\n", editing.what);
      missed++;
    }
  }
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    print_message ("%-16s %5u told, %4u change nothing that is read\n", kinds[i].name, told[i],
                   harmless[i]);
  g_free (editing.what);
  g_rand_free (editing.rand);
  assert_int_equal (missed, 0);
  if (n >= ALL_EDITS)
    check_columns (&editing);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_changes_are_told, set_up_aside, tear_down_aside),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
