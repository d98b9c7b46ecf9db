/*
 * A chain is sent in the order of its rows, a batch at a time: first the pictures that the centre
 * lacks, then rows and head in one transaction.  So whatever ends it, the centre has the beginning
 * of the chain with its pictures, and where to go on follows from the centre's head alone.
 */
#include <whetsight/sync.h>

#include <whetsight/error.h>

#include "archive/pictures.h"
#include "archive/sync_batch.h"

typedef struct
{
  WsArchive *archive, *centre;
  const WsSyncWatcher *watcher;
  WsSync *result;
  WsHead here;
} Sending;

static gboolean
refuse (const Sending *sending, const char *what, guint64 here, guint64 there, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "archive %s: %s (%" G_GUINT64_FORMAT " rows here, %" G_GUINT64_FORMAT
               " at %s), so nothing is sent; whetsight archive verify tells what is wrong here, "
               "--bench NAME keeps another archive beside it",
               ws_archive_folder (sending->archive), what, here, there,
               ws_archive_folder (sending->centre));
  return FALSE;
}

/* What is there has to be what this begins with.  Another call may have sent rows that came since.
 */
static gboolean
check_beginning (Sending *sending, const WsHead *there, GError **error)
{
  if (there->count > sending->here.count &&
      !wsi_store_head_to_go_on (sending->archive, &sending->here, error))
    return FALSE;
  char hash[WS_SHA256_HEX_SIZE] = "";
  gboolean found = TRUE;
  const guint64 n_here = sending->here.count, n_there = there->count;
  if (n_there > n_here)
    return refuse (sending, "an older copy, or another archive than was sent before", n_here,
                   n_there, error);
  if (n_there > 0 && !wsi_store_hash (sending->archive, NULL, n_there, hash, &found, error))
    return FALSE;
  return (found && g_str_equal (hash, there->hash)) ||
         refuse (sending, "its past is not the one that was sent before", n_here, n_there, error);
}

/* ---- Pictures -------------------------------------------------------------------------------- */

/* The row comes all the same: it is what is known, and verify tells of its picture there, too. */
static void
note_missing (const Sending *sending, const char *sha256)
{
  g_autofree char *what = g_strdup_printf ("picture %s isn't here as it was stored", sha256);
  sending->result->missing++;
  sending->watcher->tell (what, sending->watcher->data);
}

static gboolean
send_picture (const Sending *sending, WsSyncBatch *batch, const char *sha256, GError **error)
{
  g_autoptr (GBytes) bytes = wsi_pictures_read_good (sending->archive, sha256);
  if (bytes == NULL)
  {
    note_missing (sending, sha256);
    return TRUE;
  }
  if (!wsi_store_save_picture (sending->centre, bytes, sha256, error))
    return FALSE;
  wsi_sync_batch_add_file (batch, sha256, g_bytes_get_size (bytes));
  sending->result->pictures++;
  sending->result->picture_bytes += g_bytes_get_size (bytes);
  return TRUE;
}

static void
show_progress (const Sending *sending)
{
  if (sending->watcher->progress != NULL)
    sending->watcher->progress (sending->result, sending->here.count, sending->watcher->data);
}

static gboolean
send_pictures (const Sending *sending, WsSyncBatch *batch, GError **error)
{
  g_autoptr (GPtrArray) lacking = wsi_sync_batch_lacking (sending->centre, batch, error);
  for (guint i = 0; lacking != NULL && i < lacking->len; i++)
  {
    if (!send_picture (sending, batch, g_ptr_array_index (lacking, i), error))
      return FALSE;
    show_progress (sending);
  }
  if (lacking != NULL)
    sending->result->known_pictures += batch->pictures->len - lacking->len;
  return lacking != NULL;
}

/* ---- Rows ------------------------------------------------------------------------------------ */

static gboolean
send_batch (const Sending *sending, const WsHead *there, GError **error)
{
  gboolean moved;
  g_auto (WsSyncBatch) batch = { 0 };
  if (!wsi_sync_batch_read (sending->archive, there->count, there->hash, sending->here.count,
                            &batch, error) ||
      !send_pictures (sending, &batch, error) ||
      !wsi_sync_batch_write (sending->centre, &batch, &moved, error))
    return FALSE;
  if (moved) /* another call for this bench was quicker */
    return TRUE;
  sending->result->rows += batch.count - batch.after;
  sending->result->row_bytes += batch.bytes;
  show_progress (sending);
  return TRUE;
}

gboolean
ws_archive_sync (WsArchive *archive, WsArchive *centre, const WsSyncWatcher *watcher, WsSync *done,
                 GError **error)
{
  Sending sending = { archive, centre, watcher, done, { 0 } };
  WsHead there;
  gboolean first = TRUE;
  *done = (WsSync){ 0 };
  if (!wsi_store_head_to_go_on (archive, &sending.here, error))
    return FALSE;
  for (;; first = FALSE)
  {
    if (!wsi_store_head_to_go_on (centre, &there, error) ||
        !check_beginning (&sending, &there, error))
      return FALSE;
    if (first)
      done->known = there.count;
    if (there.count >= sending.here.count)
      return TRUE;
    if (!send_batch (&sending, &there, error))
      return FALSE;
  }
}

gboolean
ws_archive_sync_pictures (WsArchive *archive, WsArchive *centre, const WsSyncWatcher *watcher,
                          WsSync *done, GError **error)
{
  Sending sending = { archive, centre, watcher, done, { 0 } };
  WsHead there;
  char hash[WS_SHA256_HEX_SIZE] = "";
  *done = (WsSync){ 0 };
  if (!wsi_store_head_to_go_on (archive, &sending.here, error) ||
      !wsi_store_head_to_go_on (centre, &there, error) ||
      !check_beginning (&sending, &there, error))
    return FALSE;
  while (done->known < there.count)
  {
    g_auto (WsSyncBatch) batch = { 0 };
    if (!wsi_sync_batch_read (archive, done->known, hash, there.count, &batch, error) ||
        !send_pictures (&sending, &batch, error) ||
        !wsi_sync_batch_write_files (centre, &batch, error))
      return FALSE;
    done->known = batch.count;
    g_strlcpy (hash, batch.hash, sizeof hash);
  }
  return TRUE;
}
