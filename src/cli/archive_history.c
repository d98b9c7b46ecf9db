/*
 * A tool's life in words, and a page of it.
 */
#include <string.h>

#include <whetsight/whetsight.h>

#include "archive/state.h"
#include "base/file.h"
#include "base/language.h"
#include "cli/archive.h"
#include "cli/config.h"
#include "cli/fail.h"
#include "cli/say.h"
#include "report/history.h"
#include "report/words.h"

#define MOST_WEAR 4

typedef struct
{
  char *pdf, *paper;
  WsFilterOptions filter;
} Options;

static const char *
paper (guint i)
{
  static const char *const names[] = { [WS_PAPER_A4] = "a4", [WS_PAPER_LETTER] = "letter" };
  return i < G_N_ELEMENTS (names) ? names[i] : NULL;
}

static const WsOptionCheck is_paper = { .word = paper };

/* ---- What is there ------------------------------------------------------------------- */

typedef struct
{
  char *id;
  GPtrArray *inspections; /* of WsInspection, in time */
  GArray *pages;          /* of WsPdfPage */
  char *state;
} Tool;

static void
page_clear (gpointer data)
{
  g_free ((char *)((WsPdfPage *)data)->annotated);
  g_free ((char *)((WsPdfPage *)data)->original);
}

static void
tool_free (gpointer data)
{
  Tool *tool = data;
  g_free (tool->id);
  g_ptr_array_unref (tool->inspections);
  g_array_unref (tool->pages);
  g_free (tool->state);
  g_free (tool);
}

static gboolean
note_tool (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  if (inspection->tool != NULL &&
      !g_ptr_array_find_with_equal_func (data, inspection->tool, g_str_equal, NULL))
    g_ptr_array_add (data, g_strdup (inspection->tool));
  return TRUE;
}

static gboolean
note_id (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  g_ptr_array_add (data, g_strdup (inspection->id));
  return TRUE;
}

/* What was imported may have been taken before what was here. */
static gint
by_time (gconstpointer a, gconstpointer b)
{
  const WsInspection *const *first = a, *const *second = b;
  return g_strcmp0 ((*first)->time, (*second)->time);
}

static gboolean
find_inspections (WsArchive *archive, Tool *tool, int *status, GError **error)
{
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  g_autoptr (GPtrArray) ids = g_ptr_array_new_with_free_func (g_free);
  filter.tool = tool->id;
  if (!ws_archive_each (archive, &filter, FALSE, note_id, ids, error))
    return FALSE;
  for (guint i = 0; i < ids->len; i++)
  {
    WsInspection *inspection = ws_archive_find (archive, g_ptr_array_index (ids, i), error);
    if (inspection == NULL)
      return FALSE;
    if (inspection->wrong == NULL)
      inspection->wrong = ws_archive_check_pictures (archive, inspection);
    if (inspection->wrong != NULL)
      *status = wsi_archive_tell_wrong (archive, inspection->id, inspection->wrong);
    g_ptr_array_add (tool->inspections, inspection);
  }
  g_ptr_array_sort (tool->inspections, by_time);
  return TRUE;
}

static void
make_pages (WsArchive *archive, Tool *tool)
{
  for (guint i = 0; i < tool->inspections->len; i++)
  {
    const WsInspection *inspection = g_ptr_array_index (tool->inspections, i);
    const gboolean drawn = inspection->wrong == NULL &&
                           ws_archive_has_picture (archive, inspection, inspection->annotated);
    const WsPdfPage page = {
      .inspection = inspection,
      .annotated = drawn ? ws_archive_picture_path (archive, inspection->annotated) : NULL,
      .state = tool->state,
    };
    g_array_append_val (tool->pages, page);
  }
}

/* NULL with an error. */
static Tool *
tool_new (WsArchive *archive, const char *id, int *status, GError **error)
{
  Tool *tool = g_new0 (Tool, 1);
  tool->id = g_strdup (id);
  tool->inspections = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  tool->pages = g_array_new (FALSE, FALSE, sizeof (WsPdfPage));
  g_array_set_clear_func (tool->pages, page_clear);
  g_autoptr (WsToolState) state = wsi_archive_tool_state (archive, id, error);
  if (state != NULL && find_inspections (archive, tool, status, error))
  {
    tool->state = wsi_words_state (state);
    make_pages (archive, tool);
    return tool;
  }
  tool_free (tool);
  return NULL;
}

