/*
 * Pictures by their hashes, and files that don't belong.
 */
#include <string.h>
#include <sys/stat.h>

#include <glib/gstdio.h>

#include "archive/check.h"
#include "archive/database.h"
#include "archive/files.h"
#include "archive/pictures.h"
#include "archive/statements.h"

#define PART_SUFFIX ".part"
#define PROGRESS_US 200000
#define FIRST_US 1000 /* a small archive is done by then */

/* A picture to be hashed, and what came of it. */
typedef struct
{
  char *sha256;
  guint64 size, bytes; /* as the table says, and as it is */
  char found[WS_SHA256_HEX_SIZE];
  gboolean read;
  GError *trouble; /* why it can't be told whether it is there; or NULL */
} Picture;

static void
picture_free (gpointer data)
{
  Picture *picture = data;
  g_clear_error (&picture->trouble);
  g_free (picture->sha256);
  g_free (picture);
}

struct WsPictureCheck
{
  WsCheck *check;
  GPtrArray *pictures; /* of Picture */
  GThreadPool *pool;
};

static gboolean
list_picture (const char *sha256, gint64 size, gpointer data)
{
  const WsPictureCheck *listing = data;
  Picture *picture = g_new0 (Picture, 1);
  picture->sha256 = g_strdup (sha256);
  picture->size = (guint64)size;
  g_ptr_array_add (listing->pictures, picture);
  g_hash_table_add (listing->check->known, g_strdup (sha256));
  listing->check->all_bytes += picture->size;
  return TRUE;
}

/* In a worker. */
static void
hash_picture (gpointer item, gpointer data)
{
  Picture *picture = item;
  WsCheck *check = data;
  g_autofree char *path = wsi_files_path (check->archive->engine->pictures, picture->sha256);
  GStatBuf about;
  if (check->pictures_were_read && g_lstat (path, &about) == 0 && S_ISREG (about.st_mode))
  {
    picture->read = TRUE;
    picture->bytes = (guint64)about.st_size;
    g_strlcpy (picture->found, picture->sha256, sizeof picture->found);
    return;
  }
  picture->read = wsi_pictures_hash (check->archive, picture->sha256, &picture->bytes,
                                     picture->found, &picture->trouble) == WS_BUCKET_FOUND;
  __atomic_fetch_add (&check->done_bytes, picture->bytes, __ATOMIC_RELAXED);
}

WsPictureCheck *
wsi_picture_check_start (WsCheck *check, GError **error)
{
  WsPictureCheck *pictures = g_new0 (WsPictureCheck, 1);
  pictures->check = check;
  pictures->pictures = g_ptr_array_new_with_free_func (picture_free);
  if (!wsi_store_each_file (check->archive, list_picture, pictures, error))
  {
    g_ptr_array_unref (pictures->pictures);
    g_free (pictures);
    return NULL;
  }
  pictures->pool =
    g_thread_pool_new (hash_picture, check, (int)g_get_num_processors (), FALSE, NULL);
  for (guint i = 0; i < pictures->pictures->len; i++)
  {
    Picture *picture = g_ptr_array_index (pictures->pictures, i);
    if (wsi_sha256_is_hex (picture->sha256))
      g_thread_pool_push (pictures->pool, picture, NULL);
  }
  return pictures;
}

static void
await (const WsPictureCheck *pictures)
{
  WsCheck *check = pictures->check;
  gulong pause = FIRST_US;
  while (check->verifier->progress != NULL && g_thread_pool_unprocessed (pictures->pool) > 0)
  {
    wsi_check_progress (check);
    g_usleep (pause);
    pause = MIN (2 * pause, PROGRESS_US);
  }
  g_thread_pool_free (pictures->pool, FALSE, TRUE);
}

