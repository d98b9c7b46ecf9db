#include "cli/fail.h"
#include "base/language.h"
#include "base/shown.h"
#include "base/told_text.h"

#include <stdio.h>
#include <string.h>

static gboolean
refuse (GError **error, WsErrorCode code, const char *format, va_list arguments)
{
  g_autofree char *message = g_strdup_vprintf (_ (format), arguments);
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

/* Behind what was put before the message, if the whole isn't known.  Free with g_free(). */
static char *
tell (const char *message)
{
  g_autofree char *told = wsi_told_text (message);
  const char *colon = strstr (message, ": ");
  if (colon == NULL || !g_str_equal (told, message))
    return g_steal_pointer (&told);
  g_autofree char *rest = tell (colon + 2);
  return g_strdup_printf ("%.*s%s", (int)(colon + 2 - message), message, rest);
}

int
wsi_fail (GError *error)
{
  int status = error->domain == G_OPTION_ERROR ? WS_ERROR_USAGE : ws_error_exit_status (error);
  g_autofree char *told = tell (error->message);
  g_autofree char *shown = wsi_shown (told);
  fprintf (stderr, "whetsight: %s\n", shown);
  g_error_free (error);
  return status;
}
