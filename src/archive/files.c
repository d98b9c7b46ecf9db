#include "archive/files.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <nettle/sha2.h>
#include <whetsight/error.h>

#include "base/file.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */

/* Large enough for the disk, small enough for the processor's second cache: common practice, no
 * source. */
#define BLOCK (256 * 1024)

char *
ws_files_path (const char *folder, const char *sha256)
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
ws_files_save (const char *folder, const char *sha256, GBytes *bytes, GError **error)
{
  gsize size;
  GStatBuf about;
  const void *content = g_bytes_get_data (bytes, &size);
  g_autofree char *path = ws_files_path (folder, sha256);
  g_autofree char *fan = g_path_get_dirname (path);
  g_autofree char *images = g_path_get_dirname (fan);
  if (g_stat (path, &about) == 0 && S_ISREG (about.st_mode) && (guint64)about.st_size == size)
    return TRUE;
  return make_folder (images, error) && make_folder (fan, error) &&
         ws_file_save (path, content, size, error);
}

gboolean
ws_files_hash (const char *path, guint64 *n_bytes, char hex[WS_SHA256_HEX_SIZE])
{
  struct sha256_ctx context;
  guint8 digest[SHA256_DIGEST_SIZE];
  g_autofree guint8 *block = g_malloc (BLOCK);
  const int fd = g_open (path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0);
  if (fd < 0)
    return FALSE;
  sha256_init (&context);
  ssize_t n;
  while ((n = read (fd, block, BLOCK)) > 0 || (n < 0 && errno == EINTR))
  {
    sha256_update (&context, n > 0 ? (gsize)n : 0, block);
    if (n_bytes != NULL && n > 0)
      __atomic_fetch_add (n_bytes, (guint64)n, __ATOMIC_RELAXED);
  }
  close (fd);
  sha256_digest (&context, sizeof digest, digest);
  for (gsize i = 0; i < sizeof digest; i++)
    g_snprintf (hex + 2 * i, 3, "%02x", digest[i]);
  return n == 0;
}
