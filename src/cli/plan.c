#include "cli/plan.h"

#include <math.h>
#include <string.h>

#include <whetsight/batch.h>
#include <whetsight/error.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/language.h"
#include "base/shown.h"
#include "base/size.h"
#include "cli/fail.h"
#include "cli/series_files.h"

#define KIND_OF_FILE "plan"
#define MAX_BYTES (1U << 22) /* own choice: some 50000 pictures */

static void
task_free (gpointer data)
{
  wsi_task_free (data);
}

static WsPlan *
plan_new (void)
{
  WsPlan *plan = g_new0 (WsPlan, 1);
  plan->tasks = g_ptr_array_new ();
  plan->different = g_ptr_array_new_with_free_func (task_free);
  return plan;
}

void
wsi_plan_free (WsPlan *plan)
{
  if (plan == NULL)
    return;
  g_strfreev (plan->images);
  g_ptr_array_unref (plan->tasks);
  g_ptr_array_unref (plan->different);
  g_free (plan->series_name);
  if (plan->unpacked != NULL)
    wsi_series_files_remove (plan->unpacked);
  g_free (plan->unpacked);
  g_free (plan);
}

WsTask *
wsi_plan_task (const WsPlan *plan, guint i)
{
  return g_ptr_array_index (plan->tasks, i);
}

/* ---- One tool ----------------------------------------------------------------------------------
 */

/* A card of another tool in the folder, by its id; what can't be read is none.  Free with g_free().
 */
