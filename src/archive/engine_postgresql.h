/*
 * An archive that many benches share: PostgreSQL.
 */
#ifndef WS_ARCHIVE_ENGINE_POSTGRESQL_H
#define WS_ARCHIVE_ENGINE_POSTGRESQL_H

#include "archive/engine.h"

G_BEGIN_DECLS

/* As wsi_engine_open(). */
WsEngine *wsi_engine_postgresql_open (const char *address, WsArchiveMode mode, GError **error);

G_END_DECLS

#endif
