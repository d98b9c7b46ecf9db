/*
 * Some rows of a chain on their way to another archive: checked here, written there together.
 */
#ifndef WS_ARCHIVE_SYNC_BATCH_H
#define WS_ARCHIVE_SYNC_BATCH_H

#include <jansson.h>

#include "archive/store.h"

G_BEGIN_DECLS

typedef struct
{
  char sha256[WS_SHA256_HEX_SIZE];
  gsize size;
} WsSyncFile;

typedef struct
{
  guint64 after, count;                /* the numbers before the first, and of the last */
  char before[WS_SHA256_HEX_SIZE];     /* hash of `after`'s row */
  char hash[WS_SHA256_HEX_SIZE];       /* and of the last */
  json_t *rows, *records, *quantities; /* what is written, as the tables have it */
  GString *proof;                      /* a line a row: what has to stand there afterwards */
  GPtrArray *pictures;                 /* of char *, SHA-256, each once: what the rows name */
  GArray *files;                       /* of WsSyncFile: of these, what was brought there */
  gsize bytes;                         /* of the records */
} WsSyncBatch;

void wsi_sync_batch_clear (WsSyncBatch *batch);

/* Rows of `archive` behind number `after`, whose row has `hash`: so many that they take little
 * memory, at least one where there is one up to `last`.  Errors: WS_ERROR_DATA when one isn't as it
 * was written. */
gboolean wsi_sync_batch_read (WsArchive *archive, guint64 after, const char *hash, guint64 last,
                              WsSyncBatch *batch, GError **error);

/* A picture that lies at the centre by now, and is to be named there. */
void wsi_sync_batch_add_file (WsSyncBatch *batch, const char *sha256, gsize size);

/* Writes the rows to the chain of `centre`, in a transaction of its own, and reads them back.
 * `moved` is set, and nothing written, when the chain no longer ends where the batch begins.
 * Errors: those of writing. */
gboolean wsi_sync_batch_write (WsArchive *centre, const WsSyncBatch *batch, gboolean *moved,
                               GError **error);

/* Names the batch's files there alone, whose rows are there already. */
gboolean wsi_sync_batch_write_files (WsArchive *centre, const WsSyncBatch *batch, GError **error);

/* Those of the batch's pictures that `centre` doesn't have.  Free with g_ptr_array_unref(). */
GPtrArray *wsi_sync_batch_lacking (WsArchive *centre, const WsSyncBatch *batch, GError **error);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsSyncBatch, wsi_sync_batch_clear)

G_END_DECLS

#endif
