#include "archive/statements.h"

#include <math.h>

#include "archive/database.h"
#include "archive/frozen.h"

static const char *const sql_of[WS_N_STATEMENTS] = {
  [WS_SQL_READ_HEAD] = "SELECT count, hash, seals, seals_hash, digest"
                       " FROM head",
  [WS_SQL_READ_OLD_HEAD] = "SELECT count, hash, seals, '', '' FROM head",
  [WS_SQL_WRITE_HEAD] = "UPDATE head SET count = ?1, hash = ?2, seals = ?3, seals_hash = ?4,"
                        " digest = ?5",
  [WS_SQL_INSERT_INSPECTION] =
    "INSERT INTO inspection VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10,"
    " ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21)",
  [WS_SQL_INSERT_RECORD] = "INSERT INTO record VALUES (?1, ?2)",
  [WS_SQL_INSERT_QUANTITY] = "INSERT INTO quantity VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
  [WS_SQL_INSERT_FILE] = "INSERT OR IGNORE INTO file VALUES (?1, ?2)",
  [WS_SQL_ANNOUNCE] = "INSERT OR IGNORE INTO pending VALUES (?1)",
  [WS_SQL_CONFIRM] = "DELETE FROM pending WHERE sha256 = ?1",
  [WS_SQL_HAS_FILE] = "SELECT 1 FROM file WHERE sha256 = ?1",
  [WS_SQL_EACH_FILE] = "SELECT sha256, size FROM file ORDER BY sha256",
  [WS_SQL_EACH_PENDING] = "SELECT sha256, 0 FROM pending ORDER BY sha256",
  [WS_SQL_EACH_QUANTITY] = "SELECT name, value, U, lower, upper, verdict FROM quantity"
                           " WHERE number = ?1 ORDER BY name",
  [WS_SQL_INSERT_SEAL] = "INSERT INTO seal VALUES (?1, ?2, ?3, ?4)",
  [WS_SQL_EACH_SEAL] = "SELECT number, time, count, hash FROM seal ORDER BY number",
  [WS_SQL_SEALED_ROWS] = "SELECT coalesce (max (count), 0) FROM seal",
  [WS_SQL_COUNT_STRAYS] = "SELECT (SELECT count (*) FROM record WHERE number NOT IN"
                          " (SELECT number FROM inspection)) + (SELECT count (DISTINCT number) FROM"
                          " quantity WHERE number NOT IN (SELECT number FROM inspection))",
  [WS_SQL_CHECK_PAGES] = "PRAGMA integrity_check (10)",
  [WS_SQL_COUNT_BYTES] = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size",
  [WS_SQL_ID_TAKEN] = "SELECT 1 FROM inspection WHERE id = ?1",
  [WS_SQL_RECORD_OF_ID] = "SELECT record FROM record WHERE number ="
                          " (SELECT number FROM inspection WHERE id = ?1)",
  [WS_SQL_ROW_OF_ID] = "SELECT " WS_ROW_COLUMNS ", imported, clock, about,"
                       " (SELECT record FROM record WHERE record.number = inspection.number)"
                       " FROM inspection WHERE id = ?1",
  [WS_SQL_HAS_NOTES] = "SELECT 1 FROM inspection WHERE about = ?1",
  [WS_SQL_READ_HASH] = "SELECT hash FROM inspection WHERE number = ?1",
  [WS_SQL_READ_PREVIOUS] = "SELECT previous FROM inspection WHERE number = ?1",
  [WS_SQL_NEWEST_TIME] = "SELECT time FROM inspection WHERE imported IS NULL"
                         " ORDER BY time DESC LIMIT 1",
  [WS_SQL_LAST_TIME] = "SELECT max (time) FROM inspection",
  [WS_SQL_PICTURES_AFTER] = "SELECT image, annotated FROM inspection WHERE number > ?1",
  [WS_SQL_EACH_ACCOUNT] = "SELECT name, role, hash FROM account ORDER BY name",
  [WS_SQL_FIND_ACCOUNT] = "SELECT name, role, hash FROM account WHERE name = ?1",
  [WS_SQL_SET_ACCOUNT] = "INSERT OR REPLACE INTO account VALUES (?1, ?2, ?3)",
  [WS_SQL_LOST_ACCOUNTS] = "SELECT DISTINCT about FROM inspection WHERE view = 'event' AND"
                           " kind = 'account' AND imported IS NULL AND"
                           " about NOT IN (SELECT 'account ' || name FROM account)",
  [WS_SQL_REMOVE_FILE] = "DELETE FROM file WHERE sha256 = ?1",
};

gboolean
wsi_archive_expect_still (WsArchive *archive, GError **error)
{
  return wsi_frozen_expect_still (archive->db, archive->folder, &archive->opened, error);
}

/* What was read while somebody wrote isn't damaged. */
gboolean
wsi_statement_refuse (WsArchive *archive, GError **error)
{
  if (!wsi_archive_expect_still (archive, error))
    return FALSE;
  return wsi_database_refuse (archive->db, archive->folder, error);
}

static gboolean
run (WsArchive *archive, const char *sql, GError **error)
{
  return wsi_database_run (archive->db, archive->folder, sql, error);
}

gboolean
wsi_transaction_begin_writing (WsArchive *archive, GError **error)
{
  return run (archive, "BEGIN IMMEDIATE", error);
}

gboolean
wsi_transaction_begin_reading (WsArchive *archive, GError **error)
{
  return run (archive, "BEGIN", error);
}

gboolean
wsi_transaction_commit (WsArchive *archive, GError **error)
{
  return run (archive, "COMMIT", error);
}

void
wsi_transaction_roll_back (WsArchive *archive)
{
  sqlite3_exec (archive->db, "ROLLBACK", NULL, NULL, NULL);
}

sqlite3_stmt *
wsi_statement (WsArchive *archive, WsStatement which)
{
  sqlite3_stmt **prepared = &archive->prepared[which];
  if (*prepared == NULL)
    sqlite3_prepare_v3 (archive->db, sql_of[which], -1, SQLITE_PREPARE_PERSISTENT, prepared, NULL);
  else
    sqlite3_reset (*prepared);
  return *prepared;
}

void
wsi_bind_text (sqlite3_stmt *stmt, int at, const char *text)
{
  sqlite3_bind_text (stmt, at, text, -1, SQLITE_STATIC);
}

void
wsi_bind_count (sqlite3_stmt *stmt, int at, guint64 count)
{
  sqlite3_bind_int64 (stmt, at, (sqlite3_int64)count);
}

gboolean
wsi_statement_finish (WsArchive *archive, sqlite3_stmt *stmt, GError **error)
{
  const gboolean done = stmt != NULL && sqlite3_step (stmt) == SQLITE_DONE;
  if (!done)
    wsi_statement_refuse (archive, error);
  sqlite3_reset (stmt);
  return done;
}

const char *
wsi_column_text (sqlite3_stmt *stmt, int column)
{
  return (const char *)sqlite3_column_text (stmt, column);
}

const char *
wsi_column_text_or (sqlite3_stmt *stmt, int column, const char *otherwise)
{
  const char *text = wsi_column_text (stmt, column);
  return text != NULL ? text : otherwise;
}

double
wsi_column_number (sqlite3_stmt *stmt, int column)
{
  return sqlite3_column_type (stmt, column) == SQLITE_NULL ? NAN
                                                           : sqlite3_column_double (stmt, column);
}

void
wsi_statements_clear (WsArchive *archive)
{
  for (int i = 0; i < WS_N_STATEMENTS; i++)
    sqlite3_finalize (archive->prepared[i]);
}
