/*
 * The door to SQLite.  SQL stands in schema.c (tables), statements.c (fixed statements and
 * transactions) and find.c (what is put together from a filter), and here for what a connection
 * needs.
 */
#ifndef WS_ARCHIVE_DATABASE_H
#define WS_ARCHIVE_DATABASE_H

#include <glib.h>
#include <sqlite3.h>
#include <whetsight/archive.h>

G_BEGIN_DECLS

#define WS_DATABASE_NAME "archive.db"
#define WS_DATABASE_ID "WsAr" /* bytes of the application id */

/* What of the database's file tells that somebody wrote to it. */
typedef struct
{
  guint64 inode, size;
  gint64 seconds, nanoseconds;
} WsDatabaseLook;

void wsi_database_look (const char *folder, WsDatabaseLook *look);

/* FALSE for a database that had to be opened as one that nobody writes to, and somebody did since
 * it was looked at: what was read may be half of this and half of that. */
gboolean wsi_database_is_still (sqlite3 *db, const char *folder, const WsDatabaseLook *look);

/* As wsi_database_is_still(), with an error that asks to try again. */
gboolean wsi_database_expect_still (sqlite3 *db, const char *folder, const WsDatabaseLook *look,
                                    GError **error);

/* Opens FOLDER/archive.db, in WAL mode with foreign keys, waiting for other writers.  Errors as
 * ws_archive_open().  Close with sqlite3_close(). */
sqlite3 *wsi_database_open (const char *folder, WsArchiveMode mode, GError **error);

/* Sets `error` by the connection's last failure; returns FALSE. */
gboolean wsi_database_refuse (sqlite3 *db, const char *folder, GError **error);

/* Runs constant statements without results. */
gboolean wsi_database_run (sqlite3 *db, const char *folder, const char *sql, GError **error);

G_END_DECLS

#endif
