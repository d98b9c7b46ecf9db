#include <stdio.h>
#include <string.h>

#include <whetsight/whetsight.h>

#include "base/file.h"
#include "cli/archive.h"
#include "cli/config.h"
#include "cli/verbs.h"
#include "report/paper_words.h"

typedef struct
{
  char *archive;
  char *pdf;
  char *paper;
  char *lengths;
  char *units;
  char *customer, *order, *part;
  WsFilterOptions filter;
} Options;

static const char *
paper (guint i)
{
  static const char *const names[] = { [WS_PAPER_A4] = "a4", [WS_PAPER_LETTER] = "letter" };
  return i < G_N_ELEMENTS (names) ? names[i] : NULL;
}

static const char *
lengths (guint i)
{
  static const char *const names[] = { [WS_LENGTHS_MM] = "mm",
                                       [WS_LENGTHS_MM_INCHES] = "mm-in",
                                       [WS_LENGTHS_INCHES_MM] = "in-mm",
                                       [WS_LENGTHS_INCHES] = "in" };
  return i < G_N_ELEMENTS (names) ? names[i] : NULL;
}

static const WsOptionCheck is_paper = { .word = paper };
static const WsOptionCheck is_lengths = { .word = lengths };

static gboolean
check (const Options *options, GError **error)
{
  return (options->archive != NULL && options->pdf != NULL) ||
         wsi_refuse_usage (error, "name the archive with --archive and the file with --pdf; see "
                                  "whetsight report --help");
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
  if (*ids != NULL && !wsi_filter_options_refuse (&options->filter, error))
    return NULL;
  for (char **id = ids; *id != NULL; id++)
    g_ptr_array_add (names, g_strdup (*id));
  if (names->len == 0 && (!wsi_filter_options_read (&options->filter, &filter, error) ||
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
  g_free ((char *)((WsPdfPage *)data)->original);
  g_free ((char *)((WsPdfPage *)data)->regrind);
  g_free ((char *)((WsPdfPage *)data)->state);
}

static gboolean
print (const Options *options, WsArchive *archive, const GPtrArray *found, WsPdfStyle *style,
       int *status, GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (GArray) pages = g_array_new (FALSE, FALSE, sizeof (WsPdfPage));
  g_array_set_clear_func (pages, page_clear);
  for (guint i = 0; i < found->len; i++)
  {
    WsInspection *inspection = g_ptr_array_index (found, i);
    if (inspection->wrong == NULL)
      inspection->wrong = ws_archive_check_pictures (archive, inspection);
    const gboolean drawn = ws_archive_has_picture (archive, inspection, inspection->annotated);
    GError *cause = NULL;
    const WsPdfPage page = {
      .inspection = inspection,
      .annotated = drawn ? ws_archive_picture_path (archive, inspection->annotated) : NULL,
      .original = ws_archive_has_picture (archive, inspection, inspection->image)
                    ? ws_archive_picture_path (archive, inspection->image)
                    : NULL,
      .state = wsi_paper_state (archive, inspection, &cause),
      .regrind = cause == NULL ? wsi_paper_regrind (archive, inspection, &cause) : NULL,
    };
    if (inspection->wrong != NULL)
      *status = wsi_archive_tell_wrong (archive, inspection->id, inspection->wrong);
    g_array_append_val (pages, page);
    if (cause != NULL)
    {
      g_propagate_error (error, cause);
      return FALSE;
    }
  }
  style->time = time;
  g_autoptr (GBytes) pdf =
    ws_pdf_report ((const WsPdfPage *)(void *)pages->data, pages->len, style, error);
  return pdf != NULL &&
         wsi_file_save (options->pdf, g_bytes_get_data (pdf, NULL), g_bytes_get_size (pdf), error);
}

/* --lengths says more than --units, which says more than the shop's settings. */
static gboolean
read_lengths (const Options *options, WsLengths *lengths, GError **error)
{
  static const WsLengths of_units[] = { [WS_UNITS_MM] = WS_LENGTHS_MM,
                                        [WS_UNITS_IN] = WS_LENGTHS_INCHES,
                                        [WS_UNITS_BOTH] = WS_LENGTHS_MM_INCHES };
  WsUnits units;
  if (options->lengths != NULL && options->units != NULL)
    return wsi_refuse_usage (error, "give --lengths or --units, not both");
  if (!wsi_config_units (options->units, WS_UNITS_BOTH, &units, error))
    return FALSE;
  *lengths = (WsLengths)wsi_option_word_index (&is_lengths, options->lengths, of_units[units]);
  return TRUE;
}

/* Options say more than the shop's settings. */
static WsPdfShop
shop_of (const Options *options, const WsConfig *config)
{
  return (WsPdfShop){
    .company = config->company,
    .address = config->address,
    .logo = config->logo,
    .customer = options->customer != NULL ? options->customer : config->customer,
    .order = options->order != NULL ? options->order : config->order,
    .part = options->part != NULL ? options->part : config->part,
  };
}

static int
report (gpointer data, char **words)
{
  const Options *options = data;
  g_autoptr (WsArchive) archive = NULL;
  g_autoptr (GPtrArray) found = NULL;
  GError *error = NULL;
  int status = WS_EXIT_ACCEPT;
  WsPdfShop shop;
  g_auto (WsConfig) config = { 0 };
  WsPdfStyle style = {
    .shop = &shop,
    .paper = (WsPaperSize)wsi_option_word_index (&is_paper, options->paper, WS_PAPER_A4),
    .lookup = ws_view_lookup,
  };
  if (!check (options, &error) || !read_lengths (options, &style.lengths, &error) ||
      !wsi_config_load (&config, &error))
    return wsi_fail (error);
  shop = shop_of (options, &config);
  if ((archive = ws_archive_open (options->archive, WS_ARCHIVE_READ, &error)) == NULL ||
      (found = find (options, archive, words + 1, &error)) == NULL ||
      !print (options, archive, found, &style, &status, &error))
    return wsi_fail (error);
  return status;
}

static const WsOption options[] = {
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR", "The archive",
    NULL },
  { WS_OPTION_FILE, "pdf", 'o', G_STRUCT_OFFSET (Options, pdf), "FILE", "Write the report there",
    NULL },
  { WS_OPTION_WORD, "paper", 0, G_STRUCT_OFFSET (Options, paper), "SIZE",
    "a4 (by default) or letter", &is_paper },
  { WS_OPTION_WORD, "lengths", 0, G_STRUCT_OFFSET (Options, lengths), "UNITS",
    "mm, in, mm-in (inches in brackets, by default) or in-mm", &is_lengths },
  { WS_OPTION_WORD, "units", 'u', G_STRUCT_OFFSET (Options, units), "UNITS",
    "mm, in or both, as for measure; by default as whetsight.conf says", &wsi_check_units },
  { WS_OPTION_TEXT, "customer", 0, G_STRUCT_OFFSET (Options, customer), "NAME",
    "Who it is for; by default as whetsight.conf says, as order and part", NULL },
  { WS_OPTION_TEXT, "order", 0, G_STRUCT_OFFSET (Options, order), "TEXT", "The order", NULL },
  { WS_OPTION_TEXT, "part", 0, G_STRUCT_OFFSET (Options, part), "TEXT", "What the tool is to make",
    NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_report = {
  .name = "report",
  .summary = "print inspections of an archive as PDF",
  .arguments = "[ID…]",
  .about = "Prints inspections of an archive as PDF, each with a line to sign; of several, a "
           "summary comes\nfirst. Which ones: their ids, or the options that archive list takes.",
  .groups = { { options, 0 }, { wsi_filter_options, G_STRUCT_OFFSET (Options, filter) } },
  .size = sizeof (Options),
  .run = report,
};
