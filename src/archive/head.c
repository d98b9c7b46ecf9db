/*
 * The head: how many rows and seals there are, and the hashes that say which.
 */
#include <string.h>

#include <whetsight/error.h>

#include "archive/schema.h"
#include "archive/statements.h"
#include "archive/store.h"

static void
hash_text (GString *text, char hash[WS_SHA256_HEX_SIZE])
{
  wsi_sha256_hex (text->str, text->len, hash);
  g_string_free (text, TRUE);
}

void
wsi_head_digest (const WsHead *head, char digest[WS_SHA256_HEX_SIZE])
{
  GString *text = g_string_new ("whetsight-head/1\n");
  g_string_append_printf (text, "rows %" G_GUINT64_FORMAT " %s\n", head->count, head->hash);
  g_string_append_printf (text, "seals %" G_GUINT64_FORMAT " %s\n", head->seals, head->seals_hash);
  hash_text (text, digest);
}

void
wsi_head_add_seal (char hash[WS_SHA256_HEX_SIZE], const char *time, guint64 count, const char *head)
{
  GString *text = g_string_new ("whetsight-seals/1\n");
  g_string_append_printf (text, "previous %s\ntime %s\ncount %" G_GUINT64_FORMAT "\nhash %s\n",
                          hash, time, count, head);
  hash_text (text, hash);
}

/* What is longer isn't one, and isn't to be taken for its beginning. */
static void
take_hash (WsQuery *stmt, int column, char hash[WS_SHA256_HEX_SIZE])
{
  const char *text = wsi_column_text_or (stmt, column, "");
  g_strlcpy (hash, strlen (text) < WS_SHA256_HEX_SIZE ? text : "no hash", WS_SHA256_HEX_SIZE);
}

/* A bench that wrote nothing yet has no row. */
static gboolean
begin_head (const WsArchive *archive, WsHead *head, GError **error)
{
  if (archive->engine->bench != NULL)
  {
    wsi_head_digest (head, head->digest);
    return TRUE;
  }
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "archive %s: the head row was removed",
               archive->engine->name);
  return FALSE;
}

gboolean
wsi_store_head (WsArchive *archive, const char *bench, WsHead *head, GError **error)
{
  gboolean done = TRUE;
  WsQuery *stmt = wsi_statement (archive, archive->engine->version >= WS_VERSION_OF_DIGESTS
                                            ? WS_SQL_READ_HEAD
                                            : WS_SQL_READ_OLD_HEAD);
  wsi_bind_bench (stmt, 1, bench);
  const WsQueryStep step = wsi_step (stmt);
  *head = (WsHead){ 0 };
  if (step == WS_QUERY_ROW)
  {
    head->count = wsi_column_count (stmt, 0);
    take_hash (stmt, 1, head->hash);
    head->seals = wsi_column_count (stmt, 2);
    take_hash (stmt, 3, head->seals_hash);
    take_hash (stmt, 4, head->digest);
  }
  else
    done = step == WS_QUERY_DONE ? begin_head (archive, head, error)
                                 : wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

gboolean
wsi_store_head_to_go_on (WsArchive *archive, WsHead *head, GError **error)
{
  char digest[WS_SHA256_HEX_SIZE];
  if (!wsi_store_head (archive, NULL, head, error))
    return FALSE;
  wsi_head_digest (head, digest);
  if (g_str_equal (digest, head->digest))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "archive %s: its head was changed, so nothing is written; whetsight archive verify "
               "tells more",
               archive->engine->name);
  return FALSE;
}

gboolean
wsi_store_set_head (WsArchive *archive, const WsHead *head, GError **error)
{
  char digest[WS_SHA256_HEX_SIZE];
  if (archive->engine->bench != NULL)
    return TRUE; /* it moved with the row */
  WsQuery *stmt = wsi_statement (archive, WS_SQL_WRITE_HEAD);
  wsi_head_digest (head, digest);
  wsi_bind_count (stmt, 1, head->count);
  wsi_bind_text (stmt, 2, head->hash);
  wsi_bind_count (stmt, 3, head->seals);
  wsi_bind_text (stmt, 4, head->seals_hash);
  wsi_bind_text (stmt, 5, digest);
  return wsi_statement_finish (archive, stmt, error);
}

static void
cover_seal (const WsStoredSeal *seal, gpointer data)
{
  wsi_head_add_seal (data, seal->time, seal->count, seal->hash);
}

gboolean
wsi_head_cover (WsArchive *archive, GError **error)
{
  WsHead head;
  if (!wsi_store_head (archive, NULL, &head, error))
    return FALSE;
  *head.seals_hash = '\0';
  return wsi_store_each_seal (archive, cover_seal, head.seals_hash, error) &&
         wsi_store_set_head (archive, &head, error);
}

/* ---- Of all benches ------------------------------------------------------------------------- */

gboolean
wsi_store_each_bench (WsArchive *archive, WsBenchVisit visit, gpointer data, GError **error)
{
  WsQueryStep step;
  g_return_val_if_fail (archive->engine->bench != NULL, FALSE);
  WsQuery *stmt = wsi_statement (archive, WS_SQL_EACH_BENCH);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
    visit (wsi_column_text_or (stmt, 0, ""), wsi_column_count (stmt, 1),
           wsi_column_text_or (stmt, 2, ""), data);
  const gboolean done = step == WS_QUERY_DONE || wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return done;
}

void
wsi_heads_digest (const char *heads, char digest[WS_SHA256_HEX_SIZE])
{
  GString *text = g_string_new ("whetsight-heads/1\n");
  g_string_append (text, heads);
  hash_text (text, digest);
}

typedef struct
{
  guint64 count;
  GString *heads;
} Sum;

static void
add_head (const char *bench, guint64 count, const char *hash, gpointer data)
{
  Sum *sum = data;
  sum->count += count;
  if (count > 0)
    g_string_append_printf (sum->heads, "%" G_GUINT64_FORMAT " %s %s\n", count, hash, bench);
}

gboolean
ws_archive_head (WsArchive *archive, guint64 *count, char hash[WS_SHA256_HEX_SIZE], GError **error)
{
  WsHead head;
  Sum sum = { 0, NULL };
  if (archive->engine->bench == NULL)
  {
    if (!wsi_store_head (archive, NULL, &head, error))
      return FALSE;
    *count = head.count;
    memcpy (hash, head.hash, sizeof head.hash);
    return TRUE;
  }
  sum.heads = g_string_new (NULL);
  const gboolean done = wsi_store_each_bench (archive, add_head, &sum, error);
  *count = sum.count;
  *hash = '\0';
  if (sum.count > 0)
    wsi_heads_digest (sum.heads->str, hash);
  g_string_free (sum.heads, TRUE);
  return done;
}

gboolean
wsi_store_seals (WsArchive *archive, guint64 *n, char hash[WS_SHA256_HEX_SIZE], GError **error)
{
  WsQuery *stmt = wsi_statement (archive, archive->engine->version >= WS_VERSION_OF_DIGESTS
                                            ? WS_SQL_READ_SEALS
                                            : WS_SQL_READ_OLD_SEALS);
  const gboolean read = wsi_step (stmt) == WS_QUERY_ROW;
  if (read)
  {
    *n = wsi_column_count (stmt, 0);
    take_hash (stmt, 1, hash);
  }
  else
    wsi_statement_refuse (archive, error);
  wsi_reset (stmt);
  return read;
}
