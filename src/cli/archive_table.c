/*
 * Inspections counted: tool by tool, or by who ground, where, and what for.
 */
#include <math.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "archive/note.h"
#include "archive/state.h"
#include "base/csv.h"
#include "base/language.h"
#include "base/number.h"
#include "cli/archive.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "report/words.h"

#define NOT_SAID "-"

typedef enum
{
  BY_TOOL,
  BY_GRINDER,
  BY_MACHINE,
  BY_STATION,
  BY_KIND,
  BY_VIEW,
  BY_MONTH
} Key;

static const char *
key_name (guint i)
{
  static const char *const names[] = { "tool", "grinder", "machine", "station",
                                       "kind", "view",    "month" };
  return i < G_N_ELEMENTS (names) ? names[i] : NULL;
}

static const WsOptionCheck is_key = { .word = key_name };

typedef struct
{
  char *by;
  gboolean csv;
  WsFilterOptions filter;
} Options;

/* A line of the table. */
typedef struct
{
  char *name, *kind, *last; /* kind and time of the newest */
  guint n, verdicts[WS_VERDICT_RETAKE + 1], n_released, n_regrinds;
  GHashTable *tools;
  guint n_values;
  double sum, squares; /* about the first value, so that nothing cancels */
  double origin;
} Group;

typedef struct
{
  Key key;
  const char *quantity;
  const WsArchive *archive;
  GHashTable *groups; /* name -> Group */
  int status;
} Counting;

static void
group_free (gpointer data)
{
  Group *group = data;
  g_free (group->name);
  g_free (group->kind);
  g_free (group->last);
  g_hash_table_unref (group->tools);
  g_free (group);
}

/* ---- Counting ------------------------------------------------------------------------ */

/* Free with g_free(). */
static char *
name_of (const Counting *counting, const WsInspection *inspection, const json_t *record)
{
  const char *const names[] = { [BY_TOOL] = inspection->tool,
                                [BY_GRINDER] = inspection->grinder,
                                [BY_MACHINE] =
                                  json_string_value (json_object_get (record, "machine")),
                                [BY_STATION] = inspection->station,
                                [BY_KIND] = inspection->kind,
                                [BY_VIEW] = inspection->view };
  if (counting->key == BY_MONTH)
    return g_strndup (inspection->time, strlen ("2026-11"));
  return g_strdup (names[counting->key] != NULL ? names[counting->key] : NOT_SAID);
}

static Group *
group_of (Counting *counting, const WsInspection *inspection, const json_t *record)
{
  g_autofree char *name = name_of (counting, inspection, record);
  Group *group = g_hash_table_lookup (counting->groups, name);
  if (group != NULL)
    return group;
  group = g_new0 (Group, 1);
  group->name = g_steal_pointer (&name);
  group->tools = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_hash_table_insert (counting->groups, group->name, group);
  return group;
}

static void
add_value (const Counting *counting, const WsInspection *inspection, Group *group)
{
  double value;
  if (counting->quantity == NULL || !ws_archive_value (inspection, counting->quantity, &value))
    return;
  if (group->n_values++ == 0)
    group->origin = value;
  group->sum += value - group->origin;
  group->squares += (value - group->origin) * (value - group->origin);
}

static gboolean
count (const WsInspection *inspection, gpointer data, GError **error)
{
  Counting *counting = data;
  (void)error;
  if (inspection->wrong != NULL)
  {
    counting->status =
      wsi_archive_tell_wrong (counting->archive, inspection->id, inspection->wrong);
    return TRUE;
  }
  json_t *record = json_loads (inspection->record, 0, NULL);
  Group *group = group_of (counting, inspection, record);
  json_decref (record);
  group->n++;
  group->verdicts[wsi_archive_verdict (inspection->verdict)]++;
  group->n_released += wsi_notes_release (inspection) != NULL ? 1 : 0;
  group->n_regrinds += inspection->reground ? 1 : 0;
  if (inspection->tool != NULL)
    g_hash_table_add (group->tools, g_strdup (inspection->tool));
  if (g_strcmp0 (inspection->time, group->last) > 0)
  {
    g_free (group->last);
    g_free (group->kind);
    group->last = g_strdup (inspection->time);
    group->kind = g_strdup (inspection->kind);
  }
  add_value (counting, inspection, group);
  return TRUE;
}

