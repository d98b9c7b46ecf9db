#include "cli/fail.h"
#include "base/shown.h"

#include <stdio.h>

static gboolean
refuse (GError **error, WsErrorCode code, const char *format, va_list arguments)
{
  g_autofree char *message = g_strdup_vprintf (format, arguments);
  g_set_error_literal (error, WS_ERROR, (gint)code, message);
  return FALSE;
}

gboolean
wsi_refuse (GError **error, WsErrorCode code, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  refuse (error, code, format, arguments);
  va_end (arguments);
  return FALSE;
}

gboolean
wsi_refuse_usage (GError **error, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  refuse (error, WS_ERROR_USAGE, format, arguments);
  va_end (arguments);
  return FALSE;
}

int
wsi_fail (GError *error)
{
  int status = error->domain == G_OPTION_ERROR ? WS_ERROR_USAGE : ws_error_exit_status (error);
  g_autofree char *shown = wsi_shown (error->message);
  fprintf (stderr, "whetsight: %s\n", shown);
  g_error_free (error);
  return status;
}
