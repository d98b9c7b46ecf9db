#include "archive/schema.h"

#include <whetsight/error.h>

#include "archive/database.h"
#include "archive/files.h"

#define APPLICATION_ID 0x57734172 /* "WsAr" */
#define SCHEMA_VERSION 5

/* From version i to i + 1. */
static const char *const migrations[SCHEMA_VERSION] = {
  ("CREATE TABLE inspection ("
   "  number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, time TEXT NOT NULL, tool TEXT,"
   "  kind TEXT NOT NULL, view TEXT NOT NULL, verdict TEXT, reason TEXT, image_name TEXT,"
   "  image TEXT, annotated TEXT, settings TEXT, station TEXT, grinder TEXT,"
   "  reground INTEGER NOT NULL, pictures INTEGER NOT NULL, previous TEXT NOT NULL,"
   "  hash TEXT NOT NULL) STRICT;"
   "CREATE INDEX inspection_tool ON inspection (tool);"
   "CREATE INDEX inspection_time ON inspection (time);"
   "CREATE INDEX inspection_image ON inspection (image);"
   "CREATE TABLE record (number INTEGER PRIMARY KEY REFERENCES inspection (number)"
   "  DEFERRABLE INITIALLY DEFERRED, record TEXT NOT NULL) STRICT;"
   "CREATE TABLE quantity (number INTEGER NOT NULL REFERENCES inspection (number)"
   "  DEFERRABLE INITIALLY DEFERRED, name TEXT NOT NULL, value REAL, U REAL, lower REAL,"
   "  upper REAL, verdict TEXT, PRIMARY KEY (number, name)) STRICT, WITHOUT ROWID;"
   "CREATE TABLE file (sha256 TEXT PRIMARY KEY, size INTEGER NOT NULL) STRICT, WITHOUT ROWID;"
   "CREATE TABLE pending (sha256 TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;"
   "CREATE TABLE seal (number INTEGER PRIMARY KEY, time TEXT NOT NULL, count INTEGER NOT NULL,"
   "  hash TEXT NOT NULL) STRICT;"
   "CREATE TABLE head (one INTEGER PRIMARY KEY CHECK (one = 1), count INTEGER NOT NULL,"
   "  hash TEXT NOT NULL, seals INTEGER NOT NULL) STRICT;"
   "INSERT INTO head VALUES (1, 0, '', 0);"
   "PRAGMA application_id = 1467171186;" /* APPLICATION_ID */
   "PRAGMA user_version = 1;"),
  "ALTER TABLE inspection ADD COLUMN imported TEXT; PRAGMA user_version = 2;",
  ("ALTER TABLE inspection ADD COLUMN clock TEXT;"
   "ALTER TABLE head ADD COLUMN seals_hash TEXT NOT NULL DEFAULT '';"
   "ALTER TABLE head ADD COLUMN digest TEXT NOT NULL DEFAULT '';" /* set by wsi_head_cover() */
   "PRAGMA user_version = 3;"),
  ("ALTER TABLE inspection ADD COLUMN about TEXT;" /* of a note: the inspection that it is on */
   "CREATE INDEX inspection_about ON inspection (about);"
   "PRAGMA user_version = 4;"),
  ("CREATE TABLE account (name TEXT PRIMARY KEY, role TEXT NOT NULL, hash TEXT NOT NULL)"
   "  STRICT, WITHOUT ROWID;"
   "PRAGMA user_version = 5;"),
};

static gboolean
read_pragma (sqlite3 *db, const char *folder, const char *sql, int *value, GError **error)
{
  sqlite3_stmt *stmt = NULL;
  const gboolean done =
    sqlite3_prepare_v2 (db, sql, -1, &stmt, NULL) == SQLITE_OK && sqlite3_step (stmt) == SQLITE_ROW;
  if (done)
    *value = sqlite3_column_int (stmt, 0);
  else
    wsi_database_refuse (db, folder, error);
  sqlite3_finalize (stmt);
  return done;
}

static gboolean
check_kind (sqlite3 *db, const char *folder, int *version, GError **error)
{
  int application, tables;
  if (!read_pragma (db, folder, "PRAGMA application_id", &application, error) ||
      !read_pragma (db, folder, "PRAGMA user_version", version, error) ||
      !read_pragma (db, folder, "SELECT count (*) FROM sqlite_schema", &tables, error))
    return FALSE;
  const gboolean is_new = application == 0 && *version == 0 && tables == 0;
  if (!is_new && application != APPLICATION_ID)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: " WS_DATABASE_NAME " is another program's database", folder);
  else if (*version > SCHEMA_VERSION)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: made by a newer version of this program (form %d); use that", folder,
                 *version);
  else
    return TRUE;
  return FALSE;
}

gboolean
wsi_schema_expect (sqlite3 *db, const char *folder, int *version, GError **error)
{
  if (!check_kind (db, folder, version, error))
    return FALSE;
  if (*version > 0)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "archive %s: " WS_DATABASE_NAME " is empty, no archive; put back a copy", folder);
  return FALSE;
}

