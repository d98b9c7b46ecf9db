#include "image/reread.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* What stands before a picture's pixels is mostly shorter. */
#define PIECE 65536

struct WsReread
{
  int fd;
  gsize n_bytes, at; /* as it was opened; read until now */
  guint8 *first, *piece;
  gsize n_first;
  gboolean has_failed;
  WsSha256 *sum;
  char sha256[WS_SHA256_HEX_SIZE];
};

/* Fills `to` from place `at` on. */
static gboolean
read_at (int fd, guint8 *to, gsize n_bytes, gsize at)
{
  gsize done = 0;
  while (done < n_bytes)
  {
    const ssize_t n = pread (fd, to + done, n_bytes - done, (off_t)(at + done));
    if (n < 0 && errno == EINTR)
      continue;
    if (n <= 0)
      return FALSE;
    done += (gsize)n;
  }
  return TRUE;
}

static gsize
read_piece (WsReread *file, guint8 *to)
{
  const gsize n = MIN (PIECE, file->n_bytes - file->at);
  if (file->has_failed || !read_at (file->fd, to, n, file->at))
  {
    file->has_failed = TRUE;
    return 0;
  }
  file->at += n;
  wsi_sha256_add (file->sum, to, n);
  return n;
}

WsReread *
wsi_reread_open (const char *path, guint64 max_bytes)
{
  struct stat about;
  /* Not to wait for a pipe's other end. */
  const int fd = open (path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (fd < 0)
    return NULL;
  if (fstat (fd, &about) != 0 || !S_ISREG (about.st_mode) || (guint64)about.st_size > max_bytes)
  {
    close (fd);
    return NULL;
  }
  WsReread *file = g_new0 (WsReread, 1);
  file->fd = fd;
  file->n_bytes = (gsize)about.st_size;
  file->sum = wsi_sha256_new ();
  file->first = g_malloc (PIECE);
  file->piece = g_malloc (PIECE);
  file->n_first = read_piece (file, file->first);
  return file;
}

void
wsi_reread_free (WsReread *file)
{
  if (file == NULL)
    return;
  close (file->fd);
  g_free (file->first);
  g_free (file->piece);
  if (file->sum != NULL)
    wsi_sha256_end (file->sum, file->sha256);
  g_free (file);
}

const guint8 *
wsi_reread_first (const WsReread *file, gsize *n_bytes)
{
  *n_bytes = file->n_first;
  return file->first;
}

gsize
wsi_reread_more (gpointer data, const guint8 **bytes)
{
  WsReread *file = data;
  *bytes = file->piece;
  return read_piece (file, file->piece);
}

gboolean
wsi_reread_finish (WsReread *file, char sha256[WS_SHA256_HEX_SIZE])
{
  while (read_piece (file, file->piece) > 0)
    continue;
  g_clear_pointer (&file->first, g_free);
  g_clear_pointer (&file->piece, g_free);
  wsi_sha256_end (g_steal_pointer (&file->sum), file->sha256);
  memcpy (sha256, file->sha256, sizeof file->sha256);
  return !file->has_failed;
}

GBytes *
wsi_reread_again (const WsReread *file)
{
  char sha256[WS_SHA256_HEX_SIZE];
  g_autofree guint8 *bytes = g_try_malloc (file->n_bytes + 1);
  if (bytes == NULL || !read_at (file->fd, bytes, file->n_bytes, 0))
    return NULL;
  wsi_sha256_hex (bytes, file->n_bytes, sha256);
  return g_str_equal (sha256, file->sha256)
           ? g_bytes_new_take (g_steal_pointer (&bytes), file->n_bytes)
           : NULL;
}