static void
judge_picture (WsCheck *check, const Picture *picture)
{
  const WsLink *user = g_hash_table_lookup (check->used, picture->sha256);
  g_autofree char *owner = user != NULL ? g_strdup_printf (" (of %s)", user->id) : g_strdup ("");
  check->result->files++;
  if (user == NULL)
    wsi_check_tell (check, "picture %s: no row names it, inserted into the table", picture->sha256);
  if (picture->trouble != NULL)
    wsi_check_tell (check, "picture %s%s: can't be checked: %s", picture->sha256, owner,
                    picture->trouble->message);
  else if (!picture->read)
    wsi_check_tell (check, "picture %s%s: missing", picture->sha256, owner);
  else if (!g_str_equal (picture->found, picture->sha256))
    wsi_check_tell (check, "picture %s%s: altered", picture->sha256, owner);
  else if (picture->bytes != picture->size)
    wsi_check_tell (check, "picture %s%s: the table has another size, it was edited",
                    picture->sha256, owner);
}

static void
check_uses (WsCheck *check)
{
  GHashTableIter iter;
  gpointer sha256, link;
  g_hash_table_iter_init (&iter, check->used);
  while (g_hash_table_iter_next (&iter, &sha256, &link))
    if (g_hash_table_contains (check->known, sha256))
      continue;
    else if (wsi_check_was_removed (check, sha256))
      check->result->removed++;
    else
      wsi_check_tell (check, "picture %s (of %s): removed from the table", (const char *)sha256,
                      ((const WsLink *)link)->id);
}

void
wsi_picture_check_finish (WsPictureCheck *pictures, gboolean judge)
{
  await (pictures);
  for (guint i = 0; judge && i < pictures->pictures->len; i++)
    judge_picture (pictures->check, g_ptr_array_index (pictures->pictures, i));
  if (judge)
    check_uses (pictures->check);
  g_ptr_array_unref (pictures->pictures);
  g_free (pictures);
}

/* ---- Files that nobody knows --------------------------------------------------------- */

static gboolean
note_announced (const char *sha256, gint64 size, gpointer data)
{
  WsCheck *check = data;
  (void)size;
  g_hash_table_add (check->announced, g_strdup (sha256));
  return TRUE;
}

/* "SHA256" or "SHA256.0123abcd.part" of a picture that some writer has announced. */
static gboolean
is_left_over (const WsCheck *check, const char *name)
{
  if (strlen (name) < WS_SHA256_HEX_SIZE - 1)
    return FALSE;
  g_autofree char *sha256 = g_strndup (name, WS_SHA256_HEX_SIZE - 1);
  const gboolean announced =
    g_hash_table_contains (check->announced, sha256) || wsi_check_was_removed (check, sha256);
  const gboolean part = name[WS_SHA256_HEX_SIZE - 1] == '.' && g_str_has_suffix (name, PART_SUFFIX);
  if (part)
    return announced || g_hash_table_contains (check->known, sha256);
  return announced && name[WS_SHA256_HEX_SIZE - 1] == '\0';
}

/* A writer that was killed before its picture leaves one, and has announced the picture; one that
 * writes now has filled it meanwhile.  So does a rule that was killed behind its last picture. */
static void
check_empty (WsCheck *check, const char *fan)
{
  GHashTableIter iter;
  gpointer sha256;
  GHashTable *const tables[] = { check->announced, check->known, check->removals };
  for (gsize i = 0; i < G_N_ELEMENTS (tables); i++)
  {
    g_hash_table_iter_init (&iter, tables[i]);
    while (g_hash_table_iter_next (&iter, &sha256, NULL))
      if (strncmp (sha256, fan, 2) == 0)
        return;
  }
  wsi_check_tell (check, "folder " WS_FILES_FOLDER "/%s: empty, no row knows it", fan);
}

static void
check_name (WsCheck *check, const char *fan, const char *name)
{
  const gboolean in_place = strncmp (name, fan, 2) == 0;
  if (*name == '\0')
  {
    check_empty (check, fan);
    return;
  }
  if (in_place && g_hash_table_contains (check->known, name))
    return;
  if (in_place && is_left_over (check, name))
    check->result->left_over++;
  else
    wsi_check_tell (check, "file " WS_FILES_FOLDER "/%s/%s: extra, no row knows it", fan, name);
}

