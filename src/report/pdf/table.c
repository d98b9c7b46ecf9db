#include "report/pdf/table.h"

#include <math.h>
#include <string.h>

#include "base/language.h"
#include "base/number.h"
#include "base/told_text.h"
#include "report/pdf/read.h"
#include "report/told.h"
#include "report/words.h"

#define TABLE 8.4 /* letters of the table */

/* ---- Words ------------------------------------------------------------------------------ */

/* "6.4885 ± 0.0012 mm" of a value in its unit divided by `per`; free with g_free(). */
static char *
value_words (double value, double U, double per, const char *unit)
{
  const guint places = wsi_number_places (U / per);
  g_autofree char *number = wsi_number_format (value / per, places);
  g_autofree char *reach = isfinite (U) ? wsi_number_format (U / per, places) : g_strdup ("?");
  return g_strdup_printf ("%s ± %s %s", number, reach, unit);
}

/* Far below any U. */
#define INCH_PLACES 6

static char *
limit_end (const json_t *entry, const char *key, gboolean is_upper, double per)
{
  const double end = wsi_record_number (entry, key);
  const char *source = wsi_record_text (entry, "limit_source");
  if (per > 1.0)
    return wsi_words_limit_inches (end, is_upper, INCH_PLACES);
  return wsi_words_limit (end, is_upper, g_strcmp0 (source, "tool card") != 0);
}

static char *
limit_words (const json_t *entry, double per, const char *unit)
{
  g_autofree char *lower = limit_end (entry, "lower", FALSE, per);
  g_autofree char *upper = limit_end (entry, "upper", TRUE, per);
  if (*lower == '\0' && *upper == '\0')
    return g_strdup ("");
  return g_strdup_printf ("%s%s..%s%s %s", lower, *lower != '\0' ? " " : "",
                          *upper != '\0' ? " " : "", upper,
                          g_str_equal (unit, "deg") ? "°" : _ (unit));
}

/* What stands in a cell: the main unit, or both for lengths.  Takes both texts over. */
static char *
both (const WsPage *page, gboolean is_length, char *mm, char *inches)
{
  char *cell = NULL;
  if (!is_length || page->style->lengths == WS_LENGTHS_MM || *mm == '\0')
    cell = g_strdup (mm);
  else if (page->style->lengths == WS_LENGTHS_INCHES)
    cell = g_strdup (inches);
  else if (page->style->lengths == WS_LENGTHS_MM_INCHES)
    cell = g_strdup_printf ("%s [%s]", mm, inches);
  else
    cell = g_strdup_printf ("%s [%s]", inches, mm);
  g_free (mm);
  g_free (inches);
  return cell;
}

