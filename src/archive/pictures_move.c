#include "archive/pictures_move.h"

#include <string.h>

#include <whetsight/error.h>

#include "archive/pictures.h"
#include "archive/store.h"
#include "base/file.h"
#include "base/key_file.h"

#define KIND_OF_FILE "store's settings"
#define MAX_CONF_BYTES 65536

static gboolean
note_name (const char *sha256, gint64 size, gpointer data)
{
  (void)size;
  g_ptr_array_add (data, g_strdup (sha256));
  return TRUE;
}

static gboolean
move_one (const WsArchive *archive, WsBucket *to, const char *sha256, GError **error)
{
  g_autoptr (GBytes) bytes = wsi_pictures_read_good (archive, sha256);
  g_autoptr (GBytes) back = NULL;
  if (bytes == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: picture %s is missing or altered; nothing was changed",
                 archive->engine->name, sha256);
    return FALSE;
  }
  if (!wsi_bucket_put (to, sha256, bytes, error))
    return FALSE;
  const WsBucketAnswer answer = wsi_bucket_get (to, sha256, &back, error);
  if (answer == WS_BUCKET_FOUND && wsi_pictures_is_good (back, sha256))
    return TRUE;
  if (answer != WS_BUCKET_TROUBLE)
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE,
                 "picture %s doesn't come back from %s as it was sent; nothing was changed", sha256,
                 wsi_bucket_address (to));
  return FALSE;
}

/* What is relative in it would lead elsewhere. */
static gboolean
expect_absolute (const char *conf, const char *text, GError **error)
{
  g_autoptr (GKeyFile) file = wsi_key_file_parse (conf, KIND_OF_FILE, text, error);
  g_autofree char *keys =
    file != NULL ? g_key_file_get_string (file, "pictures", "keys", NULL) : NULL;
  if (file == NULL || keys == NULL || g_path_is_absolute (keys))
    return file != NULL;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: [pictures] keys: expected a whole path: the file is kept in the archive", conf);
  return FALSE;
}

/* Those that weren't moved before. */
static gboolean
move_some (WsArchive *archive, WsBucket *to, GHashTable *moved, GError **error)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  if (!wsi_store_each_file (archive, note_name, names, error))
    return FALSE;
  for (guint i = 0; i < names->len; i++)
  {
    const char *sha256 = g_ptr_array_index (names, i);
    if (g_hash_table_contains (moved, sha256))
      continue;
    if (!move_one (archive, to, sha256, error))
      return FALSE;
    g_hash_table_add (moved, g_strdup (sha256));
  }
  return TRUE;
}

/* Once without keeping others from writing, then what came meanwhile. */
gboolean
wsi_pictures_move (WsArchive *archive, const char *conf, guint *n_moved, GError **error)
{
  g_autofree char *text = wsi_file_read_text (conf, KIND_OF_FILE, MAX_CONF_BYTES, error);
  g_autofree char *path = g_build_filename (archive->engine->pictures, WS_PICTURES_NAME, NULL);
  g_autoptr (GHashTable) moved = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  if (text == NULL || !expect_absolute (conf, text, error))
    return FALSE;
  g_autoptr (WsBucket) to = wsi_pictures_load (conf, error);
  if (to == NULL || !move_some (archive, to, moved, error) ||
      !wsi_transaction_begin_writing (archive, error))
    return FALSE;
  const gboolean done =
    move_some (archive, to, moved, error) && wsi_file_save (path, text, strlen (text), error);
  wsi_transaction_roll_back (archive);
  *n_moved = g_hash_table_size (moved);
  return done;
}