/* Pictures behind a link lie elsewhere, where nobody looks after them. */
static gboolean
tell_link (WsCheck *check, const char *path, const char *name)
{
  if (!g_file_test (path, G_FILE_TEST_IS_SYMLINK))
    return FALSE;
  wsi_check_tell (check, "folder %s: a symbolic link, its pictures lie elsewhere", name);
  return TRUE;
}

static void
check_fan (WsCheck *check, const char *images, const char *fan)
{
  g_autofree char *path = g_build_filename (images, fan, NULL);
  const gboolean linked = tell_link (check, path, fan);
  GDir *dir = strlen (fan) == 2 && !linked ? g_dir_open (path, 0, NULL) : NULL;
  gboolean empty = TRUE;
  if (linked)
    return;
  if (dir == NULL)
  {
    wsi_check_tell (check, "file " WS_FILES_FOLDER "/%s: extra, no row knows it", fan);
    return;
  }
  for (const char *name; (name = g_dir_read_name (dir)) != NULL; empty = FALSE)
    if (!g_hash_table_contains (check->known, name) || strncmp (name, fan, 2) != 0)
      g_ptr_array_add (check->unknown, g_build_filename (fan, name, NULL));
  g_dir_close (dir);
  if (empty)
    g_ptr_array_add (check->unknown, g_strconcat (fan, "/", NULL));
}

static void
check_root (WsCheck *check)
{
  static const char *const ours[] = { WS_DATABASE_NAME,
                                      WS_DATABASE_NAME "-wal",
                                      WS_DATABASE_NAME "-shm",
                                      WS_DATABASE_NAME "-journal",
                                      WS_FILES_FOLDER,
                                      WS_PICTURES_NAME,
                                      NULL };
  GDir *dir = g_dir_open (check->archive->engine->pictures, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    if (wsi_files_is_left_over (name))
      check->result->left_over++;
    else if (!g_strv_contains (ours, name))
      wsi_check_tell (check, "file %s: extra, not of the archive", name);
  if (dir != NULL)
    g_dir_close (dir);
}

static void
check_folders (WsCheck *check)
{
  g_autofree char *images =
    g_build_filename (check->archive->engine->pictures, WS_FILES_FOLDER, NULL);
  GDir *dir = g_dir_open (images, 0, NULL);
  tell_link (check, images, WS_FILES_FOLDER);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    check_fan (check, images, name);
  if (dir != NULL)
    g_dir_close (dir);
  check_root (check);
}

static gboolean
note_known (const char *sha256, gint64 size, gpointer data)
{
  WsCheck *check = data;
  (void)size;
  g_hash_table_add (check->known, g_strdup (sha256));
  return TRUE;
}

/* By a copy that is made here, or was stopped. */
static void
note_coming (WsCheck *check)
{
  g_autofree char *path =
    g_build_filename (check->archive->engine->pictures, WS_ANNOUNCED_NAME, NULL);
  g_autofree char *names = NULL;
  if (!g_file_test (path, G_FILE_TEST_IS_REGULAR) ||
      !g_file_get_contents (path, &names, NULL, NULL))
    return;
  g_auto (GStrv) lines = g_strsplit (names, "\n", -1);
  for (char **line = lines; *line != NULL; line++)
    if (wsi_sha256_is_hex (*line))
      note_announced (*line, 0, check);
}

/* Writers may go on meanwhile.  What the folders were seen to hold was announced before, so it is
 * still announced, or stored by now. */
gboolean
wsi_check_extras (WsCheck *check, GError **error)
{
  note_coming (check);
  check_folders (check);
  note_coming (check);
  if (!wsi_store_each_pending (check->archive, note_announced, check, error) ||
      !wsi_store_each_file (check->archive, note_known, check, error))
    return FALSE;
  for (guint i = 0; i < check->unknown->len; i++)
  {
    /* Two digits, a slash, and the name in that folder; none stands for an empty folder. */
    const char *path = g_ptr_array_index (check->unknown, i);
    const char fan[3] = { path[0], path[1], '\0' };
    check_name (check, fan, path + sizeof fan);
  }
  return TRUE;
}