/* Of a size that was told, not measured: in mm. */
static char *
given_words (const WsPage *page, double given)
{
  char mm[G_ASCII_DTOSTR_BUF_SIZE], inches[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd (mm, sizeof mm, "%.7g", given);
  g_ascii_formatd (inches, sizeof inches, "%.6g", given / WS_MM_PER_INCH);
  return both (page, TRUE, g_strdup_printf ("%s mm", mm), g_strdup_printf ("%s in", inches));
}

/* ---- The table -------------------------------------------------------------------------- */

/* Parts of the inner width where columns start and end. */
static const double columns[] = { 0.0, 0.155, 0.195, 0.505, 0.845, 0.92, 1.0 };

static double
column (const WsPage *page, guint i)
{
  return WS_PAGE_MARGIN + columns[i] * wsi_page_inner_width (page);
}

static double
room_of (const WsPage *page, guint i)
{
  return (columns[i + 1] - columns[i]) * wsi_page_inner_width (page) - 8.0;
}

static void
put_cell (const WsPage *page, guint i, const WsTextStyle *style, const char *text)
{
  wsi_page_put_fitting (page, *style, column (page, i), page->y, room_of (page, i), text);
}

/* What both() brackets begins a line of its own. */
static void
put_in_lines (WsPage *page, guint i, const WsTextStyle *style, const char *text, guint n_lines)
{
  const char *bracket = n_lines > 1 ? strstr (text, " [") : NULL;
  if (bracket == NULL)
  {
    put_cell (page, i, style, text);
    return;
  }
  g_autofree char *first = g_strndup (text, (gsize)(bracket - text));
  const double y = page->y;
  put_cell (page, i, style, first);
  page->y += WS_PAGE_ROW * TABLE;
  put_cell (page, i, style, bracket + 1);
  page->y = y;
}

static gboolean
has_both_units (const WsPage *page)
{
  return page->style->lengths == WS_LENGTHS_MM_INCHES ||
         page->style->lengths == WS_LENGTHS_INCHES_MM;
}

static guint
footnote (GPtrArray *sources, const char *source)
{
  guint index;
  if (g_ptr_array_find_with_equal_func (sources, source, g_str_equal, &index))
    return index + 1;
  g_ptr_array_add (sources, (gpointer)source);
  return sources->len;
}

static char *
limits_cell (const WsPage *page, const json_t *entry, const char *unit, GPtrArray *sources)
{
  const char *source = wsi_record_text (entry, "limit_source");
  char *limits = both (page, g_str_equal (unit, "mm"), limit_words (entry, 1.0, unit),
                       limit_words (entry, WS_MM_PER_INCH, "in"));
  if (source == NULL || g_str_equal (source, "tool card") || *limits == '\0')
    return limits;
  char *noted = g_strdup_printf ("%s (%u)", limits, footnote (sources, source));
  g_free (limits);
  return noted;
}

char *
wsi_page_label (const WsPage *page, const char *view, const char *name)
{
  return wsi_told_label (page->style->lookup, view, name, NULL);
}

/* The probability that the true value conforms, never rounded to none or all.  Free with g_free().
 */
static char *
inside_words (const json_t *entry)
{
  const double percent = 100.0 * wsi_record_number (entry, "conformance");
  if (!isfinite (percent))
    return g_strdup ("");
  if (percent > 99.9)
    return g_strdup ("> 99.9 %");
  if (percent < 0.1)
    return g_strdup ("< 0.1 %");
  g_autofree char *number = wsi_number_format (percent, 1);
  return g_strdup_printf ("%s %%", number);
}

static void
put_row (WsPage *page, const WsInspection *inspection, const char *name, const json_t *entry,
         GPtrArray *sources)
{
  const WsQuantityInfo *info;
  g_autofree char *label = wsi_told_label (page->style->lookup, inspection->view, name, &info);
  const char *mark = strrchr (name, '_');
  const char *unit = mark != NULL ? mark + 1 : "";
  const char *shown = g_str_equal (unit, "deg") ? "°" : _ (unit);
  const WsVerdict verdict = wsi_record_verdict (wsi_record_text (entry, "verdict"));
  const WsTextStyle style = wsi_page_letters (TABLE, FALSE, WS_INK);
  const WsTextStyle strong = wsi_page_letters (TABLE, verdict == WS_VERDICT_REJECT, WS_INK);
  const double value = wsi_record_number (entry, "value"), U = wsi_record_number (entry, "U");
  const double given = wsi_record_number (entry, "given");
  g_autofree char *words =
    isfinite (given)   ? given_words (page, given)
    : isfinite (value) ? both (page, g_str_equal (unit, "mm"), value_words (value, U, 1.0, shown),
                               value_words (value, U, WS_MM_PER_INCH, "in"))
                       : g_strdup (_ ("unknown"));
  g_autofree char *limits = limits_cell (page, entry, unit, sources);
  g_autofree char *inside = inside_words (entry);
  const guint n_lines =
    has_both_units (page) && !(wsi_page_fits (page, &strong, room_of (page, 2), words) &&
                               wsi_page_fits (page, &style, room_of (page, 3), limits))
      ? 2
      : 1;
  put_cell (page, 0, &style, label);
  put_cell (page, 1, &style, info != NULL && info->symbol != NULL ? info->symbol : "");
  put_in_lines (page, 2, &strong, words, n_lines);
  put_in_lines (page, 3, &style, limits, n_lines);
  put_cell (page, 4, &style, inside);
  put_cell (page, 5, &strong,
            isfinite (given)             ? _ ("given")
            : verdict != WS_VERDICT_NONE ? _ (ws_verdict_name (verdict))
                                         : "–");
  page->y += n_lines * WS_PAGE_ROW * TABLE;
  wsi_page_rule (page, page->y - 1.0);
}

static void
put_head (WsPage *page)
{
  static const char *const titles[] = {
    N_ ("Quantity"), "", N_ ("Value ± U (k = 2)"), N_ ("Limits"), N_ ("Inside"), N_ ("Verdict")
  };
  const WsTextStyle head = wsi_page_letters (TABLE, TRUE, WS_INK);
  page->y += 4.0;
  for (guint i = 0; i < G_N_ELEMENTS (titles); i++)
    put_cell (page, i, &head, _ (titles[i]));
  page->y += WS_PAGE_ROW * TABLE;
  wsi_page_rule (page, page->y - 1.0);
}

static void
put_sources (WsPage *page, const GPtrArray *sources)
{
  WsTextStyle note = wsi_page_letters (WS_PAGE_SMALL, FALSE, WS_GREY);
  note.wrap = wsi_page_inner_width (page);
  for (guint i = 0; i < sources->len; i++)
  {
    g_autofree char *source = wsi_told_text (g_ptr_array_index (sources, i));
    g_autofree char *words = g_strdup_printf (_ ("(%u) not on the tool card: %s"), i + 1, source);
    double width, height;
    wsi_canvas_measure (page->cr, &note, words, &width, &height);
    wsi_page_make_room (page, height);
    page->y += wsi_page_put (page, &note, WS_PAGE_MARGIN, page->y, words);
  }
}

void
wsi_page_put_table (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  const char *name;
  json_t *entry;
  json_t *quantities = json_object_get (record, "quantities");
  g_autoptr (GPtrArray) sources = g_ptr_array_new ();
  if (json_object_size (quantities) == 0)
    return;
  /* In one piece, where a page holds it. */
  const double lines = has_both_units (page) ? 2.0 : 1.0;
  const double rows = lines * (double)json_object_size (quantities) + 1.0;
  wsi_page_make_room (page, 4.0 + rows * WS_PAGE_ROW * TABLE);
  put_head (page);
  json_object_foreach (quantities, name, entry)
  {
    if (wsi_page_make_room (page, lines * WS_PAGE_ROW * TABLE))
      put_head (page);
    put_row (page, inspection, name, entry, sources);
  }
  put_sources (page, sources);
}