/* ---- Is it as we make it? ---------------------------------------------------------------- */

/* "trigger keep" -> its definition. */
static GHashTable *
list_objects (sqlite3 *db)
{
  sqlite3_stmt *stmt = NULL;
  int code;
  GHashTable *objects = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  static const char sql[] = "SELECT type || ' ' || name, tbl_name || coalesce (': ' || sql, '')"
                            " FROM sqlite_schema ORDER BY 1";
  sqlite3_prepare_v2 (db, sql, -1, &stmt, NULL);
  while ((code = sqlite3_step (stmt)) == SQLITE_ROW)
    g_hash_table_insert (objects, g_strdup ((const char *)sqlite3_column_text (stmt, 0)),
                         g_strdup ((const char *)sqlite3_column_text (stmt, 1)));
  sqlite3_finalize (stmt);
  if (code != SQLITE_DONE)
    g_clear_pointer (&objects, g_hash_table_unref);
  return objects;
}

/* Those of an archive of that version. */
static GHashTable *
list_ours (int version)
{
  sqlite3 *db = NULL;
  GHashTable *objects = NULL;
  gboolean made = sqlite3_open (":memory:", &db) == SQLITE_OK;
  for (int i = 0; made && i < version; i++)
    made = sqlite3_exec (db, migrations[i], NULL, NULL, NULL) == SQLITE_OK;
  if (made)
    objects = list_objects (db);
  sqlite3_close (db);
  return objects;
}

static void
tell (WsEngineVisit visit, gpointer data, const char *name, const char *what)
{
  g_autofree char *words = g_strdup_printf ("%s: %s", name, what);
  visit (words, data);
}

gboolean
wsi_schema_compare (sqlite3 *db, const char *folder, int version, WsEngineVisit visit,
                    gpointer data, GError **error)
{
  GHashTableIter iter;
  gpointer name, definition;
  g_autoptr (GHashTable) ours = list_ours (version);
  g_autoptr (GHashTable) theirs = list_objects (db);
  if (ours == NULL || theirs == NULL)
    return wsi_database_refuse (db, folder, error);
  g_hash_table_iter_init (&iter, theirs);
  while (g_hash_table_iter_next (&iter, &name, &definition))
  {
    const char *made = g_hash_table_lookup (ours, name);
    if (made == NULL)
      tell (visit, data, name, "not ours");
    else if (!g_str_equal (made, (const char *)definition))
      tell (visit, data, name, "changed");
  }
  g_hash_table_iter_init (&iter, ours);
  while (g_hash_table_iter_next (&iter, &name, NULL))
    if (!g_hash_table_contains (theirs, name))
      tell (visit, data, name, "missing");
  return TRUE;
}

static void
note_first (const char *what, gpointer data)
{
  char **first = data;
  if (*first == NULL)
    *first = g_strdup (what);
}

static gboolean
check_objects (sqlite3 *db, const char *folder, int version, GError **error)
{
  g_autofree char *first = NULL;
  if (!wsi_schema_compare (db, folder, version, note_first, &first, error))
    return FALSE;
  if (first != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: its tables were changed (%s), so nothing is written; whetsight "
                 "archive verify tells more",
                 folder, first);
  return first == NULL;
}

/* Others may be at the same: the version is looked at again once nobody else can write. */
static gboolean
migrate (sqlite3 *db, const char *folder, int *version, WsEngineCover cover, WsEngine *engine,
         GError **error)
{
  if (!wsi_database_run (db, folder, "BEGIN IMMEDIATE", error))
    return FALSE;
  gboolean done = check_kind (db, folder, version, error);
  const gboolean to_cover = done && *version < WS_VERSION_OF_DIGESTS;
  for (; done && *version < SCHEMA_VERSION; ++*version)
    done = wsi_database_run (db, folder, migrations[*version], error);
  done =
    done && (!to_cover || cover (engine, error)) && wsi_database_run (db, folder, "COMMIT", error);
  if (!done)
    sqlite3_exec (db, "ROLLBACK", NULL, NULL, NULL);
  return done;
}

/* One view of it, whoever makes it meanwhile. */
static gboolean
check_whole (sqlite3 *db, const char *folder, int *version, GError **error)
{
  if (!wsi_database_run (db, folder, "BEGIN", error))
    return FALSE;
  const gboolean good = check_kind (db, folder, version, error) &&
                        (*version == 0 || check_objects (db, folder, *version, error));
  sqlite3_exec (db, "ROLLBACK", NULL, NULL, NULL);
  return good;
}

gboolean
wsi_schema_bring_up (sqlite3 *db, const char *folder, int *version, WsEngineCover cover,
                     WsEngine *engine, GError **error)
{
  return check_whole (db, folder, version, error) &&
         (*version == SCHEMA_VERSION || migrate (db, folder, version, cover, engine, error));
}
