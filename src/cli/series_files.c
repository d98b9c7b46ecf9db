#include "cli/series_files.h"

#include <glib/gstdio.h>
#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/report.h>

#include "base/language.h"
#include "base/shown.h"
#include "camera/camera.h"
#include "camera/shot_file.h"
#include "cli/fail.h"
#include "image/taken.h"
#include "image/taken_pixels.h"

/* A list is text; so much of a file tells, and no list is longer. */
#define TEXT_BYTES 4096
#define MOST_LIST_BYTES (1u << 20)

#define TIMEOUT_MS 5000

static gboolean
is_picture (const char *path)
{
  static const char *const endings[] = { ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp" };
  g_autofree char *lower = g_ascii_strdown (path, -1);
  for (gsize i = 0; i < G_N_ELEMENTS (endings); i++)
    if (g_str_has_suffix (lower, endings[i]))
      return TRUE;
  return FALSE;
}

static gboolean
is_text (const char *bytes, gsize n)
{
  const char *end = bytes;
  return n > 0 && (g_utf8_validate (bytes, (gssize)n, &end) || n - (gsize)(end - bytes) < 4) &&
         memchr (bytes, '\0', n) == NULL;
}

/* ---- A list -------------------------------------------------------------------------------- */

static char **
read_list (const char *path, const char *text, GError **error)
{
  g_autofree char *folder = g_path_get_dirname (path);
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  g_autoptr (GPtrArray) pictures = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; lines[i] != NULL; i++)
  {
    const char *name = g_strstrip (lines[i]);
    if (*name == '\0' || *name == '#')
      continue;
    char *picture =
      g_path_is_absolute (name) ? g_strdup (name) : g_build_filename (folder, name, NULL);
    g_ptr_array_add (pictures, picture);
    if (g_file_test (picture, G_FILE_TEST_IS_REGULAR))
      continue;
    g_autofree char *shown = wsi_shown (name);
    wsi_refuse (error, WS_ERROR_NO_INPUT,
                "%s: line %u: no such picture \"%s\"; a list has a picture's name a line", path,
                i + 1, shown);
    return NULL;
  }
  g_ptr_array_add (pictures, NULL);
  return (char **)g_ptr_array_steal (g_steal_pointer (&pictures), NULL);
}

/* ---- A video ------------------------------------------------------------------------------- */

typedef struct
{
  const char *path, *folder;
  guint most;
  guint every; /* so many-th picture is kept, a power of two */
  WsCamera *camera;
  GPtrArray *kept; /* of char * */
} Video;

/* A video that goes on has every other picture taken out again. */
static void
thin (Video *video)
{
  GPtrArray *fewer = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; i < video->kept->len; i++)
  {
    const char *path = g_ptr_array_index (video->kept, i);
    if (i % 2 == 0)
      g_ptr_array_add (fewer, g_strdup (path));
    else
      g_remove (path);
  }
  g_ptr_array_unref (video->kept);
  video->kept = fewer;
  video->every *= 2;
}

static gboolean
keep (Video *video, const WsFrame *frame, GError **error)
{
  g_autofree char *name = g_strdup_printf ("%06" G_GUINT64_FORMAT ".png", frame->number);
  g_autofree char *base = g_path_get_basename (video->path);
  /* The same video makes the same files, whenever it is unpacked. */
  g_autofree char *time =
    g_strdup_printf ("picture %" G_GUINT64_FORMAT " of %s", frame->number, base);
  /* How it was compressed stays known; by which camera is not. */
  g_autoptr (WsTaken) taken = g_new0 (WsTaken, 1);
  taken->of[WS_TAKEN_PIXELS] = wsi_taken_pixels (frame->image);
  const WsShotNotes notes = { .taken = taken, .n_frames = 1, .shift_px = NAN, .time = time };
  g_autoptr (GBytes) file = wsi_shot_encode (frame, &notes, error);
  char *path = g_build_filename (video->folder, name, NULL);
  g_ptr_array_add (video->kept, path);
  return file != NULL &&
         ws_report_save (path, g_bytes_get_data (file, NULL), g_bytes_get_size (file), error);
}

static gboolean
unpack_all (Video *video, GError **error)
{
  g_auto (WsFrame) frame = { 0 };
  for (guint i = 0;; i++)
  {
    g_autoptr (GError) cause = NULL;
    if (!wsi_camera_grab (video->camera, &frame, TIMEOUT_MS, &cause))
    {
      if (video->kept->len > 0 && g_error_matches (cause, WS_ERROR, WS_ERROR_NO_INPUT))
        return TRUE;
      g_propagate_error (error, g_steal_pointer (&cause));
      return FALSE;
    }
    if (i % video->every != 0)
      continue;
    if (video->kept->len == video->most)
      thin (video);
    if (i % video->every == 0 && !keep (video, &frame, error))
      return FALSE;
  }
}

static char **
unpack (const char *path, guint most, char **folder, GError **error)
{
  g_autofree char *address = g_strconcat ("files:", path, NULL);
  g_autofree char *made = g_dir_make_tmp ("whetsight-video-XXXXXX", NULL);
  if (made == NULL)
  {
    wsi_refuse (error, WS_ERROR_CANT_WRITE, "%s: can't make a folder for its pictures", path);
    return NULL;
  }
  Video video = { .path = path, .folder = made, .most = most, .every = 1 };
  video.kept = g_ptr_array_new_with_free_func (g_free);
  video.camera = wsi_camera_open (address, FALSE, error);
  const gboolean good = video.camera != NULL && unpack_all (&video, error);
  if (video.camera != NULL)
    wsi_camera_close (video.camera);
  g_ptr_array_add (video.kept, NULL);
  if (good)
  {
    *folder = g_steal_pointer (&made);
    return (char **)g_ptr_array_free (video.kept, FALSE);
  }
  g_ptr_array_unref (video.kept);
  wsi_series_files_remove (made);
  return NULL;
}

void
wsi_series_files_remove (const char *folder)
{
  GDir *dir = g_dir_open (folder, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    g_remove (path);
  }
  if (dir != NULL)
    g_dir_close (dir);
  g_rmdir (folder);
}

char **
wsi_series_files (const char *path, guint most, char **folder, GError **error)
{
  g_autofree char *bytes = NULL;
  gsize n = 0;
  *folder = NULL;
  if (is_picture (path) || !g_file_test (path, G_FILE_TEST_IS_REGULAR))
  {
    const char *const alone[] = { path, NULL };
    return g_strdupv ((char **)alone);
  }
  GStatBuf status;
  const gboolean small = g_stat (path, &status) == 0 && status.st_size <= MOST_LIST_BYTES;
  if (small && g_file_get_contents (path, &bytes, &n, NULL) && is_text (bytes, MIN (n, TEXT_BYTES)))
    return read_list (path, bytes, error);
  return unpack (path, most, folder, error);
}
