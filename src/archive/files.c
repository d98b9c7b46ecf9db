#include "archive/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "base/file.h"
#include "base/sha256.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */
#define TRIES 5

char *
wsi_files_path (const char *folder, const char *sha256)
{
  const char fan[3] = { sha256[0], sha256[1], '\0' };
  return g_build_filename (folder, WS_FILES_FOLDER, fan, sha256, NULL);
}

static void
sync_folder (const char *folder)
{
  const int fd = g_open (folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
  if (fd < 0)
    return;
  fsync (fd);
  close (fd);
}

static gboolean
make_folder (const char *path, GError **error)
{
  if (g_mkdir (path, MODE_NEW_FOLDER) == 0)
  {
    g_autofree char *parent = g_path_get_dirname (path);
    sync_folder (parent);
    return TRUE;
  }
  if (errno == EEXIST)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't make the folder: %s", path,
               g_strerror (errno));
  return FALSE;
}

gboolean
wsi_files_save (const char *folder, const char *sha256, GBytes *bytes, gboolean *mended,
                GError **error)
{
  gsize size;
  char found[WS_SHA256_HEX_SIZE];
  const void *content = g_bytes_get_data (bytes, &size);
  g_autofree char *path = wsi_files_path (folder, sha256);
  g_autofree char *fan = g_path_get_dirname (path);
  g_autofree char *images = g_path_get_dirname (fan);
  const gboolean is_there = wsi_sha256_file (path, NULL, found);
  if (is_there && g_str_equal (found, sha256))
    return TRUE;
  *mended = *mended || is_there;
  /* Whoever clears up may take the empty folder away in between. */
  for (int i = 0; i < TRIES; i++)
  {
    g_autoptr (GError) cause = NULL;
    if (!make_folder (images, error) || !make_folder (fan, error))
      return FALSE;
    if (wsi_file_save (path, content, size, &cause))
      return TRUE;
    if (i + 1 == TRIES || g_file_test (fan, G_FILE_TEST_IS_DIR))
    {
      g_propagate_error (error, g_steal_pointer (&cause));
      return FALSE;
    }
  }
  return FALSE;
}

gboolean
wsi_files_is_left_over (const char *name)
{
  return g_str_equal (name, WS_DATABASE_PART) || g_str_equal (name, WS_DATABASE_PART_JOURNAL) ||
         g_str_equal (name, WS_ANNOUNCED_NAME) ||
         (g_str_has_prefix (name, WS_ANNOUNCED_NAME ".") && g_str_has_suffix (name, ".part"));
}

gboolean
wsi_files_lies_in_archive (const char *path)
{
  g_autofree char *trimmed = g_strdup (path);
  for (gsize n = strlen (trimmed); n > 1 && trimmed[n - 1] == '/'; n--)
    trimmed[n - 1] = '\0';
  g_autofree char *parent = g_path_get_dirname (trimmed);
  char *real = realpath (parent, NULL);
  g_autofree char *folder = g_canonicalize_filename (real != NULL ? real : parent, NULL);
  free (real);
  for (;;)
  {
    g_autofree char *database = g_build_filename (folder, WS_DATABASE_NAME, NULL);
    char *above = g_path_get_dirname (folder);
    const gboolean found = g_file_test (database, G_FILE_TEST_EXISTS);
    const gboolean top = g_str_equal (above, folder);
    g_free (folder);
    folder = above;
    if (found || top)
      return found;
  }
}
