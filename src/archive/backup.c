/*
 * A copy grows so that it is whole at any moment: what is coming is announced, then pictures are
 * copied, each whole or not at all, and last the database, under its final name by one rename.
 */
#include <whetsight/backup.h>

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/check.h"
#include "archive/database.h"
#include "archive/engine_sqlite.h"
#include "archive/engines.h"
#include "archive/files.h"
#include "archive/note.h"
#include "archive/pictures.h"
#include "archive/statements.h"
#include "base/file.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */

typedef struct
{
  char *sha256;
  guint64 size;
} File;

typedef struct
{
  WsArchive *from;
  const char *to;
  gboolean is_new; /* `to` holds no archive yet */
  const WsVerifier *verifier;
  WsBackup *result;
  GPtrArray *files;   /* of File: what `from` has */
  GHashTable *before; /* SHA-256 of what the earlier copy's table has */
  guint64 all_bytes, done_bytes;
} Copying;

static void
file_free (gpointer data)
{
  File *file = data;
  g_free (file->sha256);
  g_free (file);
}

static gboolean
refuse (GError **error, WsErrorCode code, const char *folder, const char *why)
{
  g_set_error (error, WS_ERROR, (int)code, "%s: %s", folder, why);
  return FALSE;
}

/* ---- Where to ------------------------------------------------------------------------------ */

static gboolean
is_same (const char *a, const char *b)
{
  GStatBuf about[2];
  return g_stat (a, &about[0]) == 0 && g_stat (b, &about[1]) == 0 &&
         about[0].st_ino == about[1].st_ino && about[0].st_dev == about[1].st_dev;
}

/* A folder of somebody's files isn't filled up. */
static gboolean
holds_others (const char *folder)
{
  gboolean others = FALSE;
  GDir *dir = g_dir_open (folder, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    others = others || !(g_str_equal (name, WS_FILES_FOLDER) || wsi_files_is_left_over (name));
  if (dir != NULL)
    g_dir_close (dir);
  return others;
}

static gboolean
check_target (Copying *copying, const char *from, gboolean restore, GError **error)
{
  const char *to = copying->to;
  g_autofree char *database = g_build_filename (to, WS_DATABASE_NAME, NULL);
  copying->is_new = !g_file_test (database, G_FILE_TEST_EXISTS);
  if (is_same (from, to))
    return refuse (error, WS_ERROR_USAGE, to, "is the archive itself; give another folder");
  if (wsi_files_lies_in_archive (to))
    return refuse (error, WS_ERROR_USAGE, to, "lies in an archive; give a folder elsewhere");
  if (restore && !copying->is_new)
    return refuse (error, WS_ERROR_USAGE, to,
                   "holds an archive; restore into a new folder, then put that in its place");
  if (wsi_database_keeps_log (to))
    return refuse (error, WS_ERROR_DATA, to,
                   "is an archive that is written to, no copy; give a new folder");
  if (copying->is_new && holds_others (to))
    return refuse (error, WS_ERROR_DATA, to,
                   "holds other files and no copy of an archive; give a new folder");
  return TRUE;
}

/* Returns what keeps others out until it is closed, -1 for an error. */
static int
lock_target (const char *to, GError **error)
{
  if (g_mkdir_with_parents (to, MODE_NEW_FOLDER) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't make the folder: %s", to,
                 g_strerror (errno));
    return -1;
  }
  const int fd = open (to, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd >= 0 && (flock (fd, LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK))
    return fd; /* a share may have no such locks */
  if (fd >= 0)
    close (fd);
  refuse (error, WS_ERROR_CANT_WRITE, to, "another copy is being made there; try again later");
  return -1;
}

/* ---- What may be copied --------------------------------------------------------------------- */

static gboolean
note_before (const char *sha256, gint64 size, gpointer data)
{
  (void)size;
  g_hash_table_add (data, g_strdup (sha256));
  return TRUE;
}

/* Over an earlier copy nothing may come that it couldn't have grown into: it is the witness. */
static gboolean
check_goes_on (const Copying *copying, GError **error)
{
  WsHead head;
  char hash[WS_SHA256_HEX_SIZE];
  gboolean found = FALSE;
  if (copying->is_new)
    return TRUE;
  g_autoptr (WsArchive) earlier = ws_archive_open (copying->to, WS_ARCHIVE_READ, error);
  if (earlier == NULL || !wsi_store_head (earlier, NULL, &head, error) ||
      !wsi_store_each_file (earlier, note_before, copying->before, error) ||
      (head.count > 0 && !wsi_store_hash (copying->from, NULL, head.count, hash, &found, error)))
    return FALSE;
  if (head.count == 0 || (found && g_str_equal (hash, head.hash)))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: its %" G_GUINT64_FORMAT " rows aren't those that %s begins with: rows were "
               "cut off, changed or put back there, or it is another archive; the copy stays as "
               "it is, give a new folder",
               copying->to, head.count, copying->from->engine->name);
  return FALSE;
}

