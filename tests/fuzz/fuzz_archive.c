/*
 * An archive that somebody else sent: its database holds anything.
 *
 * The input is either a database file as it is, when it begins like one, or lines "COLUMN VALUE"
 * that are put into a sound archive of two inspections past the program: each sets a column of
 * one table in all its rows.  The first character of VALUE chooses its type: s text, i whole
 * number, r real number, b bytes, n null.  What can be read is listed, checked, found and exported.
 */
#define _GNU_SOURCE
#include <sqlite3.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <whetsight/archive.h>
#include <whetsight/exchange.h>

#include "archive/state.h"
#include "fuzz/files.h"

int LLVMFuzzerInitialize (int *argc, char ***argv);
int LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes);

#define DATABASE_STARTS "SQLite format 3"
#define MAX_LINES 20

#define RECORD                                                                                     \
  "{\"record\": \"whetsight/1\", \"id\": \"%s\", \"time\": \"2026-11-25T10:00:00Z\", "             \
  "\"tool\": {\"id\": \"T\", \"kind\": \"twist-drill\"}, \"view\": \"drill-side\", "               \
  "\"verdict\": \"accept\", \"quantities\": {\"point_angle_deg\": {\"value\": 118, \"U\": 0.1, "   \
  "\"k\": 2, \"lower\": 116, \"upper\": 120, \"verdict\": \"accept\"}}}"

static char *folder, *database;
static char *sound;
static gsize n_sound;

static void
store (WsArchive *archive, const char *id)
{
  g_autoptr (WsInspection) inspection = g_new0 (WsInspection, 1);
  inspection->record = g_strdup_printf (RECORD, id);
  if (!ws_archive_store (archive, inspection, NULL, NULL))
    g_error ("nothing stored");
}

/* Columns that hold what the program never puts there. */
static void
loosen (void)
{
  sqlite3 *db = NULL;
  if (sqlite3_open (database, &db) != SQLITE_OK ||
      sqlite3_exec (db,
                    "PRAGMA writable_schema = ON;"
                    "UPDATE sqlite_schema SET sql = replace (replace (sql, 'STRICT, ', ''),"
                    " ' STRICT', '');"
                    "PRAGMA writable_schema = RESET; PRAGMA journal_mode = DELETE;",
                    NULL, NULL, NULL) != SQLITE_OK)
    g_error ("the archive stays strict");
  sqlite3_close (db);
}

int
LLVMFuzzerInitialize (int *argc, char ***argv)
{
  (void)argc;
  (void)argv;
  folder = g_dir_make_tmp ("fuzz-archive-XXXXXX", NULL);
  database = g_build_filename (folder, "archive.db", NULL);
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  store (archive, "A");
  store (archive, "B");
  g_free (ws_archive_seal (archive, NULL));
  g_clear_pointer (&archive, ws_archive_free);
  loosen ();
  if (!g_file_get_contents (database, &sound, &n_sound, NULL))
    g_error ("no archive");
  return 0;
}

/* ---- Making it ------------------------------------------------------------------------ */

static void
bind (sqlite3_stmt *stmt, const char *value)
{
  const char *text = *value != '\0' ? value + 1 : value;
  switch (*value)
  {
  case 'i':
    sqlite3_bind_int64 (stmt, 1, g_ascii_strtoll (text, NULL, 10));
    break;
  case 'r':
    sqlite3_bind_double (stmt, 1, g_ascii_strtod (text, NULL));
    break;
  case 'b':
    sqlite3_bind_blob (stmt, 1, text, (int)strlen (text), SQLITE_TRANSIENT);
    break;
  case 'n':
    sqlite3_bind_null (stmt, 1);
    break;
  default:
    sqlite3_bind_text (stmt, 1, text, -1, SQLITE_TRANSIENT);
  }
}

static void
set_column (sqlite3 *db, const char *line)
{
  static const char *const tables[] = { "inspection", "record", "quantity", "file",
                                        "seal",       "head",   NULL };
  const char *value = strchr (line, ' ');
  g_autofree char *column = value != NULL ? g_strndup (line, (gsize)(value - line)) : NULL;
  for (const char *const *table = tables; column != NULL && *table != NULL; table++)
  {
    sqlite3_stmt *stmt = NULL;
    char *sql = sqlite3_mprintf ("UPDATE %w SET \"%w\" = ?", *table, column);
    if (sqlite3_prepare_v2 (db, sql, -1, &stmt, NULL) == SQLITE_OK)
    {
      bind (stmt, value + 1);
      sqlite3_step (stmt);
    }
    sqlite3_finalize (stmt);
    sqlite3_free (sql);
  }
}

static void
set_columns (const uint8_t *bytes, size_t n_bytes)
{
  sqlite3 *db = NULL;
  g_autofree char *text = g_strndup ((const char *)bytes, n_bytes);
  g_auto (GStrv) lines = g_strsplit (text, "\n", MAX_LINES);
  if (sqlite3_open (database, &db) == SQLITE_OK)
  {
    sqlite3_exec (db,
                  "PRAGMA journal_mode = MEMORY; PRAGMA synchronous = OFF;"
                  "PRAGMA ignore_check_constraints = ON; BEGIN",
                  NULL, NULL, NULL);
    for (char **line = lines; *line != NULL; line++)
      set_column (db, *line);
    sqlite3_exec (db, "COMMIT", NULL, NULL, NULL);
  }
  sqlite3_close (db);
}

/* ---- Reading it ----------------------------------------------------------------------- */

static void
hear (const char *what, gpointer data)
{
  (void)data;
  if (strchr (what, '\n') != NULL)
    g_error ("told in more than one line");
}

/* What other programs get of it is fuzz_exchange's; here one form is enough. */
static gboolean
visit (const WsInspection *inspection, gpointer data, GError **error)
{
  g_autoptr (GString) out = g_string_new (NULL);
  g_autoptr (WsExchange) exchange = ws_exchange_new (WS_EXCHANGE_CSV, NULL, "2026-11-25T12:00:00Z");
  double value;
  (void)data;
  (void)error;
  ws_archive_value (inspection, "point_angle_deg", &value);
  ws_exchange_add (exchange, inspection, out, NULL);
  return TRUE;
}

static void
read_archive (WsArchive *archive)
{
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  const WsArchiveFilter angles = { .quantity = "point_angle_deg", .above = NAN, .below = NAN };
  const WsVerifier verifier = { .tell = hear };
  WsVerification verification;
  ws_archive_each (archive, &all, TRUE, visit, NULL, NULL);
  ws_archive_verify (archive, NULL, &verifier, &verification, NULL);
  wsi_tool_state_free (wsi_archive_tool_state (archive, "T", NULL));
  ws_inspection_free (ws_archive_find (archive, "A", NULL));
  GPtrArray *values = ws_archive_values (archive, &angles, NULL);
  if (values != NULL)
    g_ptr_array_unref (values);
}

int
LLVMFuzzerTestOneInput (const uint8_t *bytes, size_t n_bytes)
{
  const gboolean whole = n_bytes > strlen (DATABASE_STARTS) &&
                         memcmp (bytes, DATABASE_STARTS, strlen (DATABASE_STARTS)) == 0;
  put_file (database, whole ? bytes : (const uint8_t *)sound, whole ? n_bytes : n_sound);
  if (!whole)
    set_columns (bytes, n_bytes);
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, NULL);
  if (archive != NULL)
    read_archive (archive);
  return 0;
}
