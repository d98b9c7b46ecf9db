#include <whetsight/clear.h>

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "archive/files.h"
#include "archive/note.h"
#include "archive/notes.h"
#include "archive/pictures.h"
#include "archive/series.h"
#include "archive/statements.h"
#include "archive/store.h"

/* Younger ones may be some writer's at work. */
#define LEFT_OVER_S 3600

#define PART_SUFFIX ".part"

/* An inspection that is old enough, and those of its pictures that it still has. */
typedef struct
{
  char *id;
  GPtrArray *pictures; /* of SHA-256 */
} Old;

typedef struct
{
  WsArchive *archive;
  const WsClearRule *rule;
  char *words; /* "10 years" */
  GDateTime *before;
  gboolean dry;
  const WsVerifier *verifier;
  WsCleared *result;
  guint64 count;     /* rows that were looked at */
  GHashTable *young; /* SHA-256 of pictures that stay */
  GHashTable *going; /* SHA-256 of those that go */
  GPtrArray *old;    /* of Old */
} Clearing;

static void
old_free (gpointer data)
{
  Old *old = data;
  g_free (old->id);
  g_ptr_array_unref (old->pictures);
  g_free (old);
}

static void
tell (Clearing *clearing, const char *id, const char *why)
{
  g_autofree char *what = g_strdup_printf ("%s: %s; its pictures stay", id, why);
  clearing->result->wrong++;
  clearing->verifier->tell (what, clearing->verifier->data);
}

/* ---- The rule ------------------------------------------------------------------------------- */

typedef GDateTime *(*Subtract) (GDateTime *time, gint n);

static const struct
{
  char letter;
  const char *one;
  Subtract add;
} units[] = { { 'y', "year", g_date_time_add_years },
              { 'm', "month", g_date_time_add_months },
              { 'w', "week", g_date_time_add_weeks },
              { 'd', "day", g_date_time_add_days } };

#define MOST_UNITS 10000 /* GLib's calendar ends with the year 9999 */

static gboolean
refuse_rule (const WsClearRule *rule, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               "--keep %s: expected a number of years, months, weeks or days: 10y, 18m, 6w, 90d",
               rule->keep);
  return FALSE;
}

/* The newest inspection's time, or now where that lies in the future. */
static GDateTime *
find_end (const Clearing *clearing)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  WsQuery *stmt = wsi_statement (clearing->archive, WS_SQL_LAST_TIME);
  const char *text = wsi_step (stmt) == WS_QUERY_ROW ? wsi_column_text (stmt, 0) : NULL;
  g_autoptr (GDateTime) last = text != NULL ? g_date_time_new_from_iso8601 (text, NULL) : NULL;
  wsi_reset (stmt);
  return last != NULL && g_date_time_compare (last, now) < 0 ? g_steal_pointer (&last)
                                                             : g_steal_pointer (&now);
}

static gboolean
read_rule (Clearing *clearing, GError **error)
{
  const char *keep = clearing->rule->keep;
  char *end = NULL;
  const guint64 n = g_ascii_isdigit (*keep) ? g_ascii_strtoull (keep, &end, 10) : 0;
  if (n == 0 || n > MOST_UNITS || strlen (end) != 1)
    return refuse_rule (clearing->rule, error);
  g_autoptr (GDateTime) last = find_end (clearing);
  for (gsize i = 0; i < G_N_ELEMENTS (units); i++)
    if (units[i].letter == *end)
    {
      clearing->words =
        g_strdup_printf ("%" G_GUINT64_FORMAT " %s%s", n, units[i].one, n > 1 ? "s" : "");
      clearing->before = units[i].add (last, -(gint)n);
    }
  return clearing->before != NULL || refuse_rule (clearing->rule, error);
}

/* ---- What is old ---------------------------------------------------------------------------- */

static void
keep_pictures (Clearing *clearing, const WsInspection *row)
{
  if (row->image != NULL)
    g_hash_table_add (clearing->young, g_strdup (row->image));
  if (row->annotated != NULL)
    g_hash_table_add (clearing->young, g_strdup (row->annotated));
  g_auto (GStrv) others = wsi_series_others (row);
  for (gsize i = 0; others[i] != NULL; i++)
    g_hash_table_add (clearing->young, g_strdup (others[i]));
}

