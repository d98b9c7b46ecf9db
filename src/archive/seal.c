#include <string.h>

#include <whetsight/error.h>

#include "archive/statements.h"
#include "archive/store.h"

#define SEAL "whetsight-seal/1"

gboolean
ws_archive_head (WsArchive *archive, guint64 *count, char hash[WS_SHA256_HEX_SIZE], GError **error)
{
  WsHead head;
  if (!wsi_store_head (archive, &head, error))
    return FALSE;
  *count = head.count;
  memcpy (hash, head.hash, sizeof head.hash);
  return TRUE;
}

static gboolean
insert_seal (WsArchive *archive, const char *time, WsHead *head, GError **error)
{
  if (!wsi_store_head_to_go_on (archive, head, error))
    return FALSE;
  sqlite3_stmt *stmt = wsi_statement (archive, WS_SQL_INSERT_SEAL);
  wsi_bind_count (stmt, 1, ++head->seals);
  wsi_bind_text (stmt, 2, time);
  wsi_bind_count (stmt, 3, head->count);
  wsi_bind_text (stmt, 4, head->hash);
  wsi_head_add_seal (head->seals_hash, time, head->count, head->hash);
  return wsi_statement_finish (archive, stmt, error) && wsi_store_set_head (archive, head, error);
}

char *
ws_archive_seal (WsArchive *archive, GError **error)
{
  WsHead head;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  if (!wsi_transaction_begin_writing (archive, error))
    return NULL;
  if (!insert_seal (archive, time, &head, error) || !wsi_transaction_commit (archive, error))
  {
    wsi_transaction_roll_back (archive);
    return NULL;
  }
  return g_strdup_printf (SEAL " %s %" G_GUINT64_FORMAT " %s", time, head.count,
                          head.count > 0 ? head.hash : "-");
}
