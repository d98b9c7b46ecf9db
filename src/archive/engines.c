#include "archive/engines.h"

#include "archive/engine_sqlite.h"

#ifdef WS_HAVE_POSTGRESQL
#include "archive/engine_postgresql.h"
#else
#include <whetsight/error.h>
#endif

gboolean
wsi_engine_is_address (const char *address)
{
  return g_str_has_prefix (address, "postgresql://") || g_str_has_prefix (address, "postgres://");
}

#ifndef WS_HAVE_POSTGRESQL
static gboolean
refuse_shared (GError **error)
{
  g_set_error (
    error, WS_ERROR, WS_ERROR_USAGE,
    "this program was built without PostgreSQL's client library, libpq, so that archives "
    "are in folders only");
  return FALSE;
}
#endif

static WsEngine *
open_shared (const char *address, WsArchiveMode mode, GError **error)
{
#ifdef WS_HAVE_POSTGRESQL
  return wsi_engine_postgresql_open (address, mode, error);
#else
  (void)address;
  (void)mode;
  refuse_shared (error);
  return NULL;
#endif
}

gboolean
wsi_engine_make (const char *address, const char *pictures, GError **error)
{
#ifdef WS_HAVE_POSTGRESQL
  return wsi_engine_postgresql_make (address, pictures, error);
#else
  (void)address;
  (void)pictures;
  return refuse_shared (error);
#endif
}

WsEngine *
wsi_engine_open (const char *address, WsArchiveMode mode, WsEngineCover cover, GError **error)
{
  return wsi_engine_is_address (address) ? open_shared (address, mode, error)
                                         : wsi_engine_sqlite_open (address, mode, cover, error);
}
