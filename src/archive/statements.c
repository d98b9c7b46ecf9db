#include "archive/statements.h"

/* Behind the inspection's number, each mark is the next value that is bound. */
#define ONE_QUANTITY "(?1, ?, ?, ?, ?, ?, ?)"
#define FOUR_QUANTITIES ONE_QUANTITY ", " ONE_QUANTITY ", " ONE_QUANTITY ", " ONE_QUANTITY

/* Of an archive in a folder; and of one of many benches, where that isn't said below. */
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
  /* FAIL: nobody goes on after one that can't be stored, so what is there of it needn't be kept
   * apart. */
  [WS_SQL_INSERT_QUANTITIES] =
    "INSERT OR FAIL INTO quantity VALUES " FOUR_QUANTITIES ", " FOUR_QUANTITIES,
  [WS_SQL_INSERT_FILE] = "INSERT INTO file VALUES (?1, ?2) ON CONFLICT DO NOTHING",
  [WS_SQL_ANNOUNCE] = "INSERT INTO pending VALUES (?1) ON CONFLICT DO NOTHING",
  [WS_SQL_CONFIRM] = "DELETE FROM pending WHERE sha256 = ?1",
  [WS_SQL_HAS_FILE] = "SELECT 1 FROM file WHERE sha256 = ?1",
  [WS_SQL_EACH_FILE] = "SELECT sha256, size FROM file ORDER BY sha256",
  [WS_SQL_EACH_PENDING] = "SELECT sha256, 0 FROM pending ORDER BY sha256",
  [WS_SQL_EACH_QUANTITY] = "SELECT name, value, U, lower, upper, verdict FROM quantity"
                           " WHERE number = ?1 ORDER BY name",
  [WS_SQL_READ_SEALS] = "SELECT seals, seals_hash FROM head",
  [WS_SQL_READ_OLD_SEALS] = "SELECT seals, '' FROM head",
  [WS_SQL_INSERT_SEAL] = "INSERT INTO seal VALUES (?1, ?2, ?3, ?4)",
  [WS_SQL_EACH_SEAL] = "SELECT number, time, count, hash, NULL FROM seal ORDER BY number",
  [WS_SQL_SEALED_ROWS] = "SELECT coalesce (max (count), 0) FROM seal",
  [WS_SQL_COUNT_STRAYS] = "SELECT (SELECT count (*) FROM record WHERE number NOT IN"
                          " (SELECT number FROM inspection)) + (SELECT count (DISTINCT number) FROM"
                          " quantity WHERE number NOT IN (SELECT number FROM inspection))",
  [WS_SQL_CHECK_PAGES] = "PRAGMA integrity_check (10)",
  [WS_SQL_COUNT_BYTES] = "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size",
  [WS_SQL_ID_TAKEN] = "SELECT 1 FROM inspection WHERE id = ?1",
  [WS_SQL_RECORD_OF_ID] = "SELECT record FROM record WHERE number ="
                          " (SELECT number FROM inspection WHERE id = ?1)",
  [WS_SQL_ROW_OF_ID] =
    "SELECT " WS_ROW_COLUMNS ", imported, clock, about, NULL, number, kept.record"
    " FROM inspection" WS_KEPT_RECORD " WHERE id = ?1",
  [WS_SQL_HAS_NOTES] = "SELECT 1 FROM inspection WHERE about = ?1",
  [WS_SQL_HOLD_ID] = "SELECT 1{ FROM pg_advisory_xact_lock (hashtextextended (?1, 0))}",
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

/* Each row belongs to a bench, the newest of an account's rows counts, and what a bench writes the
 * server sees to: head and seals move by themselves. */
