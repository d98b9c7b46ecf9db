#include "cli/archive.h"

#include <math.h>
#include <string.h>

#include "base/language.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "cli/suggest.h"
#include "cli/verbs.h"

/* ---- Which inspections -------------------------------------------------------------- */

static const WsOptionCheck is_count = {
  .phrase = "expected a whole number, 1 or more", .least = 1.0, .most = INFINITY, .whole = TRUE
};

const WsOption wsi_filter_options[] = {
  { WS_OPTION_TEXT, "tool", 't', G_STRUCT_OFFSET (WsFilterOptions, tool), "ID",
    "Of the tool with this id; * stands for any text, ? for a character, in NAMEs too", NULL },
  { WS_OPTION_WORD, "kind", 'k', G_STRUCT_OFFSET (WsFilterOptions, kind), "KIND",
    "Of this kind of tool", &wsi_check_kind },
  { WS_OPTION_TEXT, "view", 'v', G_STRUCT_OFFSET (WsFilterOptions, view), "VIEW", "In this view",
    &wsi_check_view },
  { WS_OPTION_WORD, "verdict", 0, G_STRUCT_OFFSET (WsFilterOptions, verdict), "VERDICT",
    "accept, undecided, reject or retake", &wsi_check_verdict },
  { WS_OPTION_TEXT, "station", 0, G_STRUCT_OFFSET (WsFilterOptions, station), "NAME",
    "Measured there", NULL },
  { WS_OPTION_TEXT, "grinder", 0, G_STRUCT_OFFSET (WsFilterOptions, grinder), "NAME", "Ground by",
    NULL },
  { WS_OPTION_TIME, "from", 0, G_STRUCT_OFFSET (WsFilterOptions, from), "TIME",
    "Measured then or later, UTC: 2026-11-25, 2026-11-25T10:15", NULL },
  { WS_OPTION_TIME, "to", 0, G_STRUCT_OFFSET (WsFilterOptions, to), "TIME",
    "Measured then or earlier; 2026-11 is all of November", NULL },
  { WS_OPTION_TEXT, "quantity", 'q', G_STRUCT_OFFSET (WsFilterOptions, quantity), "NAME",
    "With a value of this quantity, point_angle_deg say", NULL },
  { WS_OPTION_NUMBER, "above", 0, G_STRUCT_OFFSET (WsFilterOptions, above), "VALUE",
    "and it lies above", &wsi_check_number },
  { WS_OPTION_NUMBER, "below", 0, G_STRUCT_OFFSET (WsFilterOptions, below), "VALUE",
    "and it lies below", &wsi_check_number },
  { WS_OPTION_COUNT, "last", 'n', G_STRUCT_OFFSET (WsFilterOptions, last), "N",
    "The newest so many", &is_count },
  WS_OPTIONS_END
};

static gboolean
is_pattern (const char *name)
{
  return name != NULL && strpbrk (name, "*?") != NULL;
}

gboolean
wsi_filter_options_read (const WsFilterOptions *options, WsArchiveFilter *filter, GError **error)
{
  *filter =
    (WsArchiveFilter){ .tool = options->tool,
                       .kind = options->kind,
                       .view = options->view,
                       .verdict = options->verdict,
                       .station = options->station,
                       .grinder = options->grinder,
                       .from = options->from,
                       .to = options->to,
                       .quantity = options->quantity,
                       .above = options->above,
                       .below = options->below,
                       .last = (guint64)MAX (options->last, 0),
                       .wild = is_pattern (options->tool) || is_pattern (options->station) ||
                               is_pattern (options->grinder) };
  return (isnan (options->above) && isnan (options->below)) || options->quantity != NULL ||
         wsi_refuse_usage (error, "--above and --below make sense with --quantity only");
}

gboolean
wsi_filter_options_refuse (const WsFilterOptions *options, GError **error)
{
  const char *const texts[] = { options->tool,    options->kind,    options->view,
                                options->verdict, options->station, options->grinder,
                                options->from,    options->to,      options->quantity };
  gboolean given = options->last != 0 || !isnan (options->above) || !isnan (options->below);
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    given = given || texts[i] != NULL;
  return !given ||
         wsi_refuse_usage (error, "give ids, or options that choose inspections, not both");
}

