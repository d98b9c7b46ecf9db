#define _GNU_SOURCE /* O_TMPFILE */
#include "archive/database.h"
#include "archive/files.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/statfs.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/frozen.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */
#define MODE_PROBE 0600

/* How long to wait for other writers: twenty that each take a second find their turn. */
#define BUSY_MS 60000
#define PAUSE_US 20000

/* Of a new database: a record of 25 kB takes three pages more than its row, where it would take six
 * of SQLite's own size, each written and read by calls of its own. */
#define PAGE_BYTES "8192"

/* File systems of other computers, by linux/magic.h and the kernel's fs/smb/client/cifsglob.h:
 * WAL needs memory shared by all writers, which they don't give (sqlite.org/wal.html). */
static const guint32 network_kinds[] = { 0x6969U, 0x517BU, 0xFF534D42U, 0xFE534D42U, 0x5346414FU };

static const char *
cause_of (int code)
{
  switch (code & 0xFF)
  {
  case SQLITE_FULL:
    return "the disk is full; make room, then measure again";
  case SQLITE_READONLY:
  case SQLITE_CANTOPEN:
  case SQLITE_PERM:
  case SQLITE_AUTH:
    return "can't be opened for writing; check the folder's permissions";
  case SQLITE_BUSY:
  case SQLITE_LOCKED:
    return "others kept it locked for a minute; try again";
  case SQLITE_PROTOCOL:
    return "its file system has no locks; keep archives on a disk of this computer";
  case SQLITE_IOERR:
    return "can't be read or written: the disk is full or faulty, or a network share";
  default:
    return NULL;
  }
}

gboolean
wsi_database_refuse (sqlite3 *db, const char *folder, GError **error)
{
  const int code = db != NULL ? sqlite3_extended_errcode (db) : SQLITE_NOMEM;
  const int plain = code & 0xFF;
  const char *cause = cause_of (code);
  if (cause != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "archive %s: %s (%s)", folder, cause,
                 sqlite3_errstr (code));
  else if (plain == SQLITE_NOTADB || plain == SQLITE_CORRUPT || plain == SQLITE_ERROR ||
           plain == SQLITE_CONSTRAINT)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: its database is damaged (%s); put back a copy", folder,
                 sqlite3_errmsg (db));
  else
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "archive %s: %s", folder,
                 db != NULL ? sqlite3_errmsg (db) : sqlite3_errstr (code));
  return FALSE;
}

gboolean
wsi_database_run (sqlite3 *db, const char *folder, const char *sql, GError **error)
{
  return sqlite3_exec (db, sql, NULL, NULL, NULL) == SQLITE_OK ||
         wsi_database_refuse (db, folder, error);
}

static gboolean
refuse_folder (const char *folder, const char *what, int cause, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "archive %s: %s%s%s", folder, what,
               cause != 0 ? ": " : "", cause != 0 ? g_strerror (cause) : "");
  return FALSE;
}

static gboolean
check_local (const char *folder, GError **error)
{
  struct statfs about;
  if (statfs (folder, &about) != 0)
    return TRUE;
  for (gsize i = 0; i < G_N_ELEMENTS (network_kinds); i++)
    if ((guint32)about.f_type == network_kinds[i])
      return refuse_folder (folder,
                            "is on a network share, where two computers' writes would damage it; "
                            "keep archives on a disk of this computer",
                            0, error);
  return TRUE;
}

/* SQLite takes a refused lock for another writer's and would wait in vain.  Tried on a file
 * without a name, which nobody else sees and nothing leaves behind. */
static gboolean
check_locks (const char *folder, GError **error)
{
  struct flock lock = { .l_type = F_WRLCK, .l_whence = SEEK_SET, .l_len = 1 };
  const int fd = open (folder, O_TMPFILE | O_RDWR | O_CLOEXEC, MODE_PROBE);
  if (fd < 0 && (errno == EACCES || errno == EROFS || errno == ENOSPC || errno == EDQUOT))
    return refuse_folder (folder, "can't write there", errno, error);
  if (fd < 0)
    return TRUE; /* no such files here; SQLite will tell */
  const gboolean locked = fcntl (fd, F_SETLK, &lock) == 0;
  const int cause = errno;
  close (fd);
  return locked || refuse_folder (folder,
                                  "its file system has no locks; keep archives on a disk of this "
                                  "computer",
                                  cause, error);
}