static gint
by_name (gconstpointer a, gconstpointer b)
{
  const Group *const *first = a, *const *second = b;
  return strcmp ((*first)->name, (*second)->name);
}

/* Of Group, borrowed, in the order of their names. */
static GPtrArray *
sorted (const Counting *counting)
{
  GHashTableIter iter;
  gpointer group;
  GPtrArray *groups = g_ptr_array_new ();
  g_hash_table_iter_init (&iter, counting->groups);
  while (g_hash_table_iter_next (&iter, NULL, &group))
    g_ptr_array_add (groups, group);
  g_ptr_array_sort (groups, by_name);
  return groups;
}

static gboolean
count_all (const Options *options, WsArchive *archive, Counting *counting, GError **error)
{
  WsArchiveFilter filter;
  if (!wsi_filter_options_read (&options->filter, &filter, error) ||
      !ws_archive_each (archive, &filter, TRUE, count, counting, error))
    return FALSE;
  if (g_hash_table_size (counting->groups) == 0)
    wsi_filter_options_suggest (&options->filter, archive);
  return TRUE;
}

/* ---- The table ----------------------------------------------------------------------- */

/* Of what was judged; free with g_free(). */
static char *
share_rejected (const Group *group)
{
  const guint judged = group->verdicts[WS_VERDICT_ACCEPT] + group->verdicts[WS_VERDICT_REJECT] +
                       group->verdicts[WS_VERDICT_UNDECIDED];
  return judged > 0 ? wsi_number_format (100.0 * group->verdicts[WS_VERDICT_REJECT] / judged, 1)
                    : g_strdup ("");
}

static char *
mean_of (const Group *group)
{
  return group->n_values > 0 ? wsi_number_exact (group->origin + group->sum / group->n_values)
                             : g_strdup ("");
}

/* The standard deviation, from two values on. */
static char *
deviation_of (const Group *group)
{
  const double n = group->n_values;
  if (group->n_values < 2)
    return g_strdup ("");
  return wsi_number_exact (
    sqrt (fmax (group->squares - group->sum * group->sum / n, 0.0) / (n - 1.0)));
}

/* One digit more than a thousandth of the deviation needs is noise.  Free with g_free(). */
static char *
values_words (const Group *group)
{
  const double n = group->n_values;
  if (group->n_values == 0)
    return g_strdup ("");
  const double mean = group->origin + group->sum / n;
  const double s =
    n > 1 ? sqrt (fmax (group->squares - group->sum * group->sum / n, 0.0) / (n - 1.0)) : 0.0;
  g_autofree char *number = wsi_number_format (mean, s > 0.0 ? wsi_number_places (s) : 4);
  g_autofree char *scatter = s > 0.0 ? wsi_number_format (s, wsi_number_places (s)) : NULL;
  return g_strdup_printf (_ ("  mean %s%s%s"), number, scatter != NULL ? ", s " : "",
                          scatter != NULL ? scatter : "");
}

static void
say_table (const Counting *counting, const GPtrArray *groups)
{
  wsi_say ("%-24s  tools    all accept reject undec. retake released reground  rejected\n",
           _ (key_name (counting->key)));
  for (guint i = 0; i < groups->len; i++)
  {
    const Group *group = g_ptr_array_index (groups, i);
    g_autofree char *share = share_rejected (group);
    g_autofree char *values = values_words (group);
    wsi_say ("%-24s %6u %6u %6u %6u %6u %6u %8u %8u %7s %%%s\n", group->name,
             g_hash_table_size (group->tools), group->n, group->verdicts[WS_VERDICT_ACCEPT],
             group->verdicts[WS_VERDICT_REJECT], group->verdicts[WS_VERDICT_UNDECIDED],
             group->verdicts[WS_VERDICT_RETAKE], group->n_released, group->n_regrinds,
             *share != '\0' ? share : NOT_SAID, values);
  }
}

