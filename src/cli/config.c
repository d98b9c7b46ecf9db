#include "cli/config.h"

#include <whetsight/error.h>

#include "base/file.h"
#include "base/key_file.h"
#include "cli/fail.h"

#define KIND_OF_FILE "settings"
#define MAX_BYTES 65536
#define GROUP "show"
#define KEY "units"
#define PAPERS "report"

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
read_units (const char *path, const char *word, WsConfig *config, GError **error)
{
  const guint none = G_MAXUINT, units = wsi_option_word_index (&wsi_check_units, word, none);
  if (units == none)
    return wsi_refuse (error, WS_ERROR_DATA, "%s: [%s] %s: expected mm, in or both, found \"%s\"",
                       path, GROUP, KEY, word != NULL ? word : "");
  config->has_units = TRUE;
  config->units = (WsUnits)units;
  return TRUE;
}

/* Where it is kept; NULL when there is no such setting. */
static char **
text_of (WsConfig *config, const char *key)
{
  const struct
  {
    const char *key;
    char **text;
  } texts[] = {
    { "company", &config->company },   { "address", &config->address }, { "logo", &config->logo },
    { "customer", &config->customer }, { "order", &config->order },     { "part", &config->part },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    if (g_str_equal (texts[i].key, key))
      return texts[i].text;
  return NULL;
}

void
wsi_config_clear (WsConfig *config)
{
  char *const texts[] = { config->company,  config->address, config->logo,
                          config->customer, config->order,   config->part };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  *config = (WsConfig){ 0 };
}

static gboolean
read_key (const char *path, GKeyFile *file, const char *group, const char *key, WsConfig *config,
          GError **error)
{
  g_autofree char *word = g_key_file_get_string (file, group, key, NULL);
  char **text = g_str_equal (group, PAPERS) ? text_of (config, key) : NULL;
  if (g_str_equal (group, GROUP) && g_str_equal (key, KEY))
    return read_units (path, word, config, error);
  if (text == NULL)
    return wsi_refuse (error, WS_ERROR_DATA,
                       "%s: [%s] %s: no such setting; expected [%s] %s, or [%s] company, address, "
                       "logo, customer, order or part",
                       path, group, key, GROUP, KEY, PAPERS);
  if (word == NULL || *word == '\0')
    return wsi_refuse (error, WS_ERROR_DATA, "%s: [%s] %s: expected a text, found none", path,
                       group, key);
  *text = g_steal_pointer (&word);
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
  if (file == NULL || !read_keys (path, file, config, error))
  {
    wsi_config_clear (config);
    return FALSE;
  }
  if (config->logo != NULL && !g_path_is_absolute (config->logo))
  {
    g_autofree char *folder = g_path_get_dirname (path);
    g_autofree char *logo = g_steal_pointer (&config->logo);
    config->logo = g_build_filename (folder, logo, NULL);
  }
  return TRUE;
}

gboolean
wsi_config_units (const char *word, WsUnits otherwise, WsUnits *units, GError **error)
{
  g_auto (WsConfig) config = { 0 };
  *units = (WsUnits)wsi_option_word_index (&wsi_check_units, word, otherwise);
  if (word != NULL)
    return TRUE;
  if (!wsi_config_load (&config, error))
    return FALSE;
  if (config.has_units)
    *units = config.units;
  return TRUE;
}
