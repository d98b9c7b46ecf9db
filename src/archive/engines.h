/*
 * Which engine an archive has, by its address.
 */
#ifndef WS_ARCHIVE_ENGINES_H
#define WS_ARCHIVE_ENGINES_H

#include "archive/engine.h"

G_BEGIN_DECLS

/* TRUE for the address of a database server, "postgresql://…", and not of a folder. */
gboolean wsi_engine_is_address (const char *address);

/* Errors as ws_archive_open(). */
WsEngine *wsi_engine_open (const char *address, WsArchiveMode mode, WsEngineCover cover,
                           GError **error);

/* Makes an archive that many benches share, of which pictures lie in the folder `pictures`. Errors:
 * WS_ERROR_DATA when there is one. */
gboolean wsi_engine_make (const char *address, const char *pictures, GError **error);

G_END_DECLS

#endif
