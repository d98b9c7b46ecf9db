#include "cli/calibrate.h"

#include <whetsight/error.h>

#include "cli/verbs.h"

int
ws_calibrate_disc (char ***arguments)
{
  (void)arguments;
  return ws_fail (g_error_new (WS_ERROR, WS_ERROR_INTERNAL, "not ready yet"));
}
