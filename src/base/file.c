#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#define MODE_NEW_FILE 0666 /* less the umask */
#define BLOCK 16384

static gboolean
write_all (int fd, const char *bytes, gsize n_bytes)
{
  while (n_bytes > 0)
  {
    ssize_t n = write (fd, bytes, n_bytes);
    if (n < 0 && errno == EINTR)
      continue;
    if (n < 0)
      return FALSE;
    bytes += n;
    n_bytes -= (gsize)n;
  }
  return TRUE;
}

/* A name nobody else has: opened with O_EXCL, in the same folder, since rename() doesn't
 * reach across file systems. */
static int
open_temporary (const char *path, char **temporary)
{
  for (int i = 0; i < 100; i++)
  {
    char *name = g_strdup_printf ("%s.%08x.part", path, g_random_int ());
    int fd = g_open (name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, MODE_NEW_FILE);
    if (fd >= 0)
    {
      *temporary = name;
      return fd;
    }
    g_free (name);
    if (errno != EEXIST)
      break;
  }
  return -1;
}

/* So that the new name survives a power cut.  Some file systems refuse to sync a folder;
 * the file itself is safe by then. */
static void
sync_folder (const char *path)
{
  g_autofree char *folder = g_path_get_dirname (path);
  int fd = g_open (folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC, 0);
  if (fd < 0)
    return;
  fsync (fd);
  close (fd);
}

static gboolean
refuse (const char *path, int cause, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't write: %s", path,
               g_strerror (cause));
  return FALSE;
}

/* ---- Written piece by piece ------------------------------------------------------------------ */

struct WsFilePieces
{
  char *path;
  char *temporary; /* NULL once it has the name that was asked for */
  int fd;          /* or -1 */
};

WsFilePieces *
wsi_file_pieces_new (const char *path, GError **error)
{
  char *temporary = NULL;
  const int fd = open_temporary (path, &temporary);
  if (fd < 0)
  {
    refuse (path, errno, error);
    return NULL;
  }
  WsFilePieces *pieces = g_new0 (WsFilePieces, 1);
  *pieces = (WsFilePieces){ g_strdup (path), temporary, fd };
  return pieces;
}

gboolean
wsi_file_pieces_add (WsFilePieces *pieces, const void *bytes, gsize n_bytes, GError **error)
{
  return write_all (pieces->fd, bytes, n_bytes) || refuse (pieces->path, errno, error);
}

gboolean
wsi_file_pieces_finish (WsFilePieces *pieces, GError **error)
{
  const int fd = pieces->fd;
  pieces->fd = -1;
  if (fsync (fd) != 0)
  {
    const int cause = errno;
    close (fd);
    return refuse (pieces->path, cause, error);
  }
  if (close (fd) != 0 || g_rename (pieces->temporary, pieces->path) != 0)
    return refuse (pieces->path, errno, error);
  g_clear_pointer (&pieces->temporary, g_free);
  sync_folder (pieces->path);
  return TRUE;
}

void
wsi_file_pieces_free (WsFilePieces *pieces)
{
  if (pieces == NULL)
    return;
  if (pieces->fd >= 0)
    close (pieces->fd);
  if (pieces->temporary != NULL)
    g_unlink (pieces->temporary);
  g_free (pieces->temporary);
  g_free (pieces->path);
  g_free (pieces);
}

gboolean
wsi_file_save (const char *path, const void *bytes, gsize n_bytes, GError **error)
{
  g_autoptr (WsFilePieces) pieces = wsi_file_pieces_new (path, error);
  return pieces != NULL && wsi_file_pieces_add (pieces, bytes, n_bytes, error) &&
         wsi_file_pieces_finish (pieces, error);
}

/* ---- Read ------------------------------------------------------------------------------------ */

/* At most a block more than `max_bytes`, which tells what is too long; NULL when it can't be
 * read.  Grows with the file: limits are far above what is usual. */
static GString *
read_start (const char *path, gsize max_bytes)
{
  char block[BLOCK];
  FILE *file = g_file_test (path, G_FILE_TEST_IS_REGULAR) ? fopen (path, "rb") : NULL;
  if (file == NULL)
    return NULL;
  GString *text = g_string_new (NULL);
  for (gsize n = BLOCK; n == BLOCK && text->len <= max_bytes;)
  {
    n = fread (block, 1, BLOCK, file);
    g_string_append_len (text, block, (gssize)n);
  }
  const gboolean failed = ferror (file);
  fclose (file);
  if (!failed)
    return text;
  g_string_free (text, TRUE);
  return NULL;
}

char *
wsi_file_read_text (const char *path, const char *what, gsize max_bytes, GError **error)
{
  g_autoptr (GString) text = read_start (path, max_bytes);
  if (text == NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: no such %s, or not readable", path, what);
  else if (text->len > max_bytes || memchr (text->str, '\0', text->len) != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: not a %s, which is a short text file", path,
                 what);
  else
    return g_string_free (g_steal_pointer (&text), FALSE);
  return NULL;
}