/* Of Tool. */
static GPtrArray *
find_tools (const Options *options, WsArchive *archive, int *status, GError **error)
{
  WsArchiveFilter filter;
  g_autoptr (GPtrArray) ids = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) tools = g_ptr_array_new_with_free_func (tool_free);
  if (!wsi_filter_options_read (&options->filter, &filter, error) ||
      !ws_archive_each (archive, &filter, FALSE, note_tool, ids, error))
    return NULL;
  for (guint i = 0; i < ids->len; i++)
  {
    Tool *tool = tool_new (archive, g_ptr_array_index (ids, i), status, error);
    if (tool == NULL)
      return NULL;
    g_ptr_array_add (tools, tool);
  }
  if (tools->len > 0)
    return g_steal_pointer (&tools);
  wsi_filter_options_suggest (&options->filter, archive);
  g_set_error (error, WS_ERROR, WS_ERROR_NO_INPUT,
               "archive %s: no such tools; whetsight archive list shows what is there",
               ws_archive_folder (archive));
  return NULL;
}

/* ---- Told and printed ---------------------------------------------------------------- */

/* By the newest view that has it; the name where none has.  Free with g_free(). */
static char *
label_of (const Tool *tool, const char *quantity)
{
  for (guint i = tool->inspections->len; i-- > 0;)
  {
    const WsInspection *inspection = g_ptr_array_index (tool->inspections, i);
    const WsQuantityInfo *info = ws_view_lookup (inspection->view, quantity);
    if (info != NULL)
      return g_strdup (_ (info->label));
  }
  return g_strdup (quantity);
}

static void
tell (const Tool *tool)
{
  g_autoptr (WsHistory) history = wsi_history_new (tool->inspections);
  const WsInspection *first = g_ptr_array_index (tool->inspections, 0);
  const WsInspection *last = g_ptr_array_index (tool->inspections, tool->inspections->len - 1);
  g_autofree char *from = wsi_words_local (first->time, "%Y-%m-%d");
  g_autofree char *to = wsi_words_local (last->time, "%Y-%m-%d");
  g_autofree char *length = wsi_history_length_words (history);
  wsi_say ("%s: %s, %u pictures from %s to %s; %s.\n  %s\n", tool->id, _ (last->kind),
           tool->inspections->len, from, to, tool->state, length);
  for (guint i = 0; i < MIN (history->wear->len, MOST_WEAR); i++)
  {
    const WsWear *wear = &g_array_index (history->wear, WsWear, i);
    g_autofree char *label = label_of (tool, wear->name);
    g_autofree char *words = wsi_history_wear_words (wear, label);
    wsi_say ("  %s\n", words);
  }
}

static gboolean
print (const Options *options, const GPtrArray *tools, GError **error)
{
  g_auto (WsConfig) config = { 0 };
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autofree WsPdfTool *pages = g_new0 (WsPdfTool, tools->len);
  if (options->pdf == NULL)
    return TRUE;
  if (!wsi_config_load (&config, error))
    return FALSE;
  const WsPdfShop shop = { .company = config.company,
                           .address = config.address,
                           .logo = config.logo };
  const WsPdfStyle style = {
    .paper = (WsPaperSize)wsi_option_word_index (&is_paper, options->paper, WS_PAPER_A4),
    .lookup = ws_view_lookup,
    .time = time,
    .shop = &shop,
  };
  for (guint i = 0; i < tools->len; i++)
  {
    const Tool *tool = g_ptr_array_index (tools, i);
    pages[i] = (WsPdfTool){ tool->id, (const WsPdfPage *)(void *)tool->pages->data,
                            tool->pages->len, options->filter.quantity };
  }
  g_autoptr (GBytes) pdf = ws_pdf_history (pages, tools->len, &style, error);
  return pdf != NULL &&
         wsi_file_save (options->pdf, g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf), error);
}

static int
history (gpointer data, char **words)
{
  const Options *options = data;
  GError *error = NULL;
  int status = WS_EXIT_ACCEPT;
  g_autoptr (WsArchive) archive =
    wsi_archive_command_open (words, 0, _ ("one folder"), WS_ARCHIVE_READ, &error);
  g_autoptr (GPtrArray) tools =
    archive != NULL ? find_tools (options, archive, &status, &error) : NULL;
  if (tools == NULL || !print (options, tools, &error))
    return wsi_fail (error);
  for (guint i = 0; i < tools->len; i++)
    tell (g_ptr_array_index (tools, i));
  return status;
}

static const WsOption options[] = { { WS_OPTION_FILE, "pdf", 'o', G_STRUCT_OFFSET (Options, pdf),
                                      "FILE", "Print a page a tool there", NULL },
                                    { WS_OPTION_WORD, "paper", 0, G_STRUCT_OFFSET (Options, paper),
                                      "SIZE", "a4 (by default) or letter", &is_paper },
                                    WS_OPTIONS_END };

const WsCommand wsi_archive_history = {
  .name = "history",
  .summary = "tell a tool's life: regrinds, what is left, what wears it",
  .arguments = "DIR",
  .about = "Tells of each tool that the options choose, by all of its inspections: regrinds, what "
           "they took of\nits length and how many are left, what wears it; as PDF with pictures, "
           "capability and a chart\nof --quantity.",
  .groups = { { options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = history,
};