/* ---- What was meant ------------------------------------------------------------------ */

static gboolean
note_names (const WsInspection *inspection, gpointer data, GError **error)
{
  GHashTable *const *names = data;
  (void)error;
  if (inspection->tool != NULL)
    g_hash_table_add (names[0], g_strdup (inspection->tool));
  g_hash_table_add (names[1], g_strdup (inspection->view));
  return TRUE;
}

/* All that views measure, in mm where they are lengths. */
static void
add_quantities (GHashTable *names)
{
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    for (gsize i = 0; i < (*view)->n_quantities; i++)
    {
      const WsQuantityInfo *info = &(*view)->quantities[i];
      g_hash_table_add (names,
                        g_strdup_printf ("%s_%s", info->stem, ws_unit_suffix (info->unit, TRUE)));
    }
}

static void
tell_meant (const char *name, const char *word, GHashTable *known)
{
  g_autofree const char **candidates = (const char **)g_hash_table_get_keys_as_array (known, NULL);
  const char *meant = word != NULL && !is_pattern (word) && !g_hash_table_contains (known, word)
                        ? wsi_suggest (word, candidates)
                        : NULL;
  if (meant != NULL)
    wsi_say_aside ("--%s %s: nothing there; did you mean %s?\n", name, word, meant);
}

void
wsi_filter_options_suggest (const WsFilterOptions *options, WsArchive *archive)
{
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  g_autoptr (GHashTable) tools = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) views = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  g_autoptr (GHashTable) quantities = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  GHashTable *names[] = { tools, views };
  if (!ws_archive_each (archive, &all, FALSE, note_names, names, NULL))
    return;
  add_quantities (quantities);
  tell_meant ("tool", options->tool, tools);
  tell_meant ("view", options->view, views);
  tell_meant ("quantity", options->quantity, quantities);
}

WsArchive *
wsi_archive_command_open (char **words, guint n_more, const char *what, WsArchiveMode mode,
                          GError **error)
{
  if (g_strv_length (words) == 2 + n_more)
    return ws_archive_open (words[1], mode, error);
  wsi_refuse_usage (error, "archive %s: expected %s; see --help", words[0], what);
  return NULL;
}

int
wsi_archive_tell_wrong (const WsArchive *archive, const char *id, const char *wrong)
{
  return wsi_fail (g_error_new (WS_ERROR, WS_ERROR_DATA,
                                "archive %s: %s left out, not as it was written (%s); whetsight "
                                "archive verify tells more",
                                ws_archive_folder (archive), id, wrong));
}

/* ---- The verb ----------------------------------------------------------------------- */

/* In the order in which --help names them. */
static const WsCommand *const commands[] = {
  &wsi_archive_list,
  &wsi_archive_show,
  &wsi_archive_export,
  &wsi_archive_import,
  &wsi_archive_sign,
  &wsi_archive_release,
  &wsi_archive_comment,
  &wsi_archive_tools,
  &wsi_archive_table,
  &wsi_archive_history,
  &wsi_archive_compare,
  &wsi_archive_check,
  &wsi_archive_sealing,
  &wsi_archive_key,
  &wsi_archive_backup,
  &wsi_archive_restore,
  &wsi_archive_bundle,
  &wsi_archive_merge,
  &wsi_archive_sync,
  &wsi_archive_clear,
  &wsi_archive_pictures,
  &wsi_archive_make,
  NULL,
};

const WsCommand wsi_verb_archive = {
  .name = "archive",
  .summary = "keep inspections, find, check and export them",
  .arguments = "DIR …",
  .about = "Keeps inspections so that a change to them is noticed; whetsight measure --archive "
           "DIR\nfills it.",
  .choice = "command",
  .commands = commands,
};

const char *
wsi_archive_quantity_label (const char *quantity)
{
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
  {
    const WsQuantityInfo *info = ws_view_lookup ((*view)->name, quantity);
    if (info != NULL)
      return _ (info->label);
  }
  return quantity;
}
