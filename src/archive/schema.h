/*
 * The tables of an archive, by versions.
 */
#ifndef WS_ARCHIVE_SCHEMA_H
#define WS_ARCHIVE_SCHEMA_H

#include <glib.h>

#include "archive/engine.h"
#include "late/sqlite.h"

G_BEGIN_DECLS

/* Makes the tables of a new database, and those of an older version as they are now; sets
 * `version`.  Errors: WS_ERROR_DATA for another program's database, a newer version of ours, or one
 * with other tables, indexes, triggers or views than ours: nobody knows what they would make of a
 * row. */
gboolean wsi_schema_bring_up (sqlite3 *db, const char *folder, int *version, WsEngineCover cover,
                              WsEngine *engine, GError **error);

/* For a reader: the database is ours, of any version up to this one; nothing is made.  Errors:
 * WS_ERROR_DATA. */
gboolean wsi_schema_expect (sqlite3 *db, const char *folder, int *version, GError **error);

/* Calls `visit` for each thing that is there and shouldn't be, is missing or is otherwise than we
 * make it in that version: "trigger keep: not ours". */
gboolean wsi_schema_compare (sqlite3 *db, const char *folder, int version, WsEngineVisit visit,
                             gpointer data, GError **error);

G_END_DECLS

#endif
