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

/* Opens FOLDER/archive.db, in WAL mode with foreign keys, waiting for other writers.  Errors as
 * ws_archive_open().  Close with sqlite3_close(). */
sqlite3 *wsi_database_open (const char *folder, WsArchiveMode mode, GError **error);

/* Sets `error` by the connection's last failure; returns FALSE. */
gboolean wsi_database_refuse (sqlite3 *db, const char *folder, GError **error);

/* Runs constant statements without results. */
gboolean wsi_database_run (sqlite3 *db, const char *folder, const char *sql, GError **error);

G_END_DECLS

#endif
