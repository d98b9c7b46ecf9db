#include <math.h>
#include <stdio.h>
#include <string.h>

#include <whetsight/whetsight.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/language.h"
#include "base/number.h"
#include "cli/verbs.h"

#define MAX_BYTES (16 << 20)

/* As typed. */
typedef struct
{
  char *plan;
  char *column;
  double pool;
  double tolerance;
  char *archive;
  char *quantity;
  gboolean json;
} Options;

/* The table's cells by part and operator. */
typedef struct
{
  const char *path;
  int columns[3]; /* part, operator, value */
  guint n_columns;
  WsArchive *archive;
  const char *quantity;
  double near; /* directions are told by their numbers nearest to the first one's; NAN before it */
  GPtrArray *parts, *operators; /* names in the order they came */
  GHashTable *cells;            /* "part index,operator index" -> GArray of double */
} Plan;

static guint
index_of (GPtrArray *names, const char *name)
{
  guint index;
  if (g_ptr_array_find_with_equal_func (names, name, g_str_equal, &index))
    return index;
  g_ptr_array_add (names, g_strdup (name));
  return names->len - 1;
}

static gboolean
refuse_row (const Plan *plan, const WsCsvRow *row, const char *what, GError **error)
{
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: line %u: %s", plan->path, row->line, what);
  return FALSE;
}

/* Comments would be rows; blanked, so that lines keep their numbers. */
static void
blank_comments (char *text)
{
  gboolean at_start = TRUE, in_comment = FALSE;
  for (char *c = text; *c != '\0'; c++)
  {
    in_comment = *c != '\n' && (in_comment || (at_start && *c == '#'));
    at_start = *c == '\n';
    if (in_comment)
      *c = ' ';
  }
}

/* A line of blanks is an empty one. */
static void
drop_blanks (GPtrArray *rows)
{
  for (guint i = rows->len; i > 0; i--)
  {
    const WsCsvRow *row = g_ptr_array_index (rows, i - 1);
    if (row->n == 1 && strspn (row->fields[0], " \t") == strlen (row->fields[0]))
      g_ptr_array_remove_index (rows, i - 1);
  }
}

static int
column_named (const WsCsvRow *header, const char *const *names)
{
  for (; *names != NULL; names++)
    if (wsi_csv_column (header, *names) >= 0)
      return wsi_csv_column (header, *names);
  return -1;
}

static gboolean
find_columns (Plan *plan, const Options *options, const WsCsvRow *header, GError **error)
{
  static const char *const parts[] = { "part", "tool", "prototype", NULL };
  static const char *const operators[] = { "operator", "appraiser", "inspector", "grinder", NULL };
  static const char *const ids[] = { "inspection", "id", NULL };
  const char *const values[] = { options->column != NULL ? options->column : "value", NULL };
  plan->n_columns = (guint)header->n;
  plan->columns[0] = column_named (header, parts);
  plan->columns[1] = column_named (header, operators);
  plan->columns[2] = column_named (header, plan->archive != NULL ? ids : values);
  /* With no column of that name, the only one that is left holds the values. */
  if (plan->columns[2] < 0 && options->column == NULL && plan->archive == NULL)
  {
    if (header->n > 3)
      return refuse_row (plan, header,
                         _ ("several columns may hold the values; say which by --column"), error);
    plan->columns[2] = header->n == 3 ? 3 - plan->columns[0] - plan->columns[1] : -1;
  }
  if (plan->columns[0] >= 0 && plan->columns[1] >= 0 && plan->columns[2] >= 0)
    return TRUE;
  return refuse_row (plan, header,
                     plan->archive != NULL
                       ? _ ("expected a header with part, operator and inspection")
                       : _ ("expected a header with part, operator (or appraiser) and value"),
                     error);
}

static gboolean
read_value (const Plan *plan, const WsCsvRow *row, double *value, GError **error)
{
  const char *text = row->fields[plan->columns[2]];
  if (plan->archive == NULL)
    return wsi_number_parse (text, value) ||
           refuse_row (plan, row, _ ("the value is no number with a decimal point"), error);
  g_autoptr (WsInspection) inspection = ws_archive_find (plan->archive, text, error);
  if (inspection == NULL)
    return FALSE;
  if (inspection->wrong != NULL)
    return refuse_row (plan, row, _ ("the inspection is not as it was written; verify the archive"),
                       error);
  return ws_archive_value (inspection, plan->quantity, value) ||
         refuse_row (plan, row, _ ("the inspection has no value of this quantity"), error);
}

/* A line told by its other end hasn't turned. */
static double
near_first (Plan *plan, double value)
{
  if (plan->archive == NULL || !ws_views_mean_direction (plan->quantity))
    return value;
  if (isnan (plan->near))
    plan->near = value;
  return ws_direction_near (value, plan->near);
}

static gboolean
add_row (Plan *plan, const WsCsvRow *row, GError **error)
{
  double value;
  if (row->n < plan->n_columns)
    return refuse_row (plan, row, _ ("fewer fields than the header names"), error);
  if (row->n > plan->n_columns)
    return refuse_row (
      plan, row, _ ("more fields than the header names; numbers have a decimal point, no comma"),
      error);
  if (!read_value (plan, row, &value, error))
    return FALSE;
  value = near_first (plan, value);
  char *key = g_strdup_printf ("%u,%u", index_of (plan->parts, row->fields[plan->columns[0]]),
                               index_of (plan->operators, row->fields[plan->columns[1]]));
  GArray *values = g_hash_table_lookup (plan->cells, key);
  if (values == NULL)
  {
    values = g_array_new (FALSE, FALSE, sizeof (double));
    g_hash_table_insert (plan->cells, g_strdup (key), values);
  }
  g_array_append_val (values, value);
  g_free (key);
  return TRUE;
}

