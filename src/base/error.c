#include <whetsight/error.h>

G_DEFINE_QUARK (whetsight - error, ws_error)

int
ws_error_exit_status (const GError *error)
{
  if (error == NULL || error->domain != WS_ERROR)
    return WS_ERROR_INTERNAL;
  return error->code == WS_ERROR_TOO_LARGE ? WS_ERROR_DATA : error->code;
}
