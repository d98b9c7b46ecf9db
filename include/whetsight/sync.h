/*
 * A bench's archive, brought to the archive that a plant shares: what is missing there is sent, any
 * number of times.
 */
#ifndef WHETSIGHT_SYNC_H
#define WHETSIGHT_SYNC_H

#include <whetsight/archive.h>

G_BEGIN_DECLS

typedef struct
{
  guint64 rows, known;              /* sent by this call; there already when it began */
  guint64 pictures, known_pictures; /* of the rows sent: sent too, there already */
  guint64 missing;                  /* of the rows sent: not here as they were stored */
  guint64 row_bytes, picture_bytes; /* sent */
} WsSync;

typedef struct
{
  void (*progress) (const WsSync *so_far, guint64 all_rows, gpointer data); /* or NULL */
  void (*tell) (const char *what, gpointer data); /* a picture that is missing, in words */
  gpointer data;
} WsSyncWatcher;

/* Sends the rows of `archive` that `centre`, a bench's chain in an archive of many, lacks: in the
 * order of the chain, so many at a time with their pictures, each such part all or not at all.
 * Rows keep number, hashes and marks, so that the chain can be verified there as here.  Ended
 * anywhere, the next call goes on.  Errors: WS_ERROR_DATA when what `centre` has isn't what
 * `archive` begins with, or a row isn't as it was written; those of writing to `centre`. */
gboolean ws_archive_sync (WsArchive *archive, WsArchive *centre, const WsSyncWatcher *watcher,
                          WsSync *done, GError **error);

/* Sends those pictures of rows that are there already which `centre` lacks: they weren't here as
 * they were stored when their rows were sent.  All rows are read for it.  Errors as for
 * ws_archive_sync(). */
gboolean ws_archive_sync_pictures (WsArchive *archive, WsArchive *centre,
                                   const WsSyncWatcher *watcher, WsSync *done, GError **error);

G_END_DECLS

#endif
