#include "archive/pictures.h"

#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/files.h"
#include "base/file.h"
#include "base/key_file.h"

#define KIND_OF_FILE "store's settings"
#define MAX_CONF_BYTES 65536
#define MODE_OWN_FOLDER 0700

/* ---- Settings -------------------------------------------------------------------------------- */

WsBucket *
wsi_pictures_load (const char *path, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_CONF_BYTES, error);
  g_autoptr (GKeyFile) file =
    text != NULL ? wsi_key_file_parse (path, KIND_OF_FILE, text, error) : NULL;
  return file != NULL ? wsi_bucket_new (path, file, error) : NULL;
}

void
wsi_pictures_open (WsArchive *archive)
{
  g_autofree char *path = g_build_filename (archive->engine->pictures, WS_PICTURES_NAME, NULL);
  archive->elsewhere = g_file_test (path, G_FILE_TEST_EXISTS);
  if (archive->elsewhere)
    archive->bucket = wsi_pictures_load (path, &archive->trouble);
}

void
wsi_pictures_close (WsArchive *archive)
{
  g_clear_pointer (&archive->bucket, wsi_bucket_free);
  g_clear_error (&archive->trouble);
}

void
wsi_pictures_look_again (WsArchive *archive)
{
  if (!archive->elsewhere)
    wsi_pictures_open (archive);
}

const char *
wsi_pictures_store (const WsArchive *archive)
{
  return archive->bucket != NULL ? wsi_bucket_address (archive->bucket) : NULL;
}

/* The store where they lie elsewhere; NULL with an error when its settings are wrong. */
static WsBucket *
bucket_of (const WsArchive *archive, GError **error)
{
  if (archive->bucket == NULL && error != NULL)
    *error = g_error_copy (archive->trouble);
  return archive->bucket;
}

/* ---- Kept, read ------------------------------------------------------------------------------ */

gboolean
wsi_pictures_save (WsArchive *archive, const char *sha256, GBytes *bytes, GError **error)
{
  if (!archive->elsewhere)
    return wsi_files_save (archive->engine->pictures, sha256, bytes, &archive->mended, error);
  WsBucket *bucket = bucket_of (archive, error);
  return bucket != NULL && wsi_bucket_put (bucket, sha256, bytes, error);
}

static WsBucketAnswer
read_file (const WsArchive *archive, const char *sha256, GBytes **bytes)
{
  char *content;
  gsize n;
  g_autofree char *path = wsi_files_path (archive->engine->pictures, sha256);
  if (!g_file_test (path, G_FILE_TEST_IS_REGULAR) || g_file_test (path, G_FILE_TEST_IS_SYMLINK) ||
      !g_file_get_contents (path, &content, &n, NULL))
    return WS_BUCKET_MISSING;
  *bytes = g_bytes_new_take (content, n);
  return WS_BUCKET_FOUND;
}

WsBucketAnswer
wsi_pictures_read (const WsArchive *archive, const char *sha256, GBytes **bytes, GError **error)
{
  if (!archive->elsewhere)
    return read_file (archive, sha256, bytes);
  WsBucket *bucket = bucket_of (archive, error);
  return bucket != NULL ? wsi_bucket_get (bucket, sha256, bytes, error) : WS_BUCKET_TROUBLE;
}

gboolean
wsi_pictures_is_good (GBytes *bytes, const char *sha256)
{
  gsize n;
  char found[WS_SHA256_HEX_SIZE];
  const void *content = g_bytes_get_data (bytes, &n);
  wsi_sha256_hex (content, n, found);
  return g_str_equal (found, sha256);
}

GBytes *
wsi_pictures_read_good (const WsArchive *archive, const char *sha256)
{
  g_autoptr (GBytes) bytes = NULL;
  if (wsi_pictures_read (archive, sha256, &bytes, NULL) != WS_BUCKET_FOUND ||
      !wsi_pictures_is_good (bytes, sha256))
    return NULL;
  return g_steal_pointer (&bytes);
}

WsBucketAnswer
wsi_pictures_hash (const WsArchive *archive, const char *sha256, guint64 *n_bytes,
                   char found[WS_SHA256_HEX_SIZE], GError **error)
{
  g_autoptr (GBytes) bytes = NULL;
  if (!archive->elsewhere)
  {
    g_autofree char *path = wsi_files_path (archive->engine->pictures, sha256);
    return wsi_sha256_file (path, n_bytes, found) ? WS_BUCKET_FOUND : WS_BUCKET_MISSING;
  }
  const WsBucketAnswer answer = wsi_pictures_read (archive, sha256, &bytes, error);
  if (answer != WS_BUCKET_FOUND)
    return answer;
  gsize n;
  const void *content = g_bytes_get_data (bytes, &n);
  wsi_sha256_hex (content, n, found);
  __atomic_fetch_add (n_bytes, n, __ATOMIC_RELAXED);
  return WS_BUCKET_FOUND;
}

gboolean
wsi_pictures_size (const WsArchive *archive, const char *sha256, guint64 *size)
{
  GStatBuf about;
  if (archive->elsewhere)
    return archive->bucket != NULL &&
           wsi_bucket_size (archive->bucket, sha256, size, NULL) == WS_BUCKET_FOUND;
  g_autofree char *path = wsi_files_path (archive->engine->pictures, sha256);
  if (g_stat (path, &about) != 0)
    return FALSE;
  *size = (guint64)about.st_size;
  return TRUE;
}

/* Where pictures of the store are taken to: who may only read the folder has one of his own. */
static char *
shelf_of (const WsArchive *archive)
{
  return !archive->elsewhere || g_access (archive->engine->pictures, W_OK) == 0
           ? g_strdup (archive->engine->pictures)
           : g_build_filename (g_get_user_cache_dir (), "whetsight", NULL);
}

char *
wsi_pictures_path (const WsArchive *archive, const char *sha256)
{
  char found[WS_SHA256_HEX_SIZE];
  gboolean mended = FALSE;
  g_autofree char *shelf = shelf_of (archive);
  char *path = wsi_files_path (shelf, sha256);
  if (!archive->elsewhere || (wsi_sha256_file (path, NULL, found) && g_str_equal (found, sha256)))
    return path;
  /* One that the store lacks, or has altered, isn't there for who reads it. */
  g_autoptr (GBytes) bytes = wsi_pictures_read_good (archive, sha256);
  g_mkdir_with_parents (shelf, MODE_OWN_FOLDER);
  if (bytes == NULL || !wsi_files_save (shelf, sha256, bytes, &mended, NULL))
    g_unlink (path);
  return path;
}

/* ---- In the store ---------------------------------------------------------------------------- */

gboolean
wsi_pictures_remove_stored (const WsArchive *archive, const char *sha256, GError **error)
{
  if (!archive->elsewhere)
    return TRUE;
  WsBucket *bucket = bucket_of (archive, error);
  return bucket != NULL && wsi_bucket_remove (bucket, sha256, error);
}

gboolean
wsi_pictures_each_stored (const WsArchive *archive, WsBucketVisit visit, gpointer data,
                          GError **error)
{
  if (!archive->elsewhere)
    return TRUE;
  WsBucket *bucket = bucket_of (archive, error);
  return bucket != NULL && wsi_bucket_each (bucket, visit, data, error);
}
