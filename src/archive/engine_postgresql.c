#include "archive/engine_postgresql.h"

#include <whetsight/error.h>

WsEngine *
wsi_engine_postgresql_open (const char *address, WsArchiveMode mode, GError **error)
{
  (void)address;
  (void)mode;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               "this program was built without PostgreSQL's client library, libpq; archives are in "
               "folders");
  return NULL;
}
