/*
 * Reading a database where SQLite can't make the files that it reads by: on a disc, in a folder
 * that one may not write to, on a full disk.
 */
#ifndef WS_ARCHIVE_FROZEN_H
#define WS_ARCHIVE_FROZEN_H

#include <glib.h>

#include "late/sqlite.h"

G_BEGIN_DECLS

/* Opens the database as one that nobody writes to or, where part of it is in its log yet, a copy
 * that nobody else sees.  NULL when neither is possible.  Close with sqlite3_close(). */
sqlite3 *wsi_frozen_open (const char *path);

/* What of the database's file tells that somebody wrote to it. */
typedef struct
{
  guint64 inode, size;
  gint64 seconds, nanoseconds;
} WsFrozenLook;

void wsi_frozen_look (const char *folder, WsFrozenLook *look);

/* FALSE for a database that had to be opened as one that nobody writes to, and somebody did since
 * it was looked at: what was read may be half of this and half of that. */
gboolean wsi_frozen_is_still (sqlite3 *db, const char *folder, const WsFrozenLook *look);

/* As wsi_frozen_is_still(), with an error that asks to try again. */
gboolean wsi_frozen_expect_still (sqlite3 *db, const char *folder, const WsFrozenLook *look,
                                  GError **error);

G_END_DECLS

#endif
