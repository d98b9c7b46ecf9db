#include "cli/say.h"

#include <stdio.h>

#include "base/language.h"
#include "base/shown.h"

static gboolean say (FILE *to, const char *format, va_list arguments) G_GNUC_PRINTF (2, 0);

static gboolean
say (FILE *to, const char *format, va_list arguments)
{
  g_autofree char *text = g_strdup_vprintf (_ (format), arguments);
  g_autofree char *shown = wsi_shown_lines (text);
  return fputs (shown, to) >= 0;
}

gboolean
wsi_say (const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  const gboolean done = say (stdout, format, arguments);
  va_end (arguments);
  return done;
}

gboolean
wsi_say_aside (const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  const gboolean done = say (stderr, format, arguments);
  va_end (arguments);
  return done;
}

gboolean
wsi_say_json (const char *json)
{
  g_autofree char *shown = wsi_shown_json (json);
  return printf ("%s\n", shown) >= 0;
}
