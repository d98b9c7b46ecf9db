#include "base/language.h"
#include "cli/calibrate.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli/fail.h"
#include "cli/say.h"

#define MAX_VALID_DAYS 36500.0
#define MIN_MM 1e-3   /* own choice: below any artefact that can be seen */
#define MAX_MM 1000.0 /* own choice, as in lists */
#define SUFFIX ".calib"

const WsOptionCheck wsi_check_days = {
  .phrase = "expected a whole number of days", .least = 1, .most = MAX_VALID_DAYS, .whole = TRUE
};
const WsOptionCheck wsi_check_mm = { .phrase = "expected millimetres with a decimal point",
                                     .least = MIN_MM,
                                     .most = MAX_MM };
const WsOptionCheck wsi_check_mm_or_0 = { .phrase = "expected millimetres with a decimal point",
                                          .most = MAX_MM };

gboolean
wsi_calibrate_tell (const WsStep *step, gpointer data)
{
  (void)data;
  if (isatty (STDERR_FILENO) && step->doing != NULL)
    wsi_say_aside ("%s %u/%u: %s\n", _ (step->doing), step->number, step->all, step->picture);
  else if (isatty (STDERR_FILENO))
    wsi_say_aside ("%u/%u %s\n", step->number, step->all, step->picture);
  return TRUE;
}

char *
wsi_calibrate_stem (const char *out)
{
  const char *end = g_str_has_suffix (out, SUFFIX) ? out + strlen (out) - strlen (SUFFIX) : NULL;
  return end != NULL ? g_strndup (out, (gsize)(end - out)) : g_strdup (out);
}

gboolean
wsi_calibrate_same_file (const char *a, const char *b)
{
  g_autofree char *first = g_canonicalize_filename (a, NULL);
  g_autofree char *second = g_canonicalize_filename (b, NULL);
  return g_str_equal (first, second);
}

gboolean
wsi_calibrate_check_folder (const char *path, GError **error)
{
  g_autofree char *folder = g_path_get_dirname (path);
  return g_file_test (folder, G_FILE_TEST_IS_DIR) ||
         wsi_refuse (error, WS_ERROR_CANT_WRITE, "%s: there is no such folder", folder);
}

gboolean
wsi_calibrate_check_input (const char *path, const char *input, GError **error)
{
  return !wsi_calibrate_same_file (path, input) ||
         wsi_refuse_usage (error, "\"%s\" is an input; choose another name", path);
}
