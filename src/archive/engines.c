#include "archive/engines.h"

#include "archive/engine_postgresql.h"
#include "archive/engine_sqlite.h"

gboolean
wsi_engine_is_address (const char *address)
{
  return g_str_has_prefix (address, "postgresql://") || g_str_has_prefix (address, "postgres://");
}

WsEngine *
wsi_engine_open (const char *address, WsArchiveMode mode, WsEngineCover cover, GError **error)
{
  return wsi_engine_is_address (address) ? wsi_engine_postgresql_open (address, mode, error)
                                         : wsi_engine_sqlite_open (address, mode, cover, error);
}