static gboolean
check_rows (Copying *copying, GError **error)
{
  WsVerification found;
  if (!wsi_verify_rows (copying->from, copying->verifier, &found, error))
    return FALSE;
  copying->result->wrong += found.wrong;
  return found.wrong == 0 || copying->is_new ||
         refuse (error, WS_ERROR_DATA, copying->from->engine->name,
                 "its rows aren't as they were written; the earlier copy stays as it is, give a "
                 "new folder");
}

/* ---- Pictures ------------------------------------------------------------------------------- */

static gboolean
note_file (const char *sha256, gint64 size, gpointer data)
{
  Copying *copying = data;
  if (!wsi_sha256_is_hex (sha256))
    return TRUE; /* no name of a file; checking the rows tells of it */
  File *file = g_new0 (File, 1);
  file->sha256 = g_strdup (sha256);
  file->size = (guint64)size;
  copying->all_bytes += file->size;
  g_ptr_array_add (copying->files, file);
  return TRUE;
}

/* Names of what the earlier copy doesn't know, so that verify knows whose they are should we be
 * stopped, or were before. */
static gboolean
announce (const Copying *copying, GError **error)
{
  g_autoptr (GString) names = g_string_new (NULL);
  g_autofree char *path = g_build_filename (copying->to, WS_ANNOUNCED_NAME, NULL);
  for (guint i = 0; i < copying->files->len; i++)
  {
    const File *file = g_ptr_array_index (copying->files, i);
    if (!g_hash_table_contains (copying->before, file->sha256))
      g_string_append_printf (names, "%s\n", file->sha256);
  }
  return names->len == 0 || wsi_file_save (path, names->str, names->len, error);
}

/* NULL when it isn't what its name says. */
static GBytes *
read_picture (const Copying *copying, const File *file)
{
  g_autoptr (GBytes) bytes = wsi_pictures_read_good (copying->from, file->sha256);
  return bytes != NULL && g_bytes_get_size (bytes) == file->size ? g_steal_pointer (&bytes) : NULL;
}

static void
tell_picture (Copying *copying, const File *file)
{
  g_autofree char *what = g_strdup_printf ("picture %s: missing or altered in %s, not copied",
                                           file->sha256, copying->from->engine->name);
  copying->result->wrong++;
  copying->verifier->tell (what, copying->verifier->data);
}

static gboolean
is_there (const char *path, const File *file)
{
  char hash[WS_SHA256_HEX_SIZE];
  return wsi_sha256_file (path, NULL, hash) && g_str_equal (hash, file->sha256);
}

/* What is there is read, so that a copy that went bad is told, and mended. */
static gboolean
copy_picture (Copying *copying, const File *file, GError **error)
{
  gboolean mended = FALSE;
  g_autofree char *path = wsi_files_path (copying->to, file->sha256);
  if (is_there (path, file))
    return TRUE;
  g_autoptr (GBytes) bytes = read_picture (copying, file);
  if (bytes == NULL)
  {
    tell_picture (copying, file);
    return TRUE;
  }
  if (!wsi_files_save (copying->to, file->sha256, bytes, &mended, error))
    return FALSE;
  copying->result->copied++;
  copying->result->mended += mended ? 1 : 0;
  return is_there (path, file) || refuse (error, WS_ERROR_CANT_WRITE, path,
                                          "can't be read back as it was written; look at the disk");
}

static gboolean
copy_pictures (Copying *copying, GError **error)
{
  if (!wsi_store_each_file (copying->from, note_file, copying, error) || !announce (copying, error))
    return FALSE;
  for (guint i = 0; i < copying->files->len; i++)
  {
    const File *file = g_ptr_array_index (copying->files, i);
    if (!copy_picture (copying, file, error))
      return FALSE;
    copying->done_bytes += file->size;
    if (copying->verifier->progress != NULL)
      copying->verifier->progress (copying->done_bytes, copying->all_bytes,
                                   copying->verifier->data);
  }
  return TRUE;
}

/* ---- Rows ----------------------------------------------------------------------------------- */

static gboolean
rename_database (const char *part, const char *path, GError **error)
{
  g_autofree char *folder = g_path_get_dirname (path);
  if (g_rename (part, path) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't write: %s", path,
                 g_strerror (errno));
    return FALSE;
  }
  const int fd = open (folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd >= 0)
  {
    fsync (fd);
    close (fd);
  }
  return TRUE;
}

static gboolean
copy_rows (const Copying *copying, GError **error)
{
  g_autofree char *path = g_build_filename (copying->to, WS_DATABASE_NAME, NULL);
  g_autofree char *part = g_build_filename (copying->to, WS_DATABASE_PART, NULL);
  g_autofree char *journal = g_build_filename (copying->to, WS_DATABASE_PART_JOURNAL, NULL);
  g_unlink (part);
  g_unlink (journal);
  return wsi_database_copy (((WsSqlite *)copying->from->engine)->db, copying->from->engine->name,
                            part, error) &&
         wsi_archive_expect_still (copying->from, error) && rename_database (part, path, error);
}