static gboolean
is_old (const Clearing *clearing, const WsInspection *row)
{
  g_autoptr (GDateTime) time = g_date_time_new_from_iso8601 (row->time, NULL);
  return time != NULL && g_date_time_compare (time, clearing->before) < 0;
}

static void
note_picture (const WsInspection *row, const char *sha256, Old *old)
{
  if (sha256 != NULL && !ws_inspection_was_cleared (row, sha256))
    g_ptr_array_add (old->pictures, g_strdup (sha256));
}

static void
note_old (Clearing *clearing, const WsInspection *row)
{
  Old *old = g_new0 (Old, 1);
  g_auto (GStrv) others = wsi_series_others (row);
  old->id = g_strdup (row->id);
  old->pictures = g_ptr_array_new_with_free_func (g_free);
  note_picture (row, row->image, old);
  note_picture (row, row->annotated, old);
  for (gsize i = 0; others[i] != NULL; i++)
    note_picture (row, others[i], old);
  g_ptr_array_add (clearing->old, old);
}

/* Pictures that can't prove any more what was stored aren't covered up. */
static gboolean
look_at (const WsInspection *row, gpointer data, GError **error)
{
  Clearing *clearing = data;
  (void)error;
  if (!row->has_pictures)
    return TRUE;
  g_autofree char *wrong = row->wrong == NULL && is_old (clearing, row)
                             ? ws_archive_check_pictures (clearing->archive, row)
                             : NULL;
  if (row->wrong == NULL && wrong == NULL && is_old (clearing, row))
  {
    note_old (clearing, row);
    return TRUE;
  }
  if (row->wrong != NULL)
    tell (clearing, row->id != NULL ? row->id : "?", "not as it was written");
  else if (wrong != NULL)
    tell (clearing, row->id, wrong);
  keep_pictures (clearing, row);
  return TRUE;
}

static gboolean
look_at_all (Clearing *clearing, GError **error)
{
  WsHead head;
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  if (!wsi_store_begin_reading (clearing->archive, error))
    return FALSE;
  const gboolean done = wsi_store_head (clearing->archive, NULL, &head, error) &&
                        ws_archive_each (clearing->archive, &all, TRUE, look_at, clearing, error);
  wsi_store_end_reading (clearing->archive);
  clearing->count = head.count;
  return done;
}

/* ---- Rows first ----------------------------------------------------------------------------- */

/* What was stored since may be the same picture again. */
static gboolean
look_at_newer (Clearing *clearing, GError **error)
{
  WsQueryStep step = WS_QUERY_FAILED;
  WsQuery *stmt = wsi_statement (clearing->archive, WS_SQL_PICTURES_AFTER);
  wsi_bind_count (stmt, 1, clearing->count);
  while ((step = wsi_step (stmt)) == WS_QUERY_ROW)
    for (int i = 0; i < 2; i++)
      if (wsi_column_text (stmt, i) != NULL)
        g_hash_table_add (clearing->young, g_strdup (wsi_column_text (stmt, i)));
  const gboolean done = step == WS_QUERY_DONE || wsi_statement_refuse (clearing->archive, error);
  wsi_reset (stmt);
  return done;
}

/* All notes on one picture come in one transaction, so that verify can count them. */
static gboolean
write_note (Clearing *clearing, const char *id, json_t *removed, GError **error)
{
  g_autofree char *text = g_strdup_printf (
    "kept for %s; the SHA-256 in the record stays in place of what was removed", clearing->words);
  const WsNoteWords words = { WS_NOTE_REMOVAL, clearing->rule->by, text, clearing->rule->account };
  g_autoptr (WsInspection) inspection = ws_archive_find (clearing->archive, id, error);
  g_autoptr (WsInspection) row = g_new0 (WsInspection, 1);
  if (inspection == NULL)
    return FALSE;
  row->record = wsi_notes_record (inspection, &words, removed);
  return ws_archive_store (clearing->archive, row, NULL, error);
}

static gboolean
remove_row (Clearing *clearing, const char *sha256, GError **error)
{
  WsQuery *stmt = wsi_statement (clearing->archive, WS_SQL_REMOVE_FILE);
  wsi_bind_text (stmt, 1, sha256);
  return wsi_statement_finish (clearing->archive, stmt, error);
}

