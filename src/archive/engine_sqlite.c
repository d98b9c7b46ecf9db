#include "archive/engine_sqlite.h"

#include <math.h>

#include "archive/database.h"
#include "archive/schema.h"

typedef struct
{
  WsQuery query;
  sqlite3_stmt *stmt;
} SqliteQuery;

static sqlite3_stmt *
stmt_of (WsQuery *query)
{
  return ((SqliteQuery *)query)->stmt;
}

static sqlite3 *
db_of (WsEngine *engine)
{
  return ((WsSqlite *)engine)->db;
}

/* ---- The connection -------------------------------------------------------------------------- */

static void
close_engine (WsEngine *engine)
{
  if (db_of (engine) != NULL)
    sqlite3_close (db_of (engine));
  g_free (engine);
}

static gboolean
expect_still (WsEngine *engine, GError **error)
{
  const WsSqlite *sqlite = (WsSqlite *)engine;
  return wsi_frozen_expect_still (sqlite->db, engine->name, &sqlite->opened, error);
}

/* What was read while somebody wrote isn't damaged. */
static gboolean
refuse (WsEngine *engine, GError **error)
{
  return expect_still (engine, error) && wsi_database_refuse (db_of (engine), engine->name, error);
}

static gboolean
check_tables (WsEngine *engine, WsEngineVisit visit, gpointer data, GError **error)
{
  return wsi_schema_compare (db_of (engine), engine->name, engine->version, visit, data, error);
}

static gboolean
begin (WsEngine *engine, WsEngineTurn turn, GError **error)
{
  return wsi_database_run (db_of (engine), engine->name,
                           turn == WS_ENGINE_WRITING ? "BEGIN IMMEDIATE" : "BEGIN", error);
}

static gboolean
commit (WsEngine *engine, GError **error)
{
  return wsi_database_run (db_of (engine), engine->name, "COMMIT", error);
}

static void
roll_back (WsEngine *engine)
{
  sqlite3_exec (db_of (engine), "ROLLBACK", NULL, NULL, NULL);
}

/* ---- Queries --------------------------------------------------------------------------------- */

static WsQuery *
prepare (WsEngine *engine, const char *sql, WsQueryKind kind)
{
  sqlite3_stmt *stmt = NULL;
  const unsigned int flags = kind == WS_QUERY_KEPT ? SQLITE_PREPARE_PERSISTENT : 0;
  if (sqlite3_prepare_v3 (db_of (engine), sql, -1, flags, &stmt, NULL) != SQLITE_OK)
    return NULL;
  SqliteQuery *query = g_new0 (SqliteQuery, 1);
  query->query.engine = engine;
  query->stmt = stmt;
  return &query->query;
}

static WsQueryStep
step (WsQuery *query)
{
  const int code = sqlite3_step (stmt_of (query));
  return code == SQLITE_ROW ? WS_QUERY_ROW : code == SQLITE_DONE ? WS_QUERY_DONE : WS_QUERY_FAILED;
}

static void
reset (WsQuery *query)
{
  sqlite3_reset (stmt_of (query));
}

static void
free_query (WsQuery *query)
{
  sqlite3_finalize (stmt_of (query));
  g_free (query);
}

static void
bind_text (WsQuery *query, int at, const char *text)
{
  sqlite3_bind_text (stmt_of (query), at, text, -1, SQLITE_STATIC);
}

static void
bind_integer (WsQuery *query, int at, gint64 value)
{
  sqlite3_bind_int64 (stmt_of (query), at, value);
}

/* NAN becomes NULL. */
static void
bind_number (WsQuery *query, int at, double value)
{
  sqlite3_bind_double (stmt_of (query), at, value);
}

static const char *
text_at (WsQuery *query, int column)
{
  return (const char *)sqlite3_column_text (stmt_of (query), column);
}

static gint64
integer_at (WsQuery *query, int column)
{
  return sqlite3_column_int64 (stmt_of (query), column);
}

static double
number_at (WsQuery *query, int column)
{
  sqlite3_stmt *stmt = stmt_of (query);
  return sqlite3_column_type (stmt, column) == SQLITE_NULL ? NAN
                                                           : sqlite3_column_double (stmt, column);
}

/* ---- Opening --------------------------------------------------------------------------------- */

static const WsEngineCalls calls = {
  .close = close_engine,
  .refuse = refuse,
  .expect_still = expect_still,
  .check_tables = check_tables,
  .begin = begin,
  .commit = commit,
  .roll_back = roll_back,
  .prepare = prepare,
  .step = step,
  .reset = reset,
  .free_query = free_query,
  .bind_text = bind_text,
  .bind_integer = bind_integer,
  .bind_number = bind_number,
  .text = text_at,
  .integer = integer_at,
  .number = number_at,
};

WsEngine *
wsi_engine_sqlite_open (const char *folder, WsArchiveMode mode, WsEngineCover cover, GError **error)
{
  WsSqlite *sqlite = g_new0 (WsSqlite, 1);
  WsEngine *engine = &sqlite->engine;
  engine->calls = &calls;
  engine->name = g_strdup (folder);
  engine->pictures = g_strdup (folder);
  engine->like = "GLOB";
  engine->is_folder = TRUE;
  wsi_frozen_look (folder, &sqlite->opened);
  sqlite->db = wsi_database_open (folder, mode, error);
  if (sqlite->db != NULL &&
      (mode == WS_ARCHIVE_READ
         ? wsi_schema_expect (sqlite->db, folder, &engine->version, error)
         : wsi_schema_bring_up (sqlite->db, folder, &engine->version, cover, engine, error)))
    return engine;
  wsi_engine_free (engine);
  return NULL;
}
