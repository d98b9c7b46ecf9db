#include <stdio.h>
#include <string.h>

#include <whetsight/whetsight.h>

#include "base/file.h"
#include "cli/archive.h"
#include "cli/lookup.h"
#include "cli/verbs.h"

typedef struct
{
  char *archive;
  char *pdf;
  char *paper;
  char *lengths;
  WsFilterOptions filter;
} Options;

static void
options_clear (Options *options)
{
  g_free (options->archive);
  g_free (options->pdf);
  g_free (options->paper);
  g_free (options->lengths);
  ws_filter_options_clear (&options->filter);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

static gboolean
choose (const char *option, const char *word, const char *const *words, int *choice, GError **error)
{
  for (int i = 0; word != NULL && words[i] != NULL; i++)
    if (g_str_equal (word, words[i]))
    {
      *choice = i;
      return TRUE;
    }
  if (word == NULL)
    return TRUE;
  g_autofree char *known = g_strjoinv (", ", (char **)words);
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE, "%s: expected one of %s; found \"%s\"", option,
               known, word);
  return FALSE;
}

static gboolean
read_style (const Options *options, WsPdfStyle *style, GError **error)
{
  static const char *const papers[] = { "a4", "letter", NULL };
  static const char *const lengths[] = { "mm", "mm-in", "in-mm", NULL };
  int paper = WS_PAPER_A4, length = WS_LENGTHS_MM_INCHES;
  if (!choose ("--paper", options->paper, papers, &paper, error) ||
      !choose ("--lengths", options->lengths, lengths, &length, error))
    return FALSE;
  style->paper = (WsPaperSize)paper;
  style->lengths = (WsLengths)length;
  style->lookup = ws_lookup_quantity;
  return TRUE;
}

static gboolean
parse (char ***arguments, Options *options, GError **error)
{
  const GOptionEntry entries[] = {
    { "archive", 'a', 0, G_OPTION_ARG_FILENAME, &options->archive, "The archive", "DIR" },
    { "pdf", 'o', 0, G_OPTION_ARG_FILENAME, &options->pdf, "Write the report there", "FILE" },
    { "paper", 0, 0, G_OPTION_ARG_STRING, &options->paper, "a4 (by default) or letter", "SIZE" },
    { "lengths", 0, 0, G_OPTION_ARG_STRING, &options->lengths,
      "mm, mm-in (inches in brackets, by default) or in-mm", "UNITS" },
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL },
  };
  g_autoptr (GOptionContext) context = g_option_context_new ("[ID…]");
  g_option_context_set_summary (
    context, "Prints inspections of an archive as PDF, a page each with a line to sign; of "
             "several, a summary comes\nfirst. Which ones: their ids, or the options that archive "
             "list takes.");
  g_option_context_add_main_entries (context, entries, NULL);
  ws_filter_options_add (&options->filter, context);
  if (!g_option_context_parse_strv (context, arguments, error))
    return FALSE;
  if (options->archive != NULL && options->pdf != NULL)
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_USAGE,
               "name the archive with --archive and the file with --pdf; see whetsight report "
               "--help");
  return FALSE;
}

static gboolean
note_id (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)error;
  g_ptr_array_add (data, g_strdup (inspection->id));
  return TRUE;
}

/* Of WsInspection, in the order of the ids or of storing. */
static GPtrArray *
find (const Options *options, WsArchive *archive, char **ids, GError **error)
{
  WsArchiveFilter filter;
  g_autoptr (GPtrArray) names = g_ptr_array_new_with_free_func (g_free);
  g_autoptr (GPtrArray) found = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  for (char **id = ids; *id != NULL; id++)
    g_ptr_array_add (names, g_strdup (*id));
  if (names->len == 0 && (!ws_filter_options_read (&options->filter, &filter, error) ||
                          !ws_archive_each (archive, &filter, FALSE, note_id, names, error)))
    return NULL;
  for (guint i = 0; i < names->len; i++)
  {
    WsInspection *inspection = ws_archive_find (archive, g_ptr_array_index (names, i), error);
    if (inspection == NULL)
      return NULL;
    g_ptr_array_add (found, inspection);
  }
  if (found->len > 0)
    return g_steal_pointer (&found);
  g_set_error (
    error, WS_ERROR, WS_ERROR_NO_INPUT,
    "archive %s: no inspections of this kind; whetsight archive list shows what is there",
    options->archive);
  return NULL;
}

static void
page_clear (gpointer data)
{
  g_free ((char *)((WsPdfPage *)data)->annotated);
}

static gboolean
print (const Options *options, WsArchive *archive, const GPtrArray *found, WsPdfStyle *style,
       GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (GArray) pages = g_array_new (FALSE, FALSE, sizeof (WsPdfPage));
  g_array_set_clear_func (pages, page_clear);
  for (guint i = 0; i < found->len; i++)
  {
    const WsInspection *inspection = g_ptr_array_index (found, i);
    const gboolean drawn = inspection->has_pictures && inspection->annotated != NULL;
    const WsPdfPage page = { inspection,
                             drawn ? ws_archive_picture_path (archive, inspection->annotated)
                                   : NULL };
    g_array_append_val (pages, page);
  }
  style->time = time;
  g_autoptr (GBytes) pdf =
    ws_pdf_report ((const WsPdfPage *)(void *)pages->data, pages->len, style, error);
  return pdf != NULL &&
         ws_file_save (options->pdf, g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf), error);
}

int
ws_verb_report (char ***arguments)
{
  g_auto (Options) options = { 0 };
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (GPtrArray) found = NULL;
  WsPdfStyle style = { 0 };
  GError *error = NULL;
  if (!parse (arguments, &options, &error) || !read_style (&options, &style, &error) ||
      (archive = ws_archive_open (options.archive, WS_ARCHIVE_READ, &error)) == NULL ||
      (found = find (&options, archive, *arguments + 1, &error)) == NULL ||
      !print (&options, archive, found, &style, &error))
    return ws_fail (error);
  return WS_EXIT_ACCEPT;
}