static gboolean
remove_old (Clearing *clearing, const Old *old, GError **error)
{
  gboolean done = TRUE;
  json_t *removed = json_array ();
  for (guint i = 0; i < old->pictures->len; i++)
  {
    const char *sha256 = g_ptr_array_index (old->pictures, i);
    guint64 size;
    if (g_hash_table_contains (clearing->young, sha256))
      continue;
    if (g_hash_table_add (clearing->going, g_strdup (sha256)) &&
        wsi_pictures_size (clearing->archive, sha256, &size))
    {
      clearing->result->pictures++;
      clearing->result->bytes += size;
    }
    json_array_append_new (removed, json_string (sha256));
    done = done && (clearing->dry || remove_row (clearing, sha256, error));
  }
  const gboolean any = json_array_size (removed) > 0;
  clearing->result->inspections += any ? 1 : 0;
  done = done && (!any || clearing->dry || write_note (clearing, old->id, removed, error));
  json_decref (removed);
  return done;
}

static gboolean
remove_rows (Clearing *clearing, GError **error)
{
  if (!ws_archive_begin (clearing->archive, error))
    return FALSE;
  gboolean done = look_at_newer (clearing, error);
  for (guint i = 0; done && i < clearing->old->len; i++)
    done = remove_old (clearing, g_ptr_array_index (clearing->old, i), error);
  if (done && ws_archive_commit (clearing->archive, error))
    return TRUE;
  ws_archive_roll_back (clearing->archive);
  return FALSE;
}

/* ---- Files second --------------------------------------------------------------------------- */

/* Names that may go: no row needs them. */
typedef struct
{
  Clearing *clearing;
  GHashTable *cleared, *announced, *known; /* SHA-256 */
} Sweep;

static void
note_name (const char *sha256, gpointer data)
{
  g_hash_table_add (data, g_strdup (sha256));
}

static gboolean
note_row (const WsInspection *row, gpointer data, GError **error)
{
  Sweep *sweep = data;
  (void)error;
  wsi_note_each_removed (row, note_name, sweep->cleared);
  return TRUE;
}

static gboolean
note_file (const char *sha256, gint64 size, gpointer data)
{
  (void)size;
  g_hash_table_add (data, g_strdup (sha256));
  return TRUE;
}

/* TRUE for a file that nobody will ask for; a writer that has it in hand puts it there anew. */
static gboolean
may_go (const Sweep *sweep, const char *path, const char *name)
{
  GStatBuf about;
  g_autofree char *sha256 = g_strndup (name, WS_SHA256_HEX_SIZE - 1);
  const gboolean known = g_hash_table_contains (sweep->known, sha256);
  const gboolean cleared = g_hash_table_contains (sweep->cleared, sha256);
  const gboolean announced = g_hash_table_contains (sweep->announced, sha256);
  const gboolean part =
    strlen (name) > WS_SHA256_HEX_SIZE - 1 && g_str_has_suffix (name, PART_SUFFIX);
  if (!wsi_sha256_is_hex (sha256) || (!part && known) || !(known || cleared || announced))
    return FALSE;
  if (!part && strlen (name) != WS_SHA256_HEX_SIZE - 1)
    return FALSE;
  if (!part && cleared)
    return TRUE;
  return g_lstat (path, &about) == 0 &&
         about.st_mtime + LEFT_OVER_S < g_get_real_time () / G_USEC_PER_SEC;
}

static gboolean
confirm (const Sweep *sweep, const char *name, GError **error)
{
  g_autofree char *sha256 = g_strndup (name, WS_SHA256_HEX_SIZE - 1);
  WsQuery *stmt = wsi_statement (sweep->clearing->archive, WS_SQL_CONFIRM);
  wsi_bind_text (stmt, 1, sha256);
  return wsi_statement_finish (sweep->clearing->archive, stmt, error);
}

static gboolean
sweep_file (const Sweep *sweep, const char *path, const char *name, GError **error)
{
  if (g_unlink (path) == 0)
    return confirm (sweep, name, error);
  g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't be removed: %s", path,
               g_strerror (errno));
  return FALSE;
}

static gboolean
sweep_fan (const Sweep *sweep, const char *folder, GError **error)
{
  gboolean done = TRUE;
  GDir *dir = g_file_test (folder, G_FILE_TEST_IS_SYMLINK) ? NULL : g_dir_open (folder, 0, NULL);
  WsCleared *result = sweep->clearing->result;
  for (const char *name; done && dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    if (!may_go (sweep, path, name))
      continue;
    g_autofree char *sha256 = g_strndup (name, WS_SHA256_HEX_SIZE - 1);
    result->left_over += g_hash_table_contains (sweep->clearing->going, sha256) ? 0 : 1;
    done = sweep->clearing->dry || sweep_file (sweep, path, name, error);
  }
  if (dir != NULL)
    g_dir_close (dir);
  if (!sweep->clearing->dry)
    g_rmdir (folder); /* only when it is empty */
  return done;
}

