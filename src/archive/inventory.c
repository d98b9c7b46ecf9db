/*
 * What the database holds, for checking it.
 */
#include <math.h>

#include "archive/statements.h"
#include "archive/store.h"

static gboolean
each_name (WsArchive *archive, WsStatement which, WsFileVisit visit, gpointer data, GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  WsQuery *stmt = wsi_statement (archive, which);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
    if (!visit (wsi_column_text_or (stmt, 0, ""), wsi_column_integer (stmt, 1), data))
      break;
  const gboolean done =
    step == WS_QUERY_DONE || step == WS_QUERY_ROW || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

gboolean
wsi_store_each_file (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error)
{
  return each_name (archive, WS_SQL_EACH_FILE, visit, data, error);
}

gboolean
wsi_store_each_pending (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error)
{
  return each_name (archive, WS_SQL_EACH_PENDING, visit, data, error);
}

gboolean
wsi_store_check_pages (WsArchive *archive, WsFileVisit visit, gpointer data, GError **error)
{
  return !archive->engine->is_folder || each_name (archive, WS_SQL_CHECK_PAGES, visit, data, error);
}

static double
number_in (const json_t *quantity, size_t at)
{
  const json_t *value = json_array_get (quantity, at);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

/* As they came with their row. */
static void
visit_quantities (const json_t *quantities, WsRowVisit visit, gpointer data)
{
  for (size_t i = 0; i < json_array_size (quantities); i++)
  {
    const json_t *quantity = json_array_get (quantities, i);
    const char *name = json_string_value (json_array_get (quantity, 0));
    const WsRow row = { .name = name != NULL ? name : "",
                        .value = number_in (quantity, 1),
                        .U = number_in (quantity, 2),
                        .k = NAN,
                        .lower = number_in (quantity, 3),
                        .upper = number_in (quantity, 4),
                        .verdict = json_string_value (json_array_get (quantity, 5)) };
    visit (&row, data);
  }
}

gboolean
wsi_store_each_quantity (WsArchive *archive, guint64 number, WsRowVisit visit, gpointer data,
                         GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  if (archive->beside != NULL && archive->beside->number == number)
  {
    visit_quantities (archive->beside->quantities, visit, data);
    return TRUE;
  }
  WsQuery *stmt = wsi_statement (archive, WS_SQL_EACH_QUANTITY);
  wsi_bind_count (stmt, 1, number);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
  {
    const WsRow row = { .name = wsi_column_text_or (stmt, 0, ""),
                        .value = wsi_column_number (stmt, 1),
                        .U = wsi_column_number (stmt, 2),
                        .k = NAN,
                        .lower = wsi_column_number (stmt, 3),
                        .upper = wsi_column_number (stmt, 4),
                        .verdict = wsi_column_text (stmt, 5) };
    visit (&row, data);
  }
  const gboolean done = step == WS_QUERY_DONE || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

gboolean
wsi_store_each_seal (WsArchive *archive, WsSealVisit visit, gpointer data, GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  WsQuery *stmt = wsi_statement (archive, WS_SQL_EACH_SEAL);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
  {
    const WsStoredSeal seal = { .number = wsi_column_count (stmt, 0),
                                .time = wsi_column_text_or (stmt, 1, ""),
                                .count = wsi_column_count (stmt, 2),
                                .hash = wsi_column_text_or (stmt, 3, ""),
                                .heads = wsi_column_text (stmt, 4) };
    visit (&seal, data);
  }
  const gboolean done = step == WS_QUERY_DONE || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

static gboolean
read_link (WsArchive *archive, WsStatement which, const char *bench, guint64 place,
           char hash[WS_SHA256_HEX_SIZE], gboolean *found, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, which);
  wsi_bind_count (stmt, 1, place);
  wsi_bind_bench (stmt, 2, bench);
  const WsQueryStep step = wsi_step (stmt);
  *found = step == WS_QUERY_ROW;
  g_strlcpy (hash, *found ? wsi_column_text_or (stmt, 0, "") : "", WS_SHA256_HEX_SIZE);
  const gboolean done = step != WS_QUERY_FAILED || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

gboolean
wsi_store_hash (WsArchive *archive, const char *bench, guint64 place, char hash[WS_SHA256_HEX_SIZE],
                gboolean *found, GError **error)
{
  return read_link (archive, WS_SQL_READ_HASH, bench, place, hash, found, error);
}

gboolean
wsi_store_previous (WsArchive *archive, const char *bench, guint64 place,
                    char hash[WS_SHA256_HEX_SIZE], gboolean *found, GError **error)
{
  return read_link (archive, WS_SQL_READ_PREVIOUS, bench, place, hash, found, error);
}

static gboolean
read_count (WsArchive *archive, WsStatement which, guint64 *n, GError **error)
{
  WsQuery *stmt = wsi_statement (archive, which);
  const gboolean done = wsi_step (stmt) == WS_QUERY_ROW;
  if (done)
    *n = wsi_column_count (stmt, 0);
  else
    wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

gboolean
wsi_store_strays (WsArchive *archive, guint64 *n, GError **error)
{
  return read_count (archive, WS_SQL_COUNT_STRAYS, n, error);
}

gboolean
wsi_store_bytes (WsArchive *archive, guint64 *n, GError **error)
{
  return read_count (archive, WS_SQL_COUNT_BYTES, n, error);
}

gboolean
wsi_store_check_tables (WsArchive *archive, WsEngineVisit visit, gpointer data, GError **error)
{
  return archive->engine->calls->check_tables (archive->engine, visit, data, error);
}

gboolean
wsi_store_begin_reading (WsArchive *archive, GError **error)
{
  return wsi_transaction_begin_reading (archive, error);
}

void
wsi_store_end_reading (WsArchive *archive)
{
  wsi_transaction_commit (archive, NULL);
}
