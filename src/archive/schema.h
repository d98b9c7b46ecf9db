/*
 * The tables of an archive, by versions.
 */
#ifndef WS_ARCHIVE_SCHEMA_H
#define WS_ARCHIVE_SCHEMA_H

#include <glib.h>
#include <sqlite3.h>

G_BEGIN_DECLS

/* Makes the tables of a new database, and those of an older version as they are now.  Errors:
 * WS_ERROR_DATA for another program's database or a newer version of ours. */
gboolean wsi_schema_bring_up (sqlite3 *db, const char *folder, GError **error);

G_END_DECLS

#endif
