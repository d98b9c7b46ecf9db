#include "cli/again_shelf.h"

#include <math.h>
#include <string.h>

#include <glib/gstdio.h>
#include <whetsight/whetsight.h>

#include "archive/event.h"
#include "base/language.h"
#include "base/number.h"
#include "cli/fail.h"

#define CARD_ENDING ".tool"
#define CALIBRATION_ENDING ".calib"

struct WsAgainShelf
{
  WsArchive *archive;
  GHashTable *cards;        /* id -> path; NULL: the archive's own */
  GHashTable *calibrations; /* SHA-256 -> path */
  GHashTable *tasks;        /* by all that they were made of -> WsTask */
  char *folder;             /* of cards out of the archive, or NULL */
  GHashTable *kept;         /* id -> path of such a card; "" where it has none */
};

WsArchive *
wsi_again_archive (const WsAgainShelf *shelf)
{
  return shelf->archive;
}

/* ---- Files ---------------------------------------------------------------------------------- */

/* What a file is found by; NULL with an error when it is none of its kind.  Free with g_free(). */
typedef char *(*KeyOf) (const char *path, GError **error);

static char *
id_of_card (const char *path, GError **error)
{
  g_autoptr (WsToolCard) card = ws_tool_card_load (path, error);
  return card != NULL ? g_strdup (card->id != NULL ? card->id : "") : NULL;
}

static char *
sha256_of_calibration (const char *path, GError **error)
{
  g_autoptr (WsCalibration) calibration = ws_calibration_load (path, error);
  return calibration != NULL ? g_strdup (ws_calibration_sha256 (calibration)) : NULL;
}

static gboolean
enter (GHashTable *files, const char *path, KeyOf key_of, GError **error)
{
  g_autofree char *key = key_of (path, error);
  if (key == NULL)
    return FALSE;
  const char *other = g_hash_table_lookup (files, key);
  if (other != NULL)
    return wsi_refuse (error, WS_ERROR_DATA, "%s: is of %s, and so is %s; leave one of them out",
                       path, key, other);
  g_hash_table_insert (files, g_steal_pointer (&key), g_strdup (path));
  return TRUE;
}

static gboolean
enter_folder (GHashTable *files, const char *folder, const char *ending, KeyOf key_of,
              GError **error)
{
  g_autoptr (GError) cause = NULL;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, &cause);
  const char *name;
  if (dir == NULL)
    return wsi_refuse (error, WS_ERROR_NO_INPUT, "%s: can't be read: %s", folder, cause->message);
  while ((name = g_dir_read_name (dir)) != NULL)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    if (name[0] != '.' && g_str_has_suffix (name, ending) && !enter (files, path, key_of, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
enter_all (GHashTable *files, const char *path, const char *ending, KeyOf key_of, GError **error)
{
  return g_file_test (path, G_FILE_TEST_IS_DIR) ? enter_folder (files, path, ending, key_of, error)
                                                : enter (files, path, key_of, error);
}

static GHashTable *
new_table (void)
{
  return g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
}

WsAgainShelf *
wsi_again_shelf_new (WsArchive *archive, const char *cards, const char *calibrations,
                     GError **error)
{
  g_autoptr (WsAgainShelf) shelf = g_new0 (WsAgainShelf, 1);
  shelf->archive = archive;
  shelf->calibrations = new_table ();
  shelf->kept = new_table ();
  shelf->tasks =
    g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify)wsi_task_free);
  shelf->cards = cards != NULL ? new_table () : NULL;
  if ((cards != NULL && !enter_all (shelf->cards, cards, CARD_ENDING, id_of_card, error)) ||
      (calibrations != NULL && !enter_all (shelf->calibrations, calibrations, CALIBRATION_ENDING,
                                           sha256_of_calibration, error)))
    return NULL;
  return g_steal_pointer (&shelf);
}

static void
remove_kept (WsAgainShelf *shelf)
{
  GHashTableIter iter;
  gpointer path;
  g_hash_table_iter_init (&iter, shelf->kept);
  while (g_hash_table_iter_next (&iter, NULL, &path))
    if (*(const char *)path != '\0')
      g_remove (path);
  if (shelf->folder != NULL)
    g_rmdir (shelf->folder);
}

void
wsi_again_shelf_free (WsAgainShelf *shelf)
{
  if (shelf == NULL)
    return;
  remove_kept (shelf);
  g_clear_pointer (&shelf->cards, g_hash_table_unref);
  g_hash_table_unref (shelf->calibrations);
  g_hash_table_unref (shelf->tasks);
  g_hash_table_unref (shelf->kept);
  g_free (shelf->folder);
  g_free (shelf);
}