static void
append_csv (GString *out, const Group *group)
{
  const guint counts[] = { g_hash_table_size (group->tools),
                           group->n,
                           group->verdicts[WS_VERDICT_ACCEPT],
                           group->verdicts[WS_VERDICT_REJECT],
                           group->verdicts[WS_VERDICT_UNDECIDED],
                           group->verdicts[WS_VERDICT_RETAKE],
                           group->n_released,
                           group->n_regrinds };
  g_autoptr (GPtrArray) fields = g_ptr_array_new_with_free_func (g_free);
  g_ptr_array_add (fields, g_strdup (group->name));
  for (gsize i = 0; i < G_N_ELEMENTS (counts); i++)
    g_ptr_array_add (fields, g_strdup_printf ("%u", counts[i]));
  g_ptr_array_add (fields, share_rejected (group));
  g_ptr_array_add (fields, g_strdup_printf ("%u", group->n_values));
  g_ptr_array_add (fields, mean_of (group));
  g_ptr_array_add (fields, deviation_of (group));
  g_ptr_array_add (fields, NULL);
  wsi_csv_append_row (out, (const char *const *)fields->pdata);
}

static void
say_csv (const Counting *counting, const GPtrArray *groups)
{
  const char *const header[] = { key_name (counting->key),
                                 "tools",
                                 "inspections",
                                 "accept",
                                 "reject",
                                 "undecided",
                                 "retake",
                                 "released",
                                 "reground",
                                 "rejected_percent",
                                 "values",
                                 "mean",
                                 "standard_deviation",
                                 NULL };
  g_autoptr (GString) out = g_string_new (NULL);
  wsi_csv_append_row (out, header);
  for (guint i = 0; i < groups->len; i++)
    append_csv (out, g_ptr_array_index (groups, i));
  fputs (out->str, stdout);
}

static int
table (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  g_autoptr (GHashTable) groups = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, group_free);
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, &error);
  Counting counting = { (Key)wsi_option_word_index (&is_key, options->by, BY_GRINDER),
                        options->filter.quantity, archive, groups, WS_EXIT_ACCEPT };
  if (archive == NULL || !count_all (options, archive, &counting, &error))
    return wsi_fail (error);
  g_autoptr (GPtrArray) lines = sorted (&counting);
  if (options->csv)
    say_csv (&counting, lines);
  else
    say_table (&counting, lines);
  return counting.status;
}

static const WsOption table_options[] = {
  { WS_OPTION_WORD, "by", 'b', G_STRUCT_OFFSET (Options, by), "WHAT",
    "A line for each grinder (by default), machine, station, tool, kind, view or month", &is_key },
  { WS_OPTION_FLAG, "csv", 0, G_STRUCT_OFFSET (Options, csv), NULL, "As RFC 4180", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_archive_table = {
  .name = "table",
  .summary = "count inspections by grinder, machine, station and so on",
  .arguments = "DIR",
  .about = "Counts inspections and their verdicts for each grinder, machine, station, tool, kind, "
           "view or month.\nWith --quantity its mean and standard deviation follow.",
  .groups = { { table_options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = table,
};

/* ---- Tools --------------------------------------------------------------------------- */

static gboolean
say_tool (WsArchive *archive, const Group *group, GError **error)
{
  g_autofree char *day = wsi_words_local (group->last, "%Y-%m-%d");
  g_autoptr (WsToolState) state = wsi_archive_tool_state (archive, group->name, error);
  if (state == NULL)
    return FALSE;
  g_autofree char *words = wsi_words_state (state);
  wsi_say ("%-16s %-12s %4u pictures, last %s, %u regrinds%s: %s\n", group->name, _ (group->kind),
           group->n, day, group->n_regrinds,
           group->n_released > 0 ? _ (", RELEASED AGAINST A VERDICT") : "", words);
  return TRUE;
}

static int
tools (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  g_autoptr (GHashTable) groups = g_hash_table_new_full (g_str_hash, g_str_equal, NULL, group_free);
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, &error);
  Counting counting = { BY_TOOL, NULL, archive, groups, WS_EXIT_ACCEPT };
  if (archive == NULL || !count_all (options, archive, &counting, &error))
    return wsi_fail (error);
  g_autoptr (GPtrArray) lines = sorted (&counting);
  for (guint i = 0; i < lines->len; i++)
  {
    const Group *group = g_ptr_array_index (lines, i);
    if (g_hash_table_size (group->tools) > 0 && !say_tool (archive, group, &error))
      return wsi_fail (error);
  }
  return counting.status;
}

const WsCommand wsi_archive_tools = {
  .name = "tools",
  .summary = "list the tools, and what all views say of each",
  .arguments = "DIR",
  .about = "Lists tools that have a card: kind, pictures, the last one's day, regrinds, and what "
           "all views say\nof each, whichever of its inspections the options choose.",
  .groups = { { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = tools,
};
