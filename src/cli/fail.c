#include <stdio.h>

#include <whetsight/error.h>

#include "cli/verbs.h"

int
ws_fail (GError *error)
{
  int status = error->domain == G_OPTION_ERROR ? WS_ERROR_USAGE : ws_error_exit_status (error);
  fprintf (stderr, "whetsight: %s\n", error->message);
  g_error_free (error);
  return status;
}