/* ---- Cards out of the archive ------------------------------------------------------------- */

/* A file, since what a card names lies beside it.  "" where the archive has none; free with
 * g_free(). */
static char *
write_kept (WsAgainShelf *shelf, const char *id, GError **error)
{
  g_autoptr (GError) cause = NULL;
  g_autoptr (WsEvent) event = wsi_event_last (shelf->archive, WS_EVENT_CARD, id, &cause);
  const char *text = event != NULL ? json_string_value (event->after) : NULL;
  if (cause != NULL)
    g_propagate_error (error, g_steal_pointer (&cause));
  else if (text == NULL)
    return g_strdup ("");
  if (text == NULL || (shelf->folder == NULL &&
                       (shelf->folder = g_dir_make_tmp ("whetsight-cards-XXXXXX", error)) == NULL))
    return NULL;
  g_autofree char *name = g_strdup_printf ("%u" CARD_ENDING, g_hash_table_size (shelf->kept));
  g_autofree char *path = g_build_filename (shelf->folder, name, NULL);
  return g_file_set_contents (path, text, -1, error) ? g_steal_pointer (&path) : NULL;
}

static const char *
find_kept (WsAgainShelf *shelf, const char *id, GError **error)
{
  const char *known = g_hash_table_lookup (shelf->kept, id);
  if (known != NULL)
    return known;
  char *path = write_kept (shelf, id, error);
  if (path != NULL)
    g_hash_table_insert (shelf->kept, g_strdup (id), path);
  return path;
}

/* NULL with an error when there is none. */
static const char *
find_card (WsAgainShelf *shelf, const char *id, GError **error)
{
  const char *path =
    shelf->cards != NULL ? g_hash_table_lookup (shelf->cards, id) : find_kept (shelf, id, error);
  if (path != NULL && *path != '\0')
    return path;
  if (path != NULL || shelf->cards != NULL)
    wsi_refuse (error, WS_ERROR_NO_INPUT,
                shelf->cards != NULL ? "no card of tool %s among --cards"
                                     : "no card of tool %s in the archive; give it with --cards",
                id);
  return NULL;
}

/* ---- Tasks ---------------------------------------------------------------------------------- */

static gboolean
complete (WsAgainShelf *shelf, const WsAgainNeeds *needs, GError **error)
{
  WsTaskSpec *spec = needs->spec;
  if (needs->tool != NULL && (spec->tool = (char *)find_card (shelf, needs->tool, error)) == NULL)
    return FALSE;
  if (needs->calibration_sha256 == NULL)
    return TRUE;
  spec->calib = g_hash_table_lookup (shelf->calibrations, needs->calibration_sha256);
  spec->allow_expired = TRUE; /* the record says whether it was valid when the picture was taken */
  return spec->calib != NULL ||
         wsi_refuse (error, WS_ERROR_NO_INPUT, "no calibration %s as it was then among --calibs",
                     needs->calibration);
}

/* Free with g_free(). */
static char *
key_of (const WsTaskSpec *spec)
{
  const double numbers[] = { spec->scale,           spec->scale_u,
                             spec->known_diameter,  spec->known_diameter_u,
                             spec->known_width,     spec->known_width_u,
                             spec->lens_distortion, spec->lean_max,
                             spec->fixture,         spec->fixture_u };
  GString *key = g_string_new (spec->view);
  g_string_append_printf (key, "\n%s\n%s\n", spec->tool != NULL ? spec->tool : "",
                          spec->calib != NULL ? spec->calib : "");
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
  {
    g_autofree char *number = isnan (numbers[i]) ? NULL : wsi_number_exact (numbers[i]);
    g_string_append_printf (key, " %s", number != NULL ? number : "-");
  }
  return g_string_free (key, FALSE);
}

const WsTask *
wsi_again_task (WsAgainShelf *shelf, const WsAgainNeeds *needs, GError **error)
{
  if (!complete (shelf, needs, error))
    return NULL;
  g_autofree char *key = key_of (needs->spec);
  WsTask *task = g_hash_table_lookup (shelf->tasks, key);
  if (task != NULL)
    return task;
  task = wsi_task_new (needs->spec, error);
  if (task != NULL)
    g_hash_table_insert (shelf->tasks, g_steal_pointer (&key), task);
  return task;
}