/* ---- What goes ------------------------------------------------------------------------------ */

static void
remove_picture (const char *sha256, gpointer data)
{
  const Copying *copying = data;
  if (!g_hash_table_contains (copying->before, sha256) || !wsi_sha256_is_hex (sha256))
    return;
  g_autofree char *path = wsi_files_path (copying->to, sha256);
  g_autofree char *fan = g_path_get_dirname (path);
  g_unlink (path);
  g_rmdir (fan); /* only when it is empty */
}

static gboolean
remove_pictures (const WsInspection *row, gpointer data, GError **error)
{
  (void)error;
  wsi_note_each_removed (row, remove_picture, data);
  return TRUE;
}

/* What a rule removed there since the earlier copy isn't kept here either. */
static gboolean
follow_rules (Copying *copying, GError **error)
{
  for (guint i = 0; i < copying->files->len; i++)
    g_hash_table_remove (copying->before,
                         ((const File *)g_ptr_array_index (copying->files, i))->sha256);
  return g_hash_table_size (copying->before) == 0 ||
         wsi_store_each_row (copying->from, remove_pictures, copying, error);
}

/* ---- All of it ------------------------------------------------------------------------------ */

/* One view of the rows for all of it, whatever others write meanwhile. */
static gboolean
copy_all (Copying *copying, GError **error)
{
  if (!wsi_store_begin_reading (copying->from, error))
    return FALSE;
  const gboolean done = check_goes_on (copying, error) && check_rows (copying, error) &&
                        copy_pictures (copying, error) && copy_rows (copying, error) &&
                        follow_rules (copying, error);
  wsi_store_end_reading (copying->from);
  return done;
}

/* Every picture's bytes were read by now, so the rest is. */
static gboolean
check_copy (const Copying *copying, GError **error)
{
  WsVerification found;
  g_autofree char *announced = g_build_filename (copying->to, WS_ANNOUNCED_NAME, NULL);
  g_autoptr (WsArchive) copy = ws_archive_open (copying->to, WS_ARCHIVE_READ, error);
  if (copy == NULL)
    return FALSE;
  g_unlink (announced);
  if (!wsi_verify_but_pictures (copy, copying->verifier, &found, error))
    return FALSE;
  copying->result->rows = found.rows;
  copying->result->pictures = found.files;
  copying->result->bytes = copying->all_bytes;
  copying->result->wrong += found.wrong;
  return TRUE;
}

static gboolean
copy_archive (Copying *copying, const char *from, GError **error)
{
  g_autoptr (WsArchive) archive = ws_archive_open (from, WS_ARCHIVE_READ, error);
  g_autoptr (GPtrArray) files = g_ptr_array_new_with_free_func (file_free);
  g_autoptr (GHashTable) before = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  if (archive == NULL)
    return FALSE;
  copying->from = archive;
  copying->files = files;
  copying->before = before;
  return copy_all (copying, error) && check_copy (copying, error);
}

static gboolean
run (const char *from, const char *to, gboolean restore, const WsVerifier *verifier,
     WsBackup *result, GError **error)
{
  Copying copying = { .to = to, .verifier = verifier, .result = result };
  g_autofree char *database = g_build_filename (from, WS_DATABASE_NAME, NULL);
  *result = (WsBackup){ 0 };
  if (wsi_engine_is_address (from) || wsi_engine_is_address (to))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
                 "an archive in PostgreSQL is copied by pg_dump, its pictures by any program that "
                 "copies folders");
    return FALSE;
  }
  if (!g_file_test (database, G_FILE_TEST_IS_REGULAR))
    return refuse (error, WS_ERROR_NO_INPUT, from, "no archive there (no " WS_DATABASE_NAME ")");
  if (!check_target (&copying, from, restore, error))
    return FALSE;
  const int lock = lock_target (to, error);
  if (lock < 0)
    return FALSE;
  const gboolean done =
    check_target (&copying, from, restore, error) && copy_archive (&copying, from, error);
  close (lock);
  return done;
}

gboolean
ws_archive_backup (const char *from, const char *to, const WsVerifier *verifier, WsBackup *done,
                   GError **error)
{
  return run (from, to, FALSE, verifier, done, error);
}

/* From then on it is one that is written to, which no copy may take the place of. */
gboolean
ws_archive_restore (const char *from, const char *to, const WsVerifier *verifier, WsBackup *done,
                    GError **error)
{
  if (!run (from, to, TRUE, verifier, done, error))
    return FALSE;
  g_autoptr (WsArchive) archive = ws_archive_open (to, WS_ARCHIVE_WRITE, error);
  return archive != NULL;
}
