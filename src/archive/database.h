/*
 * The door to SQLite.  SQL stands in schema.c (tables), statements.c (fixed statements and
 * transactions) and find.c (what is put together from a filter), and here for what a connection
 * needs.
 */
#ifndef WS_ARCHIVE_DATABASE_H
#define WS_ARCHIVE_DATABASE_H

#include <glib.h>
#include <whetsight/archive.h>

#include "late/sqlite.h"

G_BEGIN_DECLS

/* Opens FOLDER/archive.db, in WAL mode with foreign keys, waiting for other writers.  Errors as
 * ws_archive_open().  Close with sqlite3_close(). */
sqlite3 *wsi_database_open (const char *folder, WsArchiveMode mode, GError **error);

/* Sets `error` by the connection's last failure; returns FALSE. */
gboolean wsi_database_refuse (sqlite3 *db, const char *folder, GError **error);

/* Runs constant statements without results. */
gboolean wsi_database_run (sqlite3 *db, const char *folder, const char *sql, GError **error);

/* Writes all that `db` sees to a new file, without a log beside it; whole and on disk when this
 * returns TRUE.  `folder` is named in errors. */
gboolean wsi_database_copy (sqlite3 *db, const char *folder, const char *path, GError **error);

/* TRUE for a database that was opened for writing since it was copied. */
gboolean wsi_database_keeps_log (const char *folder);

G_END_DECLS

#endif