static const char *const sql_of_benches[WS_N_STATEMENTS] = {
  [WS_SQL_EACH_BENCH] = "SELECT bench, count, hash FROM head ORDER BY bench",
  [WS_SQL_READ_HEAD] = "SELECT count, hash, 0, '', digest FROM head WHERE bench = ?1",
  [WS_SQL_INSERT_INSPECTION] =
    "INSERT INTO inspection (place, id, time, tool, kind, view, verdict, reason, image_name, image,"
    " annotated, settings, station, grinder, reground, pictures, previous, hash, imported, clock,"
    " about, bench) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16,"
    " ?17, ?18, ?19, ?20, ?21, ?22) RETURNING number",
  [WS_SQL_INSERT_RECORD] = "INSERT INTO record (number, month, record)"
                           " SELECT number, month, ?2 FROM inspection WHERE number = ?1",
  [WS_SQL_INSERT_QUANTITIES] =
    "INSERT INTO quantity SELECT i.number, q.name, q.value, q.u, q.lower, q.upper, q.verdict,"
    " i.month FROM inspection i, json_to_recordset (?2::json) AS q (name text, value float8,"
    " u float8, lower float8, upper float8, verdict text) WHERE i.number = ?1",
  [WS_SQL_CONFIRM] = "SELECT confirm (?1)",
  [WS_SQL_EACH_QUANTITY] = "SELECT name, value, u, lower, upper, verdict FROM quantity"
                           " WHERE number = ?1 AND month = (SELECT month FROM inspection"
                           " WHERE number = ?1) ORDER BY name",
  [WS_SQL_READ_SEALS] = "SELECT seals, seals_hash FROM plant",
  [WS_SQL_INSERT_SEAL_TEXT] = "INSERT INTO seal_text VALUES (?1, ?2)",
  [WS_SQL_MAKE_SEAL] = "SELECT number, count, hash FROM make_seal (?1)",
  [WS_SQL_EACH_SEAL] = "SELECT number, time, count, hash, heads FROM seal ORDER BY number",
  [WS_SQL_COUNT_STRAYS] =
    "SELECT (SELECT count (*) FROM record r WHERE NOT EXISTS (SELECT 1 FROM inspection i"
    " WHERE i.number = r.number AND i.month = r.month)) + (SELECT count (DISTINCT number) FROM"
    " quantity q WHERE NOT EXISTS (SELECT 1 FROM inspection i WHERE i.number = q.number AND"
    " i.month = q.month))",
  [WS_SQL_COUNT_BYTES] = "SELECT coalesce (sum (pg_relation_size (oid)), 0)::bigint FROM pg_class"
                         " WHERE relnamespace = 'whetsight'::regnamespace",
  [WS_SQL_ID_TAKEN] = "SELECT 1 FROM inspection WHERE id = ?1 AND bench = ?2",
  [WS_SQL_RECORD_OF_ID] = "SELECT " WS_ROW_RECORD " FROM inspection WHERE id = ?1"
                          " ORDER BY imported IS NOT NULL, number LIMIT 1",
  [WS_SQL_ROW_OF_ID] =
    "SELECT " WS_ROW_COLUMNS ", imported, clock, about, bench, place, " WS_ROW_RECORD
    " FROM inspection WHERE id = ?1 AND bench = ?2",
  [WS_SQL_READ_HASH] = "SELECT hash FROM inspection WHERE place = ?1 AND bench = ?2",
  [WS_SQL_READ_PREVIOUS] = "SELECT previous FROM inspection WHERE place = ?1 AND bench = ?2",
  [WS_SQL_NEWEST_TIME] = "SELECT time FROM inspection WHERE imported IS NULL AND bench = ?1"
                         " ORDER BY time DESC LIMIT 1",
  [WS_SQL_EACH_ACCOUNT] = "SELECT DISTINCT ON (name) name, role, hash FROM account WHERE bench = ?1"
                          " ORDER BY name, row DESC",
  [WS_SQL_FIND_ACCOUNT] = "SELECT name, role, hash FROM account WHERE name = ?1 AND bench = ?2"
                          " ORDER BY row DESC LIMIT 1",
  [WS_SQL_SET_ACCOUNT] = "INSERT INTO account (name, role, hash, bench) VALUES (?1, ?2, ?3, ?4)",
  [WS_SQL_LOST_ACCOUNTS] =
    "SELECT DISTINCT about FROM inspection WHERE view = 'event' AND"
    " kind = 'account' AND imported IS NULL AND bench = ?1 AND"
    " about NOT IN (SELECT 'account ' || name FROM account WHERE bench = ?1)",
};

static const char *
sql (const WsArchive *archive, WsStatement which)
{
  return archive->engine->bench != NULL && sql_of_benches[which] != NULL ? sql_of_benches[which]
                                                                         : sql_of[which];
}

static WsQueryKind
kind_of (WsStatement which)
{
  return which == WS_SQL_EACH_FILE || which == WS_SQL_EACH_PENDING ? WS_QUERY_LONG : WS_QUERY_KEPT;
}

gboolean
wsi_archive_expect_still (WsArchive *archive, GError **error)
{
  return archive->engine->calls->expect_still (archive->engine, error);
}

gboolean
wsi_statement_refuse (WsArchive *archive, GError **error)
{
  return wsi_engine_refuse (archive->engine, error);
}

gboolean
wsi_transaction_begin_writing (WsArchive *archive, GError **error)
{
  return archive->engine->calls->begin (archive->engine, WS_ENGINE_WRITING, error);
}

gboolean
wsi_transaction_begin_reading (WsArchive *archive, GError **error)
{
  return archive->engine->calls->begin (archive->engine, WS_ENGINE_READING, error);
}

gboolean
wsi_transaction_commit (WsArchive *archive, GError **error)
{
  return archive->engine->calls->commit (archive->engine, error);
}

void
wsi_transaction_roll_back (WsArchive *archive)
{
  archive->engine->calls->roll_back (archive->engine);
}

WsQuery *
wsi_statement (WsArchive *archive, WsStatement which)
{
  WsQuery **prepared = &archive->prepared[which];
  if (*prepared == NULL)
    *prepared = wsi_query_new (archive->engine, sql (archive, which), kind_of (which));
  else
    wsi_reset (*prepared);
  return *prepared;
}

gboolean
wsi_statement_finish (WsArchive *archive, WsQuery *query, GError **error)
{
  const gboolean done =
    wsi_step (query) != WS_QUERY_FAILED || wsi_statement_refuse (archive, error);
  wsi_reset (query);
  return done;
}

void
wsi_statements_clear (WsArchive *archive)
{
  for (int i = 0; i < WS_N_STATEMENTS; i++)
    wsi_query_free (archive->prepared[i]);
}
