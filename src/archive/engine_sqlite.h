/*
 * An archive in a folder: SQLite.
 */
#ifndef WS_ARCHIVE_ENGINE_SQLITE_H
#define WS_ARCHIVE_ENGINE_SQLITE_H

#include "archive/engine.h"
#include "archive/frozen.h"
#include "late/sqlite.h"

G_BEGIN_DECLS

/* As wsi_engine_open(). */
WsEngine *wsi_engine_sqlite_open (const char *folder, WsArchiveMode mode, WsEngineCover cover,
                                  GError **error);

/* For what only a file has: the engine of an archive in a folder is one of these. */
typedef struct
{
  WsEngine engine;
  sqlite3 *db;
  WsFrozenLook opened; /* how the file looked before it was opened */
} WsSqlite;

G_END_DECLS

#endif