/* sqlite.org/fileformat2.html, section 1.3: the header string, and the application's id at 68. */
#define HEADER_SIZE 100
#define HEADER_TEXT "SQLite format 3"
#define HEADER_ID 68

/* Looked at before SQLite is: it would put a foreign database in order.  One that is being written
 * for the first time may have all in its log yet. */
static gboolean
check_header (const char *path, const char *folder, GError **error)
{
  guint8 header[HEADER_SIZE] = { 0 };
  g_autofree char *wal = g_strconcat (path, "-wal", NULL);
  const int fd = open (path, O_RDONLY | O_CLOEXEC);
  if (fd < 0 || g_file_test (wal, G_FILE_TEST_EXISTS))
  {
    if (fd >= 0)
      close (fd);
    return TRUE; /* SQLite will tell */
  }
  const gssize n = read (fd, header, sizeof header);
  const gboolean ours = n == HEADER_SIZE && memcmp (header, HEADER_TEXT, sizeof HEADER_TEXT) == 0 &&
                        memcmp (header + HEADER_ID, WS_DATABASE_ID, 4) == 0;
  close (fd);
  if (!ours)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: " WS_DATABASE_NAME " is %s; put back a copy", folder,
                 n == 0 ? "empty" : "no archive of this program");
  return ours;
}

static gboolean
prepare_folder (const char *folder, WsArchiveMode mode, GError **error)
{
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  if (mode == WS_ARCHIVE_READ && !g_file_test (path, G_FILE_TEST_IS_REGULAR))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
                 "%s: no archive there (no " WS_DATABASE_NAME ")", folder);
    return FALSE;
  }
  if (mode == WS_ARCHIVE_READ)
    return check_header (path, folder, error);
  if (g_mkdir_with_parents (folder, MODE_NEW_FOLDER) != 0)
    return refuse_folder (folder, "can't make the folder", errno, error);
  return check_local (folder, error) && check_locks (folder, error);
}

/* The mode's name as answered is in `data`. */
static int
take_answer (void *data, int n, char **values, char **names)
{
  (void)names;
  if (n == 1 && values[0] != NULL)
    g_strlcpy (data, values[0], 16);
  return 0;
}

/* Two that make the same database at once find each other in the way, and then SQLite doesn't
 * wait by itself. */
static gboolean
set_wal (sqlite3 *db, const char *folder, GError **error)
{
  char mode[16] = "";
  const gint64 end = g_get_monotonic_time () + BUSY_MS * G_GINT64_CONSTANT (1000);
  int code;
  while ((code = sqlite3_exec (db, "PRAGMA journal_mode = WAL", take_answer, mode, NULL)) ==
           SQLITE_BUSY &&
         g_get_monotonic_time () < end)
    g_usleep (PAUSE_US);
  if (code != SQLITE_OK)
    return wsi_database_refuse (db, folder, error);
  return g_str_equal (mode, "wal") ||
         refuse_folder (folder,
                        "its file system can't share memory between writers; keep archives on a "
                        "disk of this computer",
                        0, error);
}

/* An archive has neither triggers nor views; in one that somebody gave us they would run as we
 * do (sqlite.org/security.html, "Untrusted SQLite Database Files"). */
