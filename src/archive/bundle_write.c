/*
 * A bundle is written so that it isn't one before it is whole: pictures, rows, and last the
 * manifest that names them.
 */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/bundle.h>
#include <whetsight/error.h>
#include <whetsight/seal.h>

#include "archive/check.h"
#include "archive/exchange.h"
#include "archive/files.h"
#include "archive/manifest.h"
#include "archive/pictures.h"
#include "archive/series.h"
#include "archive/statements.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */

typedef struct
{
  WsArchive *archive;
  const char *to;
  WsManifest *manifest;
  WsBundle *result;
  FILE *rows;
  GHashTable *copied; /* SHA-256 */
} Writing;

static gboolean
refuse_write (const char *path, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't write: %s", path,
               g_strerror (errno));
  return FALSE;
}

/* What an unfinished one left may lie there. */
static gboolean
prepare (const char *to, GError **error)
{
  static const char *const ours[] = { WS_FILES_FOLDER, WS_BUNDLE_ROWS, WS_BUNDLE_SEAL, NULL };
  gboolean others = FALSE;
  if (wsi_files_lies_in_archive (to))
  {
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s: lies in an archive; give a folder elsewhere",
                 to);
    return FALSE;
  }
  if (g_mkdir_with_parents (to, MODE_NEW_FOLDER) != 0)
    return refuse_write (to, error);
  GDir *dir = g_dir_open (to, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
    others = others || !(g_strv_contains (ours, name) || g_str_has_suffix (name, ".part"));
  if (dir != NULL)
    g_dir_close (dir);
  if (others)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: holds something already; give a new folder",
                 to);
  return !others;
}

/* One that isn't there as it should be stays behind, and `files` doesn't name it. */
static gboolean
copy_picture (Writing *writing, const char *sha256, json_t *files, GError **error)
{
  gboolean mended = FALSE;
  if (sha256 == NULL || !wsi_sha256_is_hex (sha256))
    return TRUE;
  if (!g_hash_table_contains (writing->copied, sha256))
  {
    g_autoptr (GBytes) bytes = wsi_pictures_read_good (writing->archive, sha256);
    if (bytes == NULL)
      return TRUE;
    if (!wsi_files_save (writing->to, sha256, bytes, &mended, error))
      return FALSE;
    g_hash_table_add (writing->copied, g_strdup (sha256));
    writing->result->pictures++;
    writing->result->bytes += g_bytes_get_size (bytes);
  }
  json_array_append_new (files, json_string (sha256));
  return TRUE;
}

static gboolean
write_row (Writing *writing, const WsInspection *row, json_t *files, GError **error)
{
  g_autoptr (GString) line = g_string_new (NULL);
  char *names = json_dumps (files, 0);
  g_autofree char *more = g_strdup_printf (
    "\"number\": %" G_GUINT64_FORMAT ", \"previous\": \"%s\", \"hash\": \"%s\", \"pictures\": %s, "
    "\"files\": %s, ",
    row->number, row->previous, row->hash, row->has_pictures ? "true" : "false", names);
  free (names);
  wsi_exchange_append_line (line, row, more);
  writing->result->rows++;
  return fwrite (line->str, 1, line->len, writing->rows) == line->len ||
         refuse_write (writing->to, error);
}

static gboolean
copy_others (Writing *writing, const WsInspection *row, json_t *files, GError **error)
{
  g_auto (GStrv) others = wsi_series_others (row);
  for (gsize i = 0; others[i] != NULL; i++)
    if (!copy_picture (writing, others[i], files, error))
      return FALSE;
  return TRUE;
}

static gboolean
add_row (const WsInspection *row, gpointer data, GError **error)
{
  Writing *writing = data;
  if (row->number <= writing->manifest->after || row->number > writing->manifest->count)
    return TRUE;
  json_t *files = json_array ();
  const gboolean done =
    (!row->has_pictures || (copy_picture (writing, row->image, files, error) &&
                            copy_picture (writing, row->annotated, files, error) &&
                            copy_others (writing, row, files, error))) &&
    write_row (writing, row, files, error);
  json_decref (files);
  return done;
}