static char *
other_card (const char *folder, const WsToolCard *card)
{
  char *other = NULL;
  GDir *dir = g_dir_open (folder, 0, NULL);
  for (const char *name; dir != NULL && other == NULL && (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    g_autoptr (WsToolCard) found =
      g_str_has_suffix (name, ".tool") ? ws_tool_card_load (path, NULL) : NULL;
    if (found != NULL && g_strcmp0 (found->id, card->id) != 0)
      other = g_strdup (name);
  }
  if (dir != NULL)
    g_dir_close (dir);
  return other;
}

/* One card judges one tool: a folder where another tool's card lies beside the pictures is of
 * several. */
static gboolean
check_folder (const char *folder, const WsToolCard *card, char *const *images, GError **error)
{
  g_autofree char *last = NULL;
  for (gsize i = 0; card->id != NULL && images[i] != NULL; i++)
  {
    g_autofree char *inner = g_path_get_dirname (images[i]);
    g_autofree char *other = g_strcmp0 (inner, last) != 0 ? other_card (inner, card) : NULL;
    if (other != NULL)
      return wsi_refuse_usage (error,
                               "%s: a folder of several tools, by the card %s in it; say with "
                               "--plan which card each picture belongs to, or name the pictures",
                               folder, other);
    g_free (last);
    last = g_steal_pointer (&inner);
  }
  return TRUE;
}

static gboolean
check_folders (char *const *paths, const WsToolCard *card, GError **error)
{
  gboolean good = TRUE;
  for (gsize i = 0; good && paths[i] != NULL; i++)
  {
    char *const one[] = { paths[i], NULL };
    gboolean is_folder = FALSE;
    g_auto (GStrv) inside = ws_batch_expand (one, &is_folder, error);
    good = inside != NULL && (!is_folder || check_folder (paths[i], card, inside, error));
  }
  return good;
}

/* A single file of a series may hold all its pictures. */
static gboolean
open_series (WsPlan *plan, const WsView *view, char *const *paths, GError **error)
{
  plan->is_series = TRUE;
  if (paths[1] != NULL)
    return TRUE;
  if (!plan->has_folders)
  {
    char **files = wsi_series_files (paths[0], view->series->most, &plan->unpacked, error);
    if (files == NULL)
      return FALSE;
    g_strfreev (plan->images);
    plan->images = files;
  }
  if (plan->has_folders || g_strcmp0 (plan->images[0], paths[0]) != 0)
    plan->series_name = g_path_get_basename (paths[0]);
  return TRUE;
}

WsPlan *
wsi_plan_of_one (const WsTaskSpec *said, char *const *paths, GError **error)
{
  g_autoptr (WsPlan) plan = plan_new ();
  plan->images = ws_batch_expand (paths, &plan->has_folders, error);
  WsTask *task = plan->images != NULL ? wsi_task_new (said, error) : NULL;
  if (task == NULL)
    return NULL;
  g_ptr_array_add (plan->different, task);
  if (task->job.view->series != NULL && !open_series (plan, task->job.view, paths, error))
    return NULL;
  for (gsize i = 0; plan->images[i] != NULL; i++)
    g_ptr_array_add (plan->tasks, task);
  return check_folders (paths, task->card, error) ? g_steal_pointer (&plan) : NULL;
}

/* ---- A file ------------------------------------------------------------------------------------
 */

typedef enum
{
  COLUMN_TEXT,
  COLUMN_FILE,
  COLUMN_NUMBER
} ColumnKind;

static const struct
{
  const char *name;
  ColumnKind kind;
  gsize offset; /* in a WsTaskSpec */
} columns[] = {
  { "card", COLUMN_FILE, G_STRUCT_OFFSET (WsTaskSpec, tool) },
  { "view", COLUMN_TEXT, G_STRUCT_OFFSET (WsTaskSpec, view) },
  { "calib", COLUMN_FILE, G_STRUCT_OFFSET (WsTaskSpec, calib) },
  { "scale", COLUMN_NUMBER, G_STRUCT_OFFSET (WsTaskSpec, scale) },
  { "scale_u", COLUMN_NUMBER, G_STRUCT_OFFSET (WsTaskSpec, scale_u) },
  { "known_diameter", COLUMN_NUMBER, G_STRUCT_OFFSET (WsTaskSpec, known_diameter) },
  { "known_diameter_u", COLUMN_NUMBER, G_STRUCT_OFFSET (WsTaskSpec, known_diameter_u) },
  { "known_width", COLUMN_NUMBER, G_STRUCT_OFFSET (WsTaskSpec, known_width) },
  { "known_width_u", COLUMN_NUMBER, G_STRUCT_OFFSET (WsTaskSpec, known_width_u) },
};

typedef struct
{
  const char *name; /* of the plan, for messages */
  const char *folder;
  const WsCsvRow *header;
  const WsTaskSpec *said;
  GHashTable *tasks; /* by what a line says but for the picture: WsTask, borrowed */
  GPtrArray *images;
  WsPlan *plan;
} Reader;

/* Takes what is wrong over. */
static gboolean
refuse (const Reader *reader, guint line, WsErrorCode code, char *what, GError **error)
{
  g_autofree char *valid = wsi_shown (what);
  g_strdelimit (valid, "\r\n", ' ');
  wsi_refuse (error, code, "%s: line %u: %s", reader->name, line, valid);
  g_free (what);
  return FALSE;
}

static int
column_of (const char *name)
{
  for (gsize i = 0; i < G_N_ELEMENTS (columns); i++)
    if (g_str_equal (columns[i].name, name))
      return (int)i;
  return -1;
}

static gboolean
check_columns (const Reader *reader, GError **error)
{
  const WsCsvRow *header = reader->header;
  for (guint i = 0; i < header->n; i++)
  {
    const char *name = header->fields[i];
    if (column_of (name) < 0 && !g_str_equal (name, "picture"))
      return refuse (
        reader, header->line, WS_ERROR_DATA,
        g_strdup_printf (_ ("no column \"%s\"; expected picture, card, view, and where "
                            "wanted scale, scale_u, calib, known_diameter, "
                            "known_diameter_u, known_width, known_width_u"),
                         name),
        error);
    if (wsi_csv_column (header, name) != (int)i)
      return refuse (reader, header->line, WS_ERROR_DATA,
                     g_strdup_printf (_ ("the column \"%s\" is there twice"), name), error);
  }
  if (wsi_csv_column (header, "picture") >= 0 && wsi_csv_column (header, "card") >= 0)
    return TRUE;
  return refuse (reader, header->line, WS_ERROR_DATA,
                 g_strdup (_ ("expected the columns picture and card in the first line")), error);
}

/* From the plan's folder.  Free with g_free(). */
static char *
path_of (const Reader *reader, const char *file)
{
  return g_path_is_absolute (file) ? g_strdup (file)
                                   : g_build_filename (reader->folder, file, NULL);
}

static gboolean
read_field (const Reader *reader, const WsCsvRow *row, guint i, WsTaskSpec *spec, GError **error)
{
  const char *field = row->fields[i];
  const int column = column_of (reader->header->fields[i]);
  if (column < 0 || *field == '\0')
    return TRUE;
  gpointer place = (char *)spec + columns[column].offset;
  if (columns[column].kind == COLUMN_FILE)
    *(char **)place = path_of (reader, field);
  else if (columns[column].kind == COLUMN_TEXT)
    *(char **)place = g_strdup (field);
  else if (!wsi_length_parse (field, place) || !(*(double *)place > 0))
    return refuse (reader, row->line, WS_ERROR_DATA,
                   g_strdup_printf (_ ("%s: expected millimetres above 0 with a decimal point, or "
                                       "inches such as 1/4 or 0.25 in, found \"%s\""),
                                    columns[column].name, field),
                   error);
  return TRUE;
}

static void
spec_clear (WsTaskSpec *spec)
{
  g_free (spec->tool);
  g_free (spec->view);
  g_free (spec->calib);
  g_free (spec->bench);
  g_free (spec->camera);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsTaskSpec, spec_clear)

/* A line without a scale has that of the call. */
static void
complete (const WsTaskSpec *said, WsTaskSpec *spec)
{
  const gboolean has_scale = spec->calib != NULL || !isnan (spec->scale) ||
                             !isnan (spec->known_diameter) || !isnan (spec->known_width);
  if (!has_scale)
  {
    spec->scale = said->scale;
    spec->scale_u = isnan (spec->scale_u) ? said->scale_u : spec->scale_u;
    spec->calib = g_strdup (said->calib);
    spec->bench = g_strdup (said->bench);
  }
  spec->lean_max = said->lean_max;
  spec->fixture = said->fixture;
  spec->fixture_u = said->fixture_u;
  if (spec->calib == NULL && spec->bench == NULL)
  {
    spec->lens_distortion = said->lens_distortion;
    return;
  }
  spec->camera = g_strdup (said->camera);
  spec->allow_expired = said->allow_expired;
  spec->ignore_check = said->ignore_check;
}

/* What a line says beside the picture.  Free with g_free(). */
static char *
key_of (const Reader *reader, const WsCsvRow *row)
{
  GString *key = g_string_new (NULL);
  for (guint i = 0; i < row->n; i++)
    if (column_of (reader->header->fields[i]) >= 0)
      g_string_append_printf (key, "%zu:%s", strlen (row->fields[i]), row->fields[i]);
  return g_string_free (key, FALSE);
}

static WsTask *
read_task (const Reader *reader, const WsCsvRow *row, GError **error)
{
  g_auto (WsTaskSpec) spec = { .scale = NAN,
                               .scale_u = NAN,
                               .known_diameter = NAN,
                               .known_diameter_u = NAN,
                               .known_width = NAN,
                               .known_width_u = NAN,
                               .lens_distortion = NAN,
                               .lean_max = NAN,
                               .fixture = NAN,
                               .fixture_u = NAN };
  g_autoptr (GError) cause = NULL;
  for (guint i = 0; i < row->n; i++)
    if (!read_field (reader, row, i, &spec, error))
      return NULL;
  complete (reader->said, &spec);
  WsTask *task = wsi_task_new (&spec, &cause);
  if (task != NULL)
    return task;
  /* A column is named like the option. */
  const char *what = cause->message + (g_str_has_prefix (cause->message, "--") ? 2 : 0);
  const gboolean missing = g_error_matches (cause, WS_ERROR, WS_ERROR_NO_INPUT);
  refuse (reader, row->line, missing ? WS_ERROR_NO_INPUT : WS_ERROR_DATA, g_strdup (what), error);
  return NULL;
}

static gboolean
read_row (const Reader *reader, const WsCsvRow *row, GError **error)
{
  if (row->n != reader->header->n)
    return refuse (
      reader, row->line, WS_ERROR_DATA,
      g_strdup_printf (_ ("%u fields, but the first line has %u"), row->n, reader->header->n),
      error);
  const char *picture = row->fields[wsi_csv_column (reader->header, "picture")];
  const char *card = row->fields[wsi_csv_column (reader->header, "card")];
  if (*picture == '\0' || *card == '\0')
    return refuse (
      reader, row->line, WS_ERROR_DATA,
      g_strdup_printf (_ ("%s: expected a file's name"), *picture == '\0' ? "picture" : "card"),
      error);
  g_autofree char *path = path_of (reader, picture);
  if (!g_file_test (path, G_FILE_TEST_IS_REGULAR))
    return refuse (reader, row->line, WS_ERROR_NO_INPUT,
                   g_strdup_printf (_ ("picture: no such file \"%s\""), picture), error);
  g_autofree char *key = key_of (reader, row);
  WsTask *task = g_hash_table_lookup (reader->tasks, key);
  if (task == NULL)
  {
    task = read_task (reader, row, error);
    if (task == NULL)
      return FALSE;
    g_ptr_array_add (reader->plan->different, task);
    g_hash_table_insert (reader->tasks, g_steal_pointer (&key), task);
  }
  g_ptr_array_add (reader->plan->tasks, task);
  g_ptr_array_add (reader->images, g_steal_pointer (&path));
  return TRUE;
}

static gboolean
read_rows (const Reader *reader, const GPtrArray *rows, GError **error)
{
  gboolean good = check_columns (reader, error);
  for (guint i = 1; good && i < rows->len; i++)
    good = read_row (reader, rows->pdata[i], error);
  return good;
}

WsPlan *
wsi_plan_load (const char *path, const WsTaskSpec *said, GError **error)
{
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GPtrArray) rows = text != NULL ? wsi_csv_parse (path, text, error) : NULL;
  if (rows == NULL)
    return NULL;
  if (rows->len < 2)
  {
    wsi_refuse (error, WS_ERROR_DATA,
                "%s: lists no pictures; expected a line of column names and a line a picture",
                path);
    return NULL;
  }
  g_autofree char *folder = g_path_get_dirname (path);
  g_autoptr (WsPlan) plan = plan_new ();
  g_autoptr (GHashTable) tasks = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GPtrArray) images = g_ptr_array_new_with_free_func (g_free);
  const Reader reader = { path, folder, rows->pdata[0], said, tasks, images, plan };
  if (!read_rows (&reader, rows, error))
    return NULL;
  g_ptr_array_add (images, NULL);
  plan->images = (char **)g_ptr_array_steal (images, NULL);
  return g_steal_pointer (&plan);
}
