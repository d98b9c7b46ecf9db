/*
 * Taking in a bundle: first all of it is checked, then pictures come, announced, and last all rows
 * in one transaction.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/bundle.h>
#include <whetsight/error.h>
#include <whetsight/exchange.h>
#include <whetsight/seal.h>

#include "archive/files.h"
#include "archive/manifest.h"
#include "archive/pictures.h"
#include "archive/series.h"
#include "archive/statements.h"
#include "archive/store.h"

typedef struct
{
  WsArchive *archive;
  const char *from;
  const WsManifest *manifest;
  WsBundle *result;
  guint64 number;                /* of the row that was read last */
  char hash[WS_SHA256_HEX_SIZE]; /* and its hash */
  char *source;                  /* what rows are marked by, but for their place */
} Merging;

/* A row of the bundle. */
typedef struct
{
  WsInspection *row;
  guint64 number;
  char hash[WS_SHA256_HEX_SIZE]; /* in the chain that it comes from */
  GPtrArray *files;              /* of char *, SHA-256 of what comes along */
} Line;

static void
line_clear (Line *line)
{
  g_clear_pointer (&line->row, ws_inspection_free);
  g_clear_pointer (&line->files, g_ptr_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Line, line_clear)

static gboolean
refuse (const Merging *merging, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "bundle %s: row %" G_GUINT64_FORMAT ": %s; nothing is merged", merging->from,
               merging->number, what);
  return FALSE;
}

/* ---- A line -------------------------------------------------------------------------------- */

/* What belongs to another row would lie here without one. */
static gboolean
is_its_own (const WsInspection *row, const char *sha256)
{
  if (!row->has_pictures || sha256 == NULL || !wsi_sha256_is_hex (sha256))
    return FALSE;
  g_auto (GStrv) others = wsi_series_others (row);
  return g_strcmp0 (sha256, row->image) == 0 || g_strcmp0 (sha256, row->annotated) == 0 ||
         g_strv_contains ((const char *const *)others, sha256);
}

static gboolean
take_files (const Merging *merging, const json_t *names, Line *line, GError **error)
{
  gsize i;
  json_t *name;
  line->files = g_ptr_array_new_with_free_func (g_free);
  json_array_foreach ((json_t *)names, i, name)
  {
    const char *sha256 = json_string_value (name);
    if (!is_its_own (line->row, sha256))
      return refuse (merging, "a picture that isn't its own", error);
    g_ptr_array_add (line->files, g_strdup (sha256));
  }
  return TRUE;
}

/* Its hash is worked out anew by what stands there and the row before, so that the whole chain up
 * to the manifest's end is. */
static gboolean
check_place (Merging *merging, const json_t *whole, Line *line, GError **error)
{
  const char *previous = json_string_value (json_object_get (whole, "previous"));
  const char *hash = json_string_value (json_object_get (whole, "hash"));
  line->row->has_pictures = json_is_true (json_object_get (whole, "pictures"));
  line->row->previous = g_strdup (merging->hash);
  wsi_columns_hash (line->row, line->hash);
  line->number = merging->number;
  if (json_integer_value (json_object_get (whole, "number")) != (json_int_t)merging->number ||
      g_strcmp0 (previous, merging->hash) != 0 || g_strcmp0 (hash, line->hash) != 0)
    return refuse (merging, "isn't the one that was written in the chain it comes from", error);
  g_strlcpy (merging->hash, line->hash, sizeof merging->hash);
  return take_files (merging, json_object_get (whole, "files"), line, error);
}

static gboolean
read_line (Merging *merging, const char *text, Line *line, GError **error)
{
  merging->number++;
  line->row = ws_exchange_read (text, error);
  if (line->row == NULL)
  {
    g_prefix_error (error,
                    "bundle %s: row %" G_GUINT64_FORMAT ": nothing is merged: ", merging->from,
                    merging->number);
    return FALSE;
  }
  json_t *whole = json_loads (text, 0, NULL);
  const gboolean good = check_place (merging, whole, line, error);
  json_decref (whole);
  return good;
}

typedef gboolean (*LineVisit) (Merging *merging, Line *line, GError **error);

