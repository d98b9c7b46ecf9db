/*
 * Pictures of a folder, in the order of their names: a camera for trials, and for programs that
 * save what they see.
 */
#include <string.h>

#include <whetsight/error.h>

#include "base/shown.h"
#include "camera/kind.h"

typedef struct
{
  char *folder;
  GPtrArray *names; /* of char * */
  guint next;
} Files;

static void
files_close (gpointer self)
{
  Files *files = self;
  g_free (files->folder);
  g_ptr_array_unref (files->names);
  g_free (files);
}

static int
by_name (gconstpointer a, gconstpointer b)
{
  return strcmp (*(const char *const *)a, *(const char *const *)b);
}

static gboolean
is_picture (const char *name)
{
  static const char *const endings[] = { ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp" };
  g_autofree char *lower = g_ascii_strdown (name, -1);
  for (gsize i = 0; i < G_N_ELEMENTS (endings); i++)
    if (name[0] != '.' && g_str_has_suffix (lower, endings[i]))
      return TRUE;
  return FALSE;
}

static gpointer
files_open (const char *place, WsCameraIdentity *identity, GError **error)
{
  g_autofree char *shown = wsi_shown (place);
  g_autoptr (GDir) folder = g_dir_open (place, 0, NULL);
  if (folder == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "files:%s: no such folder; name one with pictures", shown);
    return NULL;
  }
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  for (const char *name; (name = g_dir_read_name (folder)) != NULL;)
    if (is_picture (name))
      g_ptr_array_add (names, g_strdup (name));
  if (names->len == 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "files:%s: no picture there; put PNG, JPEG, TIFF or BMP into it", shown);
    return NULL;
  }
  g_ptr_array_sort (names, by_name);
  identity->name = g_strdup (shown);
  Files *files = g_new0 (Files, 1);
  files->folder = g_strdup (place);
  files->names = g_steal_pointer (&names);
  return files;
}

static gboolean
is_saturated (const WsImage *image)
{
  const gsize n = (gsize)image->width * image->height;
  for (gsize i = 0; i < n; i++)
    if (image->linear[i] == WS_IMAGE_FULL_SCALE)
      return TRUE;
  return FALSE;
}

static gboolean
files_grab (gpointer self, WsFrame *frame, guint timeout_ms, GError **error)
{
  Files *files = self;
  (void)timeout_ms;
  if (files->next >= files->names->len)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "files: no more pictures after %u",
                 files->names->len);
    return FALSE;
  }
  g_autofree char *path =
    g_build_filename (files->folder, g_ptr_array_index (files->names, files->next), NULL);
  const guint number = files->next++;
  WsImage *image = ws_image_load (path, NULL, WS_IMAGE_GREY, error);
  if (image == NULL)
    return FALSE;
  wsi_frame_clear (frame);
  *frame = (WsFrame){ image, number, g_get_monotonic_time (), is_saturated (image) };
  return TRUE;
}

const WsCameraKind wsi_camera_kind_files = {
  .name = "files",
  .open = files_open,
  .close = files_close,
  .grab = files_grab,
};
