/*
 * Pictures of a folder, in the order of their names, or of a video: a camera for trials, and for
 * programs that save what they see.
 */
#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/shown.h"
#include "camera/kind.h"
#include "camera/samples.h"
#include "image/tone.h"
#include "vision/ws_vision.h"

#define US_PER_S 1e6

typedef struct
{
  gboolean colour; /* wanted */
  char *folder;
  GPtrArray *names;     /* of char * */
  WsVisionVideo *video; /* or NULL, then there is a folder */
  double rate;          /* of the video, frames a second; 0 unknown */
  guint next;
} Files;

static void
files_close (gpointer self)
{
  Files *files = self;
  g_free (files->folder);
  g_clear_pointer (&files->names, g_ptr_array_unref);
  wsi_vision_video_close (files->video);
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

static gboolean
open_folder (Files *files, const char *place, const char *shown, GError **error)
{
  g_autoptr (GDir) folder = g_dir_open (place, 0, NULL);
  if (folder == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "files:%s: no such folder or video; name one with pictures", shown);
    return FALSE;
  }
  files->folder = g_strdup (place);
  files->names = g_ptr_array_new_with_free_func (g_free);
  for (const char *name; (name = g_dir_read_name (folder)) != NULL;)
    if (is_picture (name))
      g_ptr_array_add (files->names, g_strdup (name));
  if (files->names->len == 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "files:%s: no picture there; put PNG, JPEG, TIFF or BMP into it", shown);
    return FALSE;
  }
  g_ptr_array_sort (files->names, by_name);
  return TRUE;
}

static gboolean
open_video (Files *files, const char *place, const char *shown, GError **error)
{
  files->video = wsi_vision_video_open (place, &files->rate, error);
  if (files->video == NULL)
    g_prefix_error (error, "files:%s: ", shown);
  return files->video != NULL;
}

/* Only what is a file here is opened as a video: its reader would also go to the network. */
static gpointer
files_open (const char *place, gboolean colour, WsCameraIdentity *identity, GError **error)
{
  g_autofree char *shown = wsi_shown (place);
  Files *files = g_new0 (Files, 1);
  files->colour = colour;
  identity->name = g_strdup (shown);
  if (g_file_test (place, G_FILE_TEST_IS_REGULAR) ? open_video (files, place, shown, error)
                                                  : open_folder (files, place, shown, error))
    return files;
  files_close (files);
  return NULL;
}

/* ---- Pictures ------------------------------------------------------------------------------ */

static gboolean
is_saturated (const WsImage *image)
{
  const gsize n = (gsize)image->width * image->height;
  for (gsize i = 0; i < n; i++)
    if (image->linear[i] == WS_IMAGE_FULL_SCALE)
      return TRUE;
  return FALSE;
}

/* The picture's colour, sRGB of 8 bits, in light. */
static gboolean
take_colour (const WsImage *image, const char *path, WsFrame *frame, GError **error)
{
  guint16 light[256];
  if (!image->has_colour)
  {
    g_autofree char *shown = wsi_shown (path);
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: a grey picture; take it without --colour",
                 shown);
    return FALSE;
  }
  for (guint code = 0; code < G_N_ELEMENTS (light); code++)
    light[code] = (guint16)lround (WS_IMAGE_FULL_SCALE * wsi_srgb_to_linear (code / 255.0));
  const gsize n = 3 * (gsize)image->width * image->height;
  if (wsi_frame_room (frame, image->width, image->height, TRUE, error) == NULL)
    return FALSE;
  for (gsize i = 0; i < n; i++)
    frame->colour[i] = light[image->rgb[i]];
  return TRUE;
}

static gboolean
grab_picture (Files *files, WsFrame *frame, GError **error)
{
  if (files->next >= files->names->len)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "files: no more pictures after %u",
                 files->names->len);
    return FALSE;
  }
  g_autofree char *path =
    g_build_filename (files->folder, g_ptr_array_index (files->names, files->next), NULL);
  const guint number = files->next++;
  WsImage *image =
    ws_image_load (path, NULL, files->colour ? WS_IMAGE_COLOUR : WS_IMAGE_GREY, error);
  if (image == NULL)
    return FALSE;
  wsi_frame_clear (frame);
  *frame = (WsFrame){ .image = image,
                      .number = number,
                      .time_us = g_get_monotonic_time (),
                      .saturated = is_saturated (image) };
  if (files->colour)
    return take_colour (image, path, frame, error);
  image->has_colour = FALSE;
  return TRUE;
}

/* A video's time is its own. */
static gboolean
grab_of_video (Files *files, WsFrame *frame, GError **error)
{
  WsVisionFrame seen;
  if (!wsi_vision_video_read (files->video, &seen, error))
    return FALSE;
  if (seen.samples == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "files: no more pictures after %u",
                 files->next);
    return FALSE;
  }
  const WsSamples samples = { .bytes = seen.samples,
                              .stride = seen.row_bytes,
                              .width = seen.width,
                              .height = seen.height,
                              .bits = 8,
                              .layout = seen.channels == 3 ? WS_SAMPLES_BGR : WS_SAMPLES_GREY,
                              .srgb = TRUE,
                              .colour = files->colour };
  if (!wsi_samples_to_frame (&samples, frame, error))
    return FALSE;
  frame->image->lossy = TRUE;
  frame->number = files->next++;
  frame->time_us = files->rate > 0.0 ? (gint64)((double)frame->number * US_PER_S / files->rate)
                                     : g_get_monotonic_time ();
  return TRUE;
}

static gboolean
files_grab (gpointer self, WsFrame *frame, guint timeout_ms, GError **error)
{
  Files *files = self;
  (void)timeout_ms;
  return files->video != NULL ? grab_of_video (files, frame, error)
                              : grab_picture (files, frame, error);
}

const WsCameraKind wsi_camera_kind_files = {
  .name = "files",
  .open = files_open,
  .close = files_close,
  .grab = files_grab,
};