static gboolean
read_lines (Merging *merging, FILE *file, LineVisit visit, GError **error)
{
  size_t room = 0;
  ssize_t length;
  gboolean done = TRUE;
  char *text = NULL;
  merging->number = merging->manifest->after;
  g_strlcpy (merging->hash, merging->manifest->after_hash, sizeof merging->hash);
  while (done && (length = getline (&text, &room, file)) > 0)
  {
    g_auto (Line) line = { 0 };
    done = memchr (text, '\0', (gsize)length) == NULL
             ? read_line (merging, text, &line, error) && visit (merging, &line, error)
             : refuse (merging, "a zero byte", error);
  }
  free (text);
  return done;
}

static gboolean
each_line (Merging *merging, LineVisit visit, GError **error)
{
  g_autofree char *path = g_build_filename (merging->from, WS_BUNDLE_ROWS, NULL);
  FILE *file = fopen (path, "rb");
  if (file == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT, "%s: can't be read: %s", path,
                 g_strerror (errno));
    return FALSE;
  }
  const gboolean done = read_lines (merging, file, visit, error);
  fclose (file);
  return done;
}

/* ---- What is done with it ------------------------------------------------------------------- */

/* What it says otherwise than the row of its id that is here; it may have come another way, so
 * marks of that don't count. */
static gboolean
compare (Merging *merging, const Line *line, const WsInspection *there, GError **error)
{
  const WsInspection *row = line->row;
  return (g_str_equal (row->record, there->record) && row->reground == there->reground &&
          g_strcmp0 (row->settings, there->settings) == 0 &&
          g_strcmp0 (row->station, there->station) == 0 &&
          g_strcmp0 (row->grinder, there->grinder) == 0 &&
          g_strcmp0 (row->annotated, there->annotated) == 0) ||
         refuse (merging, "is here already under the same id, with another content", error);
}

/* `known` becomes TRUE for one that is here. */
static gboolean
look_for (Merging *merging, const Line *line, gboolean *known, GError **error)
{
  g_autoptr (GError) cause = NULL;
  g_autoptr (WsInspection) there = wsi_store_find (merging->archive, line->row->id, &cause);
  *known = there != NULL;
  if (there == NULL && !g_error_matches (cause, WS_ERROR, WS_ERROR_NO_INPUT))
  {
    g_propagate_error (error, g_steal_pointer (&cause));
    return FALSE;
  }
  if (there != NULL && there->wrong != NULL)
    return refuse (merging, "is here already, not as it was written", error);
  return there == NULL || compare (merging, line, there, error);
}

static GBytes *
read_picture (const Merging *merging, const char *sha256, GError **error)
{
  char *content;
  gsize n;
  char hash[WS_SHA256_HEX_SIZE];
  g_autofree char *path = wsi_files_path (merging->from, sha256);
  if (!g_file_test (path, G_FILE_TEST_IS_REGULAR) ||
      !g_file_get_contents (path, &content, &n, NULL))
  {
    refuse (merging, "a picture of it is missing", error);
    return NULL;
  }
  wsi_sha256_hex (content, n, hash);
  if (g_str_equal (hash, sha256))
    return g_bytes_new_take (content, n);
  g_free (content);
  refuse (merging, "a picture of it was altered", error);
  return NULL;
}

static gboolean
check_line (Merging *merging, Line *line, GError **error)
{
  gboolean known;
  merging->result->rows++;
  for (guint i = 0; i < line->files->len; i++)
  {
    g_autoptr (GBytes) bytes = read_picture (merging, g_ptr_array_index (line->files, i), error);
    if (bytes == NULL)
      return FALSE;
    merging->result->pictures++;
    merging->result->bytes += g_bytes_get_size (bytes);
  }
  return look_for (merging, line, &known, error);
}