/* Row by row as ws_study_crossed() wants it; free with g_array_unref(). */
static GArray *
arrange (const Plan *plan, guint *trials, GError **error)
{
  g_autoptr (GArray) all = g_array_new (FALSE, FALSE, sizeof (double));
  *trials = 0;
  for (guint part = 0; part < plan->parts->len; part++)
    for (guint i = 0; i < plan->operators->len; i++)
    {
      g_autofree char *key = g_strdup_printf ("%u,%u", part, i);
      const GArray *values = g_hash_table_lookup (plan->cells, key);
      const guint n = values != NULL ? values->len : 0;
      *trials = *trials == 0 ? n : *trials;
      if (n == 0 || n != *trials)
      {
        g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                     "%s: %u values of part %s by operator %s, %u of others; a crossed study needs "
                     "as many everywhere",
                     plan->path, n, (const char *)g_ptr_array_index (plan->parts, part),
                     (const char *)g_ptr_array_index (plan->operators, i), *trials);
        return NULL;
      }
      g_array_append_vals (all, values->data, n);
    }
  return g_steal_pointer (&all);
}

static gboolean
read_rows (Plan *plan, const Options *options, GError **error)
{
  g_autofree char *text = wsi_file_read_text (options->plan, "study plan", MAX_BYTES, error);
  if (text == NULL)
    return FALSE;
  blank_comments (text);
  g_autoptr (GPtrArray) rows = wsi_csv_parse (options->plan, text, error);
  if (rows == NULL)
    return FALSE;
  drop_blanks (rows);
  if (rows->len < 2)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: no rows", options->plan);
    return FALSE;
  }
  if (!find_columns (plan, options, g_ptr_array_index (rows, 0), error))
    return FALSE;
  for (guint i = 1; i < rows->len; i++)
    if (!add_row (plan, g_ptr_array_index (rows, i), error))
      return FALSE;
  return TRUE;
}

static gboolean
study_plan (const Options *options, double pool, WsStudy *study, GError **error)
{
  guint trials;
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (GPtrArray) parts = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) operators = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GHashTable) cells =
    g_hash_table_new_full (g_str_hash, g_str_equal, g_free, (GDestroyNotify)g_array_unref);
  if (options->archive != NULL &&
      (archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, error)) == NULL)
    return FALSE;
  Plan plan = { .path = options->plan,
                .archive = archive,
                .quantity = options->quantity,
                .near = NAN,
                .parts = parts,
                .operators = operators,
                .cells = cells };
  if (!read_rows (&plan, options, error))
    return FALSE;
  g_autoptr (GArray) values = arrange (&plan, &trials, error);
  return values != NULL && ws_study_crossed ((const double *)(void *)values->data, parts->len,
                                             operators->len, trials, pool, study, error);
}

static gboolean
check (const Options *options, char **words, GError **error)
{
  if (options->plan != NULL && words[1] == NULL &&
      (options->archive == NULL) == (options->quantity == NULL))
    return TRUE;
  return wsi_refuse_usage (error, "%s; see whetsight study --help",
                           options->plan == NULL ? _ ("name the table with --plan")
                           : words[1] != NULL    ? _ ("study takes no arguments")
                                                 : _ ("--archive and --quantity belong together"));
}

static int
study (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  WsStudy study;
  const double pool = wsi_option_number (options->pool, WS_STUDY_POOL);
  const double tolerance = wsi_option_number (options->tolerance, 0.0);
  if (!check (options, words, &error) || !study_plan (options, pool, &study, &error))
    return wsi_fail (error);
  g_autofree char *text = options->json ? ws_study_json (&study, pool, tolerance)
                                        : ws_study_text (&study, pool, tolerance);
  printf ("%s%s", text, options->json ? "\n" : "");
  return WS_EXIT_ACCEPT;
}

static const WsOptionCheck is_probability = { .phrase = "expected a number of 0 or more, 1 at most",
                                              .most = 1.0 };
static const WsOptionCheck is_width = { .phrase = "expected a number of 0 or more",
                                        .most = INFINITY };

static const WsOption options[] = {
  { WS_OPTION_FILE, "plan", 'p', G_STRUCT_OFFSET (Options, plan), "CSV",
    "Table with the columns part, operator and value, a line a trial", NULL },
  { WS_OPTION_TEXT, "column", 0, G_STRUCT_OFFSET (Options, column), "NAME",
    "The values are in this column", NULL },
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "Take values from this archive: the plan's column inspection names ids", NULL },
  { WS_OPTION_TEXT, "quantity", 'q', G_STRUCT_OFFSET (Options, quantity), "NAME",
    "and of this quantity", NULL },
  { WS_OPTION_NUMBER, "pool", 0, G_STRUCT_OFFSET (Options, pool), "P",
    "Pool part x operator with repeatability when its p is above this; 0.25 by default, 1 never",
    &is_probability },
  { WS_OPTION_NUMBER, "tolerance", 0, G_STRUCT_OFFSET (Options, tolerance), "WIDTH",
    "Width of the tolerance that the gauge is for", &is_width },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL,
    "Print JSON instead of text", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_study = {
  .name = "study",
  .summary = "say how much of the spread of values comes from the gauge",
  .about = "Says how much of the spread of measured values comes from the gauge: a crossed study "
           "(every\noperator measures every part equally often) by analysis of variance.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = study,
};
