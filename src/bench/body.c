#include "bench/body.h"

#include <fcntl.h>
#include <unistd.h>

#include <glib/gstdio.h>

#define MOST_IN_MEMORY 65536
#define MOST_SPOOLED (G_GUINT64_CONSTANT (1) << 30) /* bytes, all that come in at once */

struct WsSpool
{
  char *folder;
  GMutex lock;
  guint64 n_bytes;
};

struct WsBody
{
  WsSpool *spool;
  guint64 most, n_bytes;
  GByteArray *memory; /* NULL when it lies in the file */
  int file;
  guint64 reserved;
  gboolean lost;
};

WsSpool *
wsi_spool_new (const char *folder)
{
  WsSpool *spool = g_new0 (WsSpool, 1);
  spool->folder = g_strdup (folder);
  g_mutex_init (&spool->lock);
  return spool;
}

void
wsi_spool_free (WsSpool *spool)
{
  if (spool == NULL)
    return;
  g_mutex_clear (&spool->lock);
  g_free (spool->folder);
  g_free (spool);
}

static gboolean
reserve (WsBody *body, guint64 n_bytes)
{
  WsSpool *spool = body->spool;
  g_mutex_lock (&spool->lock);
  const gboolean fits = spool->n_bytes + n_bytes <= MOST_SPOOLED;
  spool->n_bytes += fits ? n_bytes : 0;
  g_mutex_unlock (&spool->lock);
  body->reserved += fits ? n_bytes : 0;
  return fits;
}

WsBody *
wsi_body_new (WsSpool *spool, guint64 most)
{
  WsBody *body = g_new0 (WsBody, 1);
  body->spool = spool;
  body->most = most;
  body->memory = g_byte_array_new ();
  body->file = -1;
  return body;
}

void
wsi_body_free (WsBody *body)
{
  if (body == NULL)
    return;
  if (body->memory != NULL)
    g_byte_array_unref (body->memory);
  if (body->file >= 0)
    close (body->file);
  g_mutex_lock (&body->spool->lock);
  body->spool->n_bytes -= body->reserved;
  g_mutex_unlock (&body->spool->lock);
  g_free (body);
}

static gboolean
write_whole (int fd, const guint8 *bytes, gsize n_bytes)
{
  while (n_bytes > 0)
  {
    const ssize_t n = write (fd, bytes, n_bytes);
    if (n <= 0)
      return FALSE;
    bytes += n;
    n_bytes -= (gsize)n;
  }
  return TRUE;
}

/* From here on it lies in a file that nobody else finds. */
static gboolean
move_to_file (WsBody *body)
{
  g_autofree char *path = g_build_filename (body->spool->folder, "body-XXXXXX", NULL);
  body->file = g_mkstemp_full (path, O_RDWR | O_CLOEXEC, 0600);
  if (body->file < 0)
    return FALSE;
  g_unlink (path);
  const gboolean moved = reserve (body, body->memory->len) &&
                         write_whole (body->file, body->memory->data, body->memory->len);
  g_clear_pointer (&body->memory, g_byte_array_unref);
  return moved;
}

gboolean
wsi_body_add (WsBody *body, const char *bytes, gsize n_bytes)
{
  if (n_bytes > body->most - body->n_bytes)
    return FALSE;
  body->n_bytes += n_bytes;
  if (body->lost)
    return TRUE;
  if (body->memory != NULL && body->n_bytes > MOST_IN_MEMORY)
    body->lost = !move_to_file (body);
  if (body->memory != NULL)
    g_byte_array_append (body->memory, (const guint8 *)bytes, (guint)n_bytes);
  else if (!body->lost)
    body->lost =
      !reserve (body, n_bytes) || !write_whole (body->file, (const guint8 *)bytes, n_bytes);
  return TRUE;
}

GBytes *
wsi_body_take (WsBody *body)
{
  if (body->lost)
    return NULL;
  if (body->memory != NULL)
    return g_byte_array_free_to_bytes (g_steal_pointer (&body->memory));
  GMappedFile *file = g_mapped_file_new_from_fd (body->file, FALSE, NULL);
  if (file == NULL)
    return NULL;
  GBytes *bytes = g_mapped_file_get_bytes (file);
  g_mapped_file_unref (file);
  return bytes;
}
