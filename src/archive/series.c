#include "archive/series.h"

#include <jansson.h>
#include <string.h>

char **
wsi_series_others (const WsInspection *inspection)
{
  GPtrArray *others = g_ptr_array_new ();
  /* Most records are of one picture, and are not read for this. */
  json_t *record = inspection->record != NULL && strstr (inspection->record, "\"images\"") != NULL
                     ? json_loads (inspection->record, 0, NULL)
                     : NULL;
  gsize i;
  json_t *image;
  json_array_foreach (json_object_get (record, "images"), i, image)
  {
    const char *sha256 = json_string_value (json_object_get (image, "sha256"));
    if (sha256 != NULL && g_strcmp0 (sha256, inspection->image) != 0)
      g_ptr_array_add (others, g_strdup (sha256));
  }
  json_decref (record);
  g_ptr_array_add (others, NULL);
  return (char **)g_ptr_array_free (others, FALSE);
}
