#include "archive/frozen.h"

#include <fcntl.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/files.h"

#define LOG "-wal"
#define COPY_BYTES 1048576
#define MODE_COPY 0600

/* Copies that somebody wrote to meanwhile are made again. */
#define COPIES 3

/* An empty one is what SQLite leaves when it couldn't make more of it. */
static gboolean
has_log (const char *path)
{
  GStatBuf about;
  g_autofree char *log = g_strconcat (path, LOG, NULL);
  return g_stat (log, &about) == 0 && about.st_size > 0;
}

static WsFrozenLook
look_at (const char *path)
{
  GStatBuf about;
  if (g_stat (path, &about) != 0)
    return (WsFrozenLook){ 0 };
  return (WsFrozenLook){ (guint64)about.st_ino, (guint64)about.st_size, about.st_mtim.tv_sec,
                         about.st_mtim.tv_nsec };
}

static gboolean
looks_alike (const WsFrozenLook *a, const WsFrozenLook *b)
{
  return a->inode == b->inode && a->size == b->size && a->seconds == b->seconds &&
         a->nanoseconds == b->nanoseconds;
}

/* ---- As one that nobody writes to ----------------------------------------------------------- */

static sqlite3 *
open_unchanging (const char *path)
{
  sqlite3 *db = NULL;
  g_autofree char *full = g_canonicalize_filename (path, NULL);
  g_autofree char *escaped = g_uri_escape_string (full, "/", FALSE);
  g_autofree char *uri = g_strdup_printf ("file:%s?immutable=1", escaped);
  if (sqlite3_open_v2 (uri, &db, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL) != SQLITE_OK)
    g_clear_pointer (&db, sqlite3_close);
  return db;
}

/* ---- A copy --------------------------------------------------------------------------------- */

static gboolean
copy_bytes (int from, int to)
{
  g_autofree char *bytes = g_malloc (COPY_BYTES);
  ssize_t n;
  while ((n = read (from, bytes, COPY_BYTES)) > 0)
    for (ssize_t done = 0, written; done < n; done += written)
      if ((written = write (to, bytes + done, (size_t)(n - done))) <= 0)
        return FALSE;
  return n == 0;
}

static gboolean
copy_file (const char *from_path, const char *to_path)
{
  const int from = open (from_path, O_RDONLY | O_CLOEXEC);
  const int to = open (to_path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, MODE_COPY);
  const gboolean copied = from >= 0 && to >= 0 && copy_bytes (from, to);
  if (from >= 0)
    close (from);
  if (to >= 0)
    close (to);
  return copied;
}

static gboolean
copy_both (const char *path, const char *copy)
{
  g_autofree char *log = g_strconcat (path, LOG, NULL);
  g_autofree char *log_copy = g_strconcat (copy, LOG, NULL);
  for (int i = 0; i < COPIES; i++)
  {
    const WsFrozenLook before[2] = { look_at (path), look_at (log) };
    if (!copy_file (path, copy) || !copy_file (log, log_copy))
      return FALSE;
    const WsFrozenLook after[2] = { look_at (path), look_at (log) };
    if (looks_alike (&before[0], &after[0]) && looks_alike (&before[1], &after[1]))
      return TRUE;
  }
  return FALSE;
}

/* SQLite keeps its files open, so that they can lose their names at once. */
static sqlite3 *
open_and_unlink (const char *copy)
{
  static const char *const suffixes[] = { "", LOG, "-shm" };
  sqlite3 *db = NULL;
  if (sqlite3_open_v2 (copy, &db, SQLITE_OPEN_READWRITE, NULL) != SQLITE_OK ||
      sqlite3_exec (db, "SELECT count (*) FROM sqlite_schema", NULL, NULL, NULL) != SQLITE_OK)
    g_clear_pointer (&db, sqlite3_close);
  for (gsize i = 0; i < G_N_ELEMENTS (suffixes); i++)
  {
    g_autofree char *name = g_strconcat (copy, suffixes[i], NULL);
    g_unlink (name);
  }
  return db;
}

/* Where there may be room: in memory, else among temporary files. */
static sqlite3 *
open_copy (const char *path)
{
  const char *const places[] = { "/dev/shm", g_get_tmp_dir () };
  sqlite3 *db = NULL;
  for (gsize i = 0; db == NULL && i < G_N_ELEMENTS (places); i++)
  {
    g_autofree char *folder = g_build_filename (places[i], "whetsight-XXXXXX", NULL);
    if (g_mkdtemp (folder) == NULL)
      continue;
    g_autofree char *copy = g_build_filename (folder, WS_DATABASE_NAME, NULL);
    g_autofree char *log = g_strconcat (copy, LOG, NULL);
    if (copy_both (path, copy))
      db = open_and_unlink (copy);
    g_unlink (copy);
    g_unlink (log);
    g_rmdir (folder);
  }
  return db;
}

sqlite3 *
wsi_frozen_open (const char *path)
{
  return has_log (path) ? open_copy (path) : open_unchanging (path);
}

/* ---- Did somebody write to it? ----------------------------------------------------------------
 */

void
wsi_frozen_look (const char *folder, WsFrozenLook *look)
{
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  *look = look_at (path);
}

gboolean
wsi_frozen_is_still (sqlite3 *db, const char *folder, const WsFrozenLook *look)
{
  WsFrozenLook now;
  if (!sqlite3_uri_boolean (sqlite3_db_filename (db, "main"), "immutable", 0))
    return TRUE;
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  wsi_frozen_look (folder, &now);
  return looks_alike (&now, look) && !has_log (path);
}

gboolean
wsi_frozen_expect_still (sqlite3 *db, const char *folder, const WsFrozenLook *look, GError **error)
{
  if (wsi_frozen_is_still (db, folder, look))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
               "archive %s: busy, somebody wrote to it while it was read; try again", folder);
  return FALSE;
}
