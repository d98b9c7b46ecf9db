#include "archive/files.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "base/file.h"
#include "base/sha256.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */

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
  return make_folder (images, error) && make_folder (fan, error) &&
         wsi_file_save (path, content, size, error);
}
