/*
 * An archive that many benches share: PostgreSQL.
 */
#ifndef WS_ARCHIVE_ENGINE_POSTGRESQL_H
#define WS_ARCHIVE_ENGINE_POSTGRESQL_H

#include "archive/engine.h"

G_BEGIN_DECLS

/* As wsi_engine_open(). */
WsEngine *wsi_engine_postgresql_open (const char *address, WsArchiveMode mode, GError **error);

/* Makes tables and roles in a database that has none of them; `pictures`: the folder that all
 * benches see under this path. */
gboolean wsi_engine_postgresql_make (const char *address, const char *pictures, GError **error);

extern const WsEngineCalls wsi_postgresql_calls;

G_END_DECLS

#endif
