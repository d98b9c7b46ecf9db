/*
 * Is the archive as it was written?  Rows by their hashes and the chain, what rows say twice by
 * the record, pictures by theirs, and nothing that doesn't belong.
 */
#include "archive/check.h"
#include "archive/statements.h"

static void
link_free (gpointer data)
{
  WsLink *link = data;
  g_free (link->id);
  g_free (link->previous);
  g_free (link->hash);
  g_free (link);
}

static void
edited_free (gpointer data)
{
  WsEdited *edited = data;
  ws_inspection_free (edited->row);
  g_free (edited);
}

static gboolean
tell_page (const char *line, gint64 unused, gpointer data)
{
  (void)unused;
  if (!g_str_equal (line, "ok"))
    wsi_check_tell (data, "database: %s", line);
  return TRUE;
}

static void
tell_object (const char *what, gpointer data)
{
  wsi_check_tell (data, "database: %s", what);
}

static gboolean
check_all_rows (WsCheck *check, const char *seal, GError **error)
{
  WsHead head;
  guint64 strays;
  if (!wsi_store_check_pages (check->archive, tell_page, check, error) ||
      !wsi_store_check_tables (check->archive, tell_object, check, error) ||
      !wsi_store_head (check->archive, &head, error) || !wsi_check_rows (check, error) ||
      !wsi_store_strays (check->archive, &strays, error))
    return FALSE;
  wsi_check_chain (check, &head);
  if (strays > 0)
    wsi_check_tell (
      check, "%" G_GUINT64_FORMAT " records or sets of quantities belong to rows that were removed",
      strays);
  return wsi_check_seals (check, seal, error);
}

static gboolean
check_all (WsCheck *check, const char *seal, GError **error)
{
  guint64 database;
  if (!wsi_store_bytes (check->archive, &database, error))
    return FALSE;
  check->all_bytes += database;
  WsPictureCheck *pictures = wsi_picture_check_start (check, error);
  if (pictures == NULL)
    return FALSE;
  const gboolean done = check_all_rows (check, seal, error);
  wsi_picture_check_finish (pictures, done);
  check->result->bytes = check->done_bytes;
  return done;
}

gboolean
ws_archive_verify (WsArchive *archive, const char *seal, const WsVerifier *verifier,
                   WsVerification *verification, GError **error)
{
  g_autoptr (GHashTable) by_hash = g_hash_table_new (g_str_hash, g_str_equal);
  g_autoptr (GPtrArray) links = g_ptr_array_new_with_free_func (link_free);
  g_autoptr (GPtrArray) edited = g_ptr_array_new_with_free_func (edited_free);
  g_autoptr (GHashTable) known = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) used = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) announced = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GPtrArray) unknown = g_ptr_array_new_with_free_func (g_free);
  WsCheck check = { .archive = archive,
                    .verifier = verifier,
                    .result = verification,
                    .by_hash = by_hash,
                    .links = links,
                    .edited = edited,
                    .known = known,
                    .used = used,
                    .announced = announced,
                    .unknown = unknown };
  *verification = (WsVerification){ 0 };
  if (!wsi_store_begin_reading (archive, error))
    return FALSE;
  const gboolean done = check_all (&check, seal, error);
  wsi_store_end_reading (archive);
  return done && wsi_archive_expect_still (archive, error) && wsi_check_extras (&check, error);
}
