#include "cli/calibrate.h"

#include <math.h>
#include <string.h>

#include "base/number.h"
#include "cli/verbs.h"

#define MAX_VALID_DAYS 36500.0
#define SUFFIX ".calib"

gboolean
ws_calibrate_read_days (const char *text, double *days, GError **error)
{
  const char *given = text != NULL ? text : WS_CALIBRATE_VALID_DAYS;
  if (ws_number_parse (given, days) && *days >= 1 && *days <= MAX_VALID_DAYS &&
      !(fabs (*days - round (*days)) > 0))
    return TRUE;
  return ws_refuse_usage (error, "--valid-days: expected a whole number of days, found \"%s\"",
                          given);
}

char *
ws_calibrate_stem (const char *out)
{
  const char *end = g_str_has_suffix (out, SUFFIX) ? out + strlen (out) - strlen (SUFFIX) : NULL;
  return end != NULL ? g_strndup (out, (gsize)(end - out)) : g_strdup (out);
}

gboolean
ws_calibrate_same_file (const char *a, const char *b)
{
  g_autofree char *first = g_canonicalize_filename (a, NULL);
  g_autofree char *second = g_canonicalize_filename (b, NULL);
  return g_str_equal (first, second);
}

gboolean
ws_calibrate_check_folder (const char *path, GError **error)
{
  g_autofree char *folder = g_path_get_dirname (path);
  return g_file_test (folder, G_FILE_TEST_IS_DIR) ||
         ws_refuse (error, WS_ERROR_CANT_WRITE, "%s: there is no such folder", folder);
}

gboolean
ws_calibrate_check_input (const char *path, const char *input, GError **error)
{
  return !ws_calibrate_same_file (path, input) ||
         ws_refuse_usage (error, "\"%s\" is an input; choose another name", path);
}
