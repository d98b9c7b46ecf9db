#include "bench/setup.h"

#include <math.h>

#include <whetsight/error.h>

void
wsi_setup_clear (WsSetup *setup)
{
  g_clear_pointer (&setup->calibration, g_free);
}

static gboolean
read_number (GKeyFile *file, const char *group, const char *key, double *number, GError **error)
{
  g_autoptr (GError) cause = NULL;
  if (!g_key_file_has_key (file, group, key, NULL))
    return TRUE;
  *number = g_key_file_get_double (file, group, key, &cause);
  if (cause == NULL && isfinite (*number) && *number > 0)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               WSI_SETUP_NAME ": [%s] %s: expected millimetres a pixel above 0", group, key);
  return FALSE;
}

static gboolean
read_group (const char *folder, GKeyFile *file, const char *group, WsSetup *setup, GError **error)
{
  g_autofree char *name = g_key_file_get_string (file, group, "calibration", NULL);
  if (name != NULL && g_key_file_has_key (file, group, "scale", NULL))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 WSI_SETUP_NAME ": [%s]: give scale or calibration, not both", group);
    return FALSE;
  }
  if (name != NULL)
    setup->calibration =
      g_path_is_absolute (name) ? g_strdup (name) : g_build_filename (folder, name, NULL);
  return read_number (file, group, "scale", &setup->scale, error) &&
         read_number (file, group, "scale_u", &setup->scale_u, error);
}

gboolean
wsi_setup_find (const char *folder, const char *card, const char *view, const char *picture,
                WsSetup *setup, GError **error)
{
  g_autoptr (GKeyFile) file = g_key_file_new ();
  g_autoptr (GError) cause = NULL;
  g_autofree char *path = g_build_filename (folder, WSI_SETUP_NAME, NULL);
  g_autofree char *of_picture = g_strconcat ("picture ", picture, NULL);
  g_autofree char *of_card = g_strconcat ("card ", card, " ", view, NULL);
  g_autofree char *of_view = g_strconcat ("view ", view, NULL);
  const char *const groups[] = { of_picture, of_card, of_view };
  *setup = (WsSetup){ .scale = NAN, .scale_u = NAN };
  if (!g_key_file_load_from_file (file, path, G_KEY_FILE_NONE, &cause))
  {
    if (g_error_matches (cause, G_FILE_ERROR, G_FILE_ERROR_NOENT))
      return TRUE;
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, WSI_SETUP_NAME ": %s", cause->message);
    return FALSE;
  }
  for (gsize i = 0; i < G_N_ELEMENTS (groups); i++)
    if (g_key_file_has_group (file, groups[i]))
      return read_group (folder, file, groups[i], setup, error);
  return TRUE;
}
