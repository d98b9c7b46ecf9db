#include "bench/calibrations.h"

#include <string.h>

#include "bench/setup.h"

static void
calibration_free (gpointer data)
{
  WsServeCalibration *calibration = data;
  g_free (calibration->name);
  g_free (calibration->path);
  g_free (calibration->groups);
  g_free (calibration);
}

static WsServeCalibration *
of_path (const GPtrArray *list, const char *path)
{
  for (guint i = 0; i < list->len; i++)
  {
    WsServeCalibration *one = g_ptr_array_index (list, i);
    if (g_str_equal (one->path, path))
      return one;
  }
  return NULL;
}

static char *
name_of (const char *path)
{
  char *name = g_path_get_basename (path);
  char *end = strrchr (name, '.');
  if (end != NULL && end > name)
    *end = '\0';
  return name;
}

/* Takes the path over. */
static void
add (GPtrArray *list, char *path, const char *group)
{
  WsServeCalibration *known = of_path (list, path);
  if (known == NULL)
  {
    known = g_new (WsServeCalibration, 1);
    *known = (WsServeCalibration){ name_of (path), path, g_strdup (group) };
    g_ptr_array_add (list, known);
    return;
  }
  char *groups = g_strconcat (known->groups, ", ", group, NULL);
  g_free (known->groups);
  known->groups = groups;
  g_free (path);
}

GPtrArray *
wsi_calibrations_list (const char *folder)
{
  g_autoptr (GKeyFile) setup = g_key_file_new ();
  g_autofree char *path = g_build_filename (folder, WSI_SETUP_NAME, NULL);
  GPtrArray *list = g_ptr_array_new_with_free_func (calibration_free);
  g_key_file_load_from_file (setup, path, G_KEY_FILE_NONE, NULL);
  g_auto (GStrv) groups = g_key_file_get_groups (setup, NULL);
  for (char **group = groups; *group != NULL; group++)
  {
    g_autofree char *named = g_key_file_get_string (setup, *group, "calibration", NULL);
    if (named != NULL && *named != '\0')
      add (list,
           g_path_is_absolute (named) ? g_strdup (named) : g_build_filename (folder, named, NULL),
           *group);
  }
  return list;
}

const WsServeCalibration *
wsi_calibrations_find (const GPtrArray *list, const char *name)
{
  for (guint i = 0; i < list->len; i++)
  {
    const WsServeCalibration *one = g_ptr_array_index (list, i);
    if (g_str_equal (one->name, name))
      return one;
  }
  return NULL;
}