static void
distrust (sqlite3 *db)
{
  sqlite3_db_config (db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
  sqlite3_db_config (db, SQLITE_DBCONFIG_ENABLE_VIEW, 0, NULL);
  sqlite3_db_config (db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
  sqlite3_db_config (db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
}

static gboolean
configure (sqlite3 *db, const char *folder, WsArchiveMode mode, GError **error)
{
  distrust (db);
  sqlite3_extended_result_codes (db, 1);
  sqlite3_busy_timeout (db, BUSY_MS);
  /* FULL: what was committed survives a power cut. */
  return (mode == WS_ARCHIVE_READ ||
          (wsi_database_run (db, folder, "PRAGMA page_size = " PAGE_BYTES, error) &&
           set_wal (db, folder, error))) &&
         wsi_database_run (db, folder, "PRAGMA foreign_keys = ON; PRAGMA synchronous = FULL",
                           error);
}

/* SQLite reads by files of its own beside the database; FALSE where it can't make them: in a folder
 * that nobody may write to, or on a full disk. */
static gboolean
is_readable (sqlite3 *db)
{
  sqlite3_exec (db, "SELECT count (*) FROM sqlite_schema", NULL, NULL, NULL);
  const int code = sqlite3_errcode (db) & 0xFF;
  return code != SQLITE_CANTOPEN && code != SQLITE_READONLY && code != SQLITE_IOERR &&
         code != SQLITE_FULL && code != SQLITE_PERM;
}

sqlite3 *
wsi_database_open (const char *folder, WsArchiveMode mode, GError **error)
{
  sqlite3 *db = NULL;
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  const int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX |
                    (mode == WS_ARCHIVE_WRITE ? SQLITE_OPEN_CREATE : 0);
  if (!wsi_late_has_sqlite (error) || !prepare_folder (folder, mode, error))
    return NULL;
  const int code = sqlite3_open_v2 (path, &db, flags, NULL);
  if (mode == WS_ARCHIVE_READ && (code != SQLITE_OK || !is_readable (db)))
  {
    sqlite3 *frozen = wsi_frozen_open (path);
    if (frozen != NULL)
    {
      sqlite3_close (db);
      db = frozen;
    }
  }
  else if (code != SQLITE_OK)
  {
    wsi_database_refuse (db, folder, error);
    g_clear_pointer (&db, sqlite3_close);
    return NULL;
  }
  if (!configure (db, folder, mode, error))
    g_clear_pointer (&db, sqlite3_close);
  return db;
}

/* ---- Copies ---------------------------------------------------------------------------------- */

/* sqlite.org/fileformat2.html, section 1.3.3: versions for writing and reading, 1 for a database
 * without a log, which can be read where nothing can be made beside it. */
#define HEADER_VERSIONS 18

static gboolean
mark_without_log (const char *path)
{
  static const guint8 versions[] = { 1, 1 };
  const int fd = open (path, O_WRONLY | O_CLOEXEC);
  const gboolean done =
    fd >= 0 &&
    pwrite (fd, versions, sizeof versions, HEADER_VERSIONS) == (ssize_t)sizeof versions &&
    fsync (fd) == 0;
  if (fd >= 0)
    close (fd);
  return done;
}

/* Nobody else knows the file, so it needs no locks, which a share may not have. */
gboolean
wsi_database_copy (sqlite3 *db, const char *folder, const char *path, GError **error)
{
  sqlite3 *copy = NULL;
  const int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
  int code = sqlite3_open_v2 (path, &copy, flags, "unix-none");
  sqlite3_backup *backup =
    code == SQLITE_OK ? sqlite3_backup_init (copy, "main", db, "main") : NULL;
  if (backup != NULL)
  {
    sqlite3_backup_step (backup, -1);
    code = sqlite3_backup_finish (backup);
  }
  const gboolean copied = backup != NULL && code == SQLITE_OK;
  if (!copied && copy != NULL && sqlite3_errcode (copy) != SQLITE_OK)
    wsi_database_refuse (copy, path, error);
  else if (!copied)
    wsi_database_refuse (db, folder, error);
  sqlite3_close (copy);
  if (copied && !mark_without_log (path))
    return refuse_folder (path, "can't write", errno, error);
  return copied;
}

gboolean
wsi_database_keeps_log (const char *folder)
{
  guint8 version = 0;
  g_autofree char *path = g_build_filename (folder, WS_DATABASE_NAME, NULL);
  const int fd = open (path, O_RDONLY | O_CLOEXEC);
  const gboolean keeps = fd >= 0 && pread (fd, &version, 1, HEADER_VERSIONS) == 1 && version > 1;
  if (fd >= 0)
    close (fd);
  return keeps;
}
