#include "cli/config.h"

#include <whetsight/error.h>

#include "base/file.h"
#include "base/key_file.h"
#include "cli/fail.h"

#define KIND_OF_FILE "settings"
#define MAX_BYTES 65536
#define GROUP "show"
#define KEY "units"

static const char *
units_word (guint i)
{
  static const char *const words[] = {
    [WS_UNITS_MM] = "mm", [WS_UNITS_IN] = "in", [WS_UNITS_BOTH] = "both"
  };
  return i < G_N_ELEMENTS (words) ? words[i] : NULL;
}

const WsOptionCheck wsi_check_units = { .word = units_word };

static gboolean
read_key (const char *path, GKeyFile *file, const char *group, const char *key, WsConfig *config,
          GError **error)
{
  g_autofree char *word = g_key_file_get_string (file, group, key, NULL);
  const guint none = G_MAXUINT, units = wsi_option_word_index (&wsi_check_units, word, none);
  if (!g_str_equal (group, GROUP) || !g_str_equal (key, KEY))
    return wsi_refuse (error, WS_ERROR_DATA, "%s: [%s] %s: no such setting; expected [%s] %s", path,
                       group, key, GROUP, KEY);
  if (units == none)
    return wsi_refuse (error, WS_ERROR_DATA, "%s: [%s] %s: expected mm, in or both, found \"%s\"",
                       path, group, key, word != NULL ? word : "");
  config->has_units = TRUE;
  config->units = (WsUnits)units;
  return TRUE;
}

static gboolean
read_keys (const char *path, GKeyFile *file, WsConfig *config, GError **error)
{
  gboolean good = TRUE;
  g_auto (GStrv) groups = g_key_file_get_groups (file, NULL);
  for (gsize i = 0; good && groups[i] != NULL; i++)
  {
    g_auto (GStrv) keys = g_key_file_get_keys (file, groups[i], NULL, NULL);
    for (gsize k = 0; good && keys != NULL && keys[k] != NULL; k++)
      good = read_key (path, file, groups[i], keys[k], config, error);
  }
  return good;
}

gboolean
wsi_config_load (WsConfig *config, GError **error)
{
  g_autofree char *path =
    g_build_filename (g_get_user_config_dir (), "whetsight", "whetsight.conf", NULL);
  *config = (WsConfig){ 0 };
  if (!g_file_test (path, G_FILE_TEST_EXISTS))
    return TRUE;
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GKeyFile) file =
    text != NULL ? wsi_key_file_parse (path, KIND_OF_FILE, text, error) : NULL;
  return file != NULL && read_keys (path, file, config, error);
}

gboolean
wsi_config_units (const char *word, WsUnits otherwise, WsUnits *units, GError **error)
{
  WsConfig config;
  *units = (WsUnits)wsi_option_word_index (&wsi_check_units, word, otherwise);
  if (word != NULL)
    return TRUE;
  if (!wsi_config_load (&config, error))
    return FALSE;
  if (config.has_units)
    *units = config.units;
  return TRUE;
}