static gboolean
write_rows (Writing *writing, GError **error)
{
  g_autofree char *path = g_build_filename (writing->to, WS_BUNDLE_ROWS, NULL);
  writing->rows = fopen (path, "wb");
  if (writing->rows == NULL)
    return refuse_write (path, error);
  gboolean done = wsi_store_each_row (writing->archive, add_row, writing, error);
  if (done && (fflush (writing->rows) != 0 || fsync (fileno (writing->rows)) != 0))
    done = refuse_write (path, error);
  if (fclose (writing->rows) != 0 && done)
    done = refuse_write (path, error);
  return done && (wsi_sha256_file (path, NULL, writing->manifest->rows_sha256) ||
                  refuse_write (path, error));
}

static void
tell_nobody (const char *what, gpointer data)
{
  char **first = data;
  if (*first == NULL)
    *first = g_strdup (what);
}

static gboolean
check_rows (WsArchive *archive, GError **error)
{
  WsVerification found;
  g_autofree char *first = NULL;
  const WsVerifier verifier = { tell_nobody, NULL, &first };
  if (!wsi_verify_rows (archive, &verifier, &found, error))
    return FALSE;
  if (found.wrong > 0)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                 "archive %s: not as it was written (%s), so nothing of it is passed on; whetsight "
                 "archive verify tells more",
                 archive->engine->name, first);
  return found.wrong == 0;
}

/* Where it begins, and where it ends: at the seal, or with what is there now. */
static gboolean
find_ends (WsArchive *archive, WsManifest *manifest, GError **error)
{
  WsHead head;
  gboolean found = TRUE;
  if (!wsi_store_head (archive, NULL, &head, error))
    return FALSE;
  if (manifest->seal == NULL)
  {
    manifest->count = head.count;
    g_strlcpy (manifest->hash, head.hash, sizeof manifest->hash);
  }
  if (manifest->after > 0 &&
      !wsi_store_hash (archive, NULL, manifest->after, manifest->after_hash, &found, error))
    return FALSE;
  if (!found || manifest->after > manifest->count)
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
                 "archive %s: has %" G_GUINT64_FORMAT " rows, none after %" G_GUINT64_FORMAT,
                 archive->engine->name, manifest->count, manifest->after);
  return found && manifest->after <= manifest->count;
}

static gboolean
sign (WsArchive *archive, const char *key, WsManifest *manifest, GError **error)
{
  if (key == NULL)
    return TRUE;
  manifest->seal = ws_archive_seal_signed (archive, key, error);
  g_autoptr (GPtrArray) seals =
    manifest->seal != NULL ? ws_seals_read (manifest->seal, error) : NULL;
  if (seals == NULL)
    return FALSE;
  const WsSeal *seal = g_ptr_array_index (seals, 0);
  manifest->count = seal->count;
  g_strlcpy (manifest->hash, seal->hash, sizeof manifest->hash);
  return TRUE;
}

/* A line of its own; "\n" in it would make two. */
static char *
clean_name (const char *name)
{
  g_autofree char *valid = g_utf8_make_valid (name, -1);
  return g_strstrip (g_strdelimit (g_steal_pointer (&valid), "\r\n\t", ' '));
}

/* Its manifest speaks of one chain. */
static gboolean
check_one_chain (const WsArchive *archive, GError **error)
{
  if (archive->engine->bench == NULL)
    return TRUE;
  g_set_error (
    error, WS_ERROR, WS_ERROR_USAGE,
    "archive %s: bundles are of one bench's folder; archive sync brings benches together",
    archive->engine->name);
  return FALSE;
}

gboolean
ws_archive_bundle (WsArchive *archive, const char *to, const WsBundleOptions *options,
                   WsBundle *bundle, GError **error)
{
  g_auto (WsManifest) manifest = { .after = options->after };
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GHashTable) copied = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  Writing writing = { archive, to, &manifest, bundle, NULL, copied };
  *bundle = (WsBundle){ 0 };
  manifest.time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  manifest.name = clean_name (options->name);
  if (!check_one_chain (archive, error) || !prepare (to, error) ||
      !sign (archive, options->key, &manifest, error) || !wsi_store_begin_reading (archive, error))
    return FALSE;
  const gboolean done = check_rows (archive, error) && find_ends (archive, &manifest, error) &&
                        write_rows (&writing, error);
  wsi_store_end_reading (archive);
  if (!done || !wsi_archive_expect_still (archive, error) ||
      !wsi_manifest_save (to, &manifest, error))
    return FALSE;
  bundle->name = g_steal_pointer (&manifest.name);
  return TRUE;
}