/* What a copy that was stopped left beside the database. */
static void
sweep_root (const Sweep *sweep)
{
  const Clearing *clearing = sweep->clearing;
  GDir *dir = g_dir_open (clearing->archive->engine->name, 0, NULL);
  for (const char *name; dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    GStatBuf about;
    g_autofree char *path = g_build_filename (clearing->archive->engine->name, name, NULL);
    if (!wsi_files_is_left_over (name) || g_lstat (path, &about) != 0 ||
        about.st_mtime + LEFT_OVER_S >= g_get_real_time () / G_USEC_PER_SEC)
      continue;
    clearing->result->left_over++;
    if (!clearing->dry)
      g_unlink (path);
  }
  if (dir != NULL)
    g_dir_close (dir);
}

static gboolean
sweep_folders (const Sweep *sweep, GError **error)
{
  gboolean done = TRUE;
  g_autofree char *images =
    g_build_filename (sweep->clearing->archive->engine->name, WS_FILES_FOLDER, NULL);
  GDir *dir = g_file_test (images, G_FILE_TEST_IS_SYMLINK) ? NULL : g_dir_open (images, 0, NULL);
  for (const char *name; done && dir != NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *folder = g_build_filename (images, name, NULL);
    done = strlen (name) != 2 || sweep_fan (sweep, folder, error);
  }
  if (dir != NULL)
    g_dir_close (dir);
  sweep_root (sweep);
  return done;
}

/* What rows name no more goes from the store; what nobody knows stays, as others may use it. */
static gboolean
sweep_stored (const char *name, gpointer data, GError **error)
{
  const Sweep *sweep = data;
  const char *sha256 = strrchr (name, '/') != NULL ? strrchr (name, '/') + 1 : name;
  if (!wsi_sha256_is_hex (sha256) || !g_hash_table_contains (sweep->cleared, sha256) ||
      g_hash_table_contains (sweep->known, sha256))
    return TRUE;
  return sweep->clearing->dry ||
         wsi_pictures_remove_stored (sweep->clearing->archive, sha256, error);
}

/* Nobody else can enter a file meanwhile. */
static gboolean
sweep_files (Clearing *clearing, GError **error)
{
  g_autoptr (GHashTable) cleared = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) announced = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) known = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  WsArchive *archive = clearing->archive;
  Sweep sweep = { clearing, cleared, announced, known };
  if (!wsi_transaction_begin_writing (archive, error))
    return FALSE;
  if (wsi_store_each_row (archive, note_row, &sweep, error) &&
      wsi_store_each_pending (archive, note_file, announced, error) &&
      wsi_store_each_file (archive, note_file, known, error) && sweep_folders (&sweep, error) &&
      wsi_pictures_each_stored (archive, sweep_stored, &sweep, error) &&
      wsi_transaction_commit (archive, error))
    return TRUE;
  wsi_transaction_roll_back (archive);
  return FALSE;
}

gboolean
ws_archive_clear (WsArchive *archive, const WsClearRule *rule, gboolean dry,
                  const WsVerifier *verifier, WsCleared *cleared, GError **error)
{
  g_autoptr (GHashTable) young = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) going = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GPtrArray) old = g_ptr_array_new_with_free_func (old_free);
  Clearing clearing = { .archive = archive,
                        .rule = rule,
                        .dry = dry,
                        .verifier = verifier,
                        .result = cleared,
                        .young = young,
                        .going = going,
                        .old = old };
  *cleared = (WsCleared){ 0 };
  if (!archive->engine->is_folder)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
                 "archive %s: nothing is removed from an archive that benches share",
                 archive->engine->name);
    return FALSE;
  }
  const gboolean done =
    (rule == NULL || (read_rule (&clearing, error) && look_at_all (&clearing, error) &&
                      remove_rows (&clearing, error))) &&
    sweep_files (&clearing, error);
  g_free (clearing.words);
  g_clear_pointer (&clearing.before, g_date_time_unref);
  return done;
}