static gboolean
save_pictures (Merging *merging, Line *line, GError **error)
{
  gboolean known;
  if (!look_for (merging, line, &known, error))
    return FALSE;
  for (guint i = 0; !known && i < line->files->len; i++)
  {
    const char *sha256 = g_ptr_array_index (line->files, i);
    g_autoptr (GBytes) bytes = read_picture (merging, sha256, error);
    if (bytes == NULL || !wsi_store_save_picture (merging->archive, bytes, sha256, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
comes_along (const Line *line, const char *sha256)
{
  return sha256 == NULL ||
         g_ptr_array_find_with_equal_func (line->files, sha256, g_str_equal, NULL);
}

/* Marked by where it stood there, so that it can be asked for. */
static void
mark (const Merging *merging, Line *line)
{
  g_autofree char *there = line->row->imported;
  g_autofree char *place = g_strdup_printf ("%s, row %" G_GUINT64_FORMAT " there, hash %s",
                                            merging->source, line->number, line->hash);
  line->row->imported =
    there != NULL ? g_strdup_printf ("%s; there from %s", place, there) : g_steal_pointer (&place);
  line->row->has_pictures = line->row->has_pictures && comes_along (line, line->row->image) &&
                            comes_along (line, line->row->annotated);
  g_auto (GStrv) others = wsi_series_others (line->row);
  for (gsize i = 0; others[i] != NULL; i++)
    line->row->has_pictures = line->row->has_pictures && comes_along (line, others[i]);
}

/* It lies here since it was saved, or somebody has cleared it away meanwhile. */
static gboolean
insert_file (const Merging *merging, const char *sha256, GError **error)
{
  guint64 size;
  if (wsi_pictures_size (merging->archive, sha256, &size))
    return wsi_store_enter_file (merging->archive, sha256, size, error);
  g_autoptr (GBytes) bytes = read_picture (merging, sha256, error);
  return bytes != NULL && wsi_store_insert_file (merging->archive, bytes, sha256, error);
}

static gboolean
insert_files (const Merging *merging, const Line *line, GError **error)
{
  for (guint i = 0; line->row->has_pictures && i < line->files->len; i++)
    if (!insert_file (merging, g_ptr_array_index (line->files, i), error))
      return FALSE;
  return TRUE;
}

static gboolean
store_line (Merging *merging, Line *line, GError **error)
{
  gboolean known;
  if (!look_for (merging, line, &known, error))
    return FALSE;
  if (known)
  {
    merging->result->known++;
    return TRUE;
  }
  mark (merging, line);
  merging->result->stored++;
  return ws_archive_store (merging->archive, line->row, NULL, error) &&
         insert_files (merging, line, error);
}

/* ---- All of it ------------------------------------------------------------------------------ */

static gboolean
check_end (const Merging *merging, GError **error)
{
  return (merging->number == merging->manifest->count &&
          g_str_equal (merging->hash, merging->manifest->hash)) ||
         refuse (merging, "isn't the last that the manifest names", error);
}

static gboolean
check_signer (Merging *merging, const char *key, GError **error)
{
  const WsManifest *manifest = merging->manifest;
  g_autofree char *expected = key != NULL ? ws_seal_key_public (key, error) : NULL;
  g_autoptr (GPtrArray) seals =
    manifest->seal != NULL ? ws_seals_read (manifest->seal, error) : NULL;
  const WsSeal *seal = seals != NULL ? g_ptr_array_index (seals, 0) : NULL;
  if ((key != NULL && expected == NULL) || (manifest->seal != NULL && seal == NULL))
    return FALSE;
  const char *wrong = NULL;
  if (seal != NULL && (seal->count != manifest->count || !g_str_equal (seal->hash, manifest->hash)))
    wrong = "its seal is of other rows";
  else if (expected != NULL && (seal == NULL || seal->key == NULL))
    wrong = "it isn't signed";
  else if (expected != NULL && !g_str_equal (seal->key, expected))
    wrong = "it is signed by another key";
  if (wrong != NULL)
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "bundle %s: %s; nothing is merged", merging->from,
                 wrong);
  merging->result->signer = wrong == NULL && seal != NULL ? g_strdup (seal->key) : NULL;
  return wrong == NULL;
}

static gboolean
store_all (Merging *merging, GError **error)
{
  if (!ws_archive_begin (merging->archive, error))
    return FALSE;
  if (each_line (merging, store_line, error) && ws_archive_commit (merging->archive, error))
    return TRUE;
  ws_archive_roll_back (merging->archive);
  return FALSE;
}

gboolean
ws_archive_merge (WsArchive *archive, const char *from, const char *key, WsBundle *bundle,
                  GError **error)
{
  g_auto (WsManifest) manifest = { 0 };
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  *bundle = (WsBundle){ 0 };
  if (!wsi_manifest_load (from, &manifest, error))
    return FALSE;
  g_autofree char *source =
    g_strdup_printf ("%s, %s, by %s", manifest.name, time, g_get_user_name ());
  Merging merging = { archive, from, &manifest, bundle, 0, "", source };
  if (!check_signer (&merging, key, error) || !each_line (&merging, check_line, error) ||
      !check_end (&merging, error) || !each_line (&merging, save_pictures, error) ||
      !store_all (&merging, error))
    return FALSE;
  bundle->name = g_steal_pointer (&manifest.name);
  return TRUE;
}
