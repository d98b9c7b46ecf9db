/*
 * A page a tool: its pictures in time, regrinds and what they leave, what wears it, capability, and
 * a quantity's trend.
 */
#include <math.h>

#include "archive/note.h"
#include "archive/state.h"
#include "base/language.h"
#include "base/number.h"
#include "report/history.h"
#include "report/pdf/letterhead.h"
#include "report/pdf/paper.h"
#include "report/pdf/picture.h"
#include "report/pdf/read.h"
#include "report/pdf/table.h"
#include "report/trend.h"
#include "report/words.h"

#define MOST_PICTURES 10
#define PICTURES_A_ROW 5
#define BETWEEN 6.0
#define MOST_REGRINDS 6
#define MOST_WEAR 4
#define MOST_CAPABILITIES 4
#define LEAST_CHART 120.0

/* ---- Pictures ---------------------------------------------------------------------------- */

static void
put_picture (WsPage *page, const WsPdfPage *what, double x, double width)
{
  const WsInspection *inspection = what->inspection;
  const WsVerdict verdict = wsi_record_verdict (inspection->verdict);
  const WsTextStyle small = wsi_page_letters (WS_PAGE_SMALL, FALSE, WS_INK);
  json_t *record = inspection->wrong == NULL ? json_loads (inspection->record, 0, NULL) : NULL;
  g_autofree char *day = wsi_words_local (inspection->time, "%Y-%m-%d %H:%M");
  const WsNote *worse = wsi_archive_worse (inspection);
  g_autofree char *words = g_strconcat (
    day, " ", inspection->wrong != NULL ? _ (WS_PAGE_ALTERED) : _ (wsi_words_verdict (verdict)),
    wsi_notes_release (inspection) != NULL ? _ (", RELEASED") : "",
    worse != NULL ? _ (", NOW ") : "", worse != NULL ? _ (worse->now) : "",
    inspection->reground ? _ (", reground") : "",
    inspection->imported != NULL ? _ (", imported") : "", NULL);
  const double height = wsi_page_draw_small (page, what, record, x, width);
  WsPage below = *page;
  below.y += height + 1.0;
  wsi_page_put_fitting (&below, small, x, below.y, width, words);
  json_decref (record);
}

/* The newest. */
static void
put_pictures (WsPage *page, const WsPdfTool *tool)
{
  const double width =
    (wsi_page_inner_width (page) - (PICTURES_A_ROW - 1) * BETWEEN) / PICTURES_A_ROW;
  const double row = 0.75 * width + 1.5 * WS_PAGE_SMALL + BETWEEN;
  const gsize first = tool->n > MOST_PICTURES ? tool->n - MOST_PICTURES : 0;
  for (gsize i = first; i < tool->n; i++)
  {
    const gsize column = (i - first) % PICTURES_A_ROW;
    if (column == 0 && i > first)
      page->y += row;
    put_picture (page, &tool->pages[i], WS_PAGE_MARGIN + (double)column * (width + BETWEEN), width);
  }
  page->y += row;
}

/* ---- Regrinds, wear, capability ---------------------------------------------------------- */

static void
put_regrinds (WsPage *page, const WsHistory *history)
{
  g_autofree char *words = wsi_history_length_words (history);
  const guint n = history->regrinds->len, first = n > MOST_REGRINDS ? n - MOST_REGRINDS : 0;
  GString *list = g_string_new (NULL);
  for (guint i = first; i < n; i++)
  {
    const WsRegrind *regrind = &g_array_index (history->regrinds, WsRegrind, i);
    g_autofree char *day = wsi_words_local (regrind->time, "%Y-%m-%d");
    g_string_append_printf (list, "%s%s%s%s", i > first ? "; " : "", day,
                            regrind->grinder != NULL ? _ (" by ") : "",
                            regrind->grinder != NULL ? regrind->grinder : "");
    g_autofree char *took = wsi_number_format (regrind->took, 2);
    if (isfinite (regrind->took))
      g_string_append_printf (list, " (%s mm)", took);
  }
  wsi_page_put_heading (page, _ ("Length and regrinds"));
  wsi_page_put_paragraph (page, "", words);
  if (list->len > 0)
    wsi_page_put_paragraph (page, "", list->str);
  g_string_free (list, TRUE);
}

/* The view that measured it last. */
static char *
label_of (const WsPage *page, const WsPdfTool *tool, const char *name)
{
  for (gsize i = tool->n; i-- > 0;)
  {
    const WsInspection *inspection = tool->pages[i].inspection;
    if (page->style->lookup != NULL && inspection->view != NULL &&
        page->style->lookup (inspection->view, name) != NULL)
      return wsi_page_label (page, inspection->view, name);
  }
  return wsi_page_label (page, "", name);
}

static void
put_wear (WsPage *page, const WsPdfTool *tool, const WsHistory *history)
{
  if (history->wear->len == 0)
    return;
  wsi_page_put_heading (page, _ ("What wears it"));
  for (guint i = 0; i < MIN (history->wear->len, MOST_WEAR); i++)
  {
    const WsWear *wear = &g_array_index (history->wear, WsWear, i);
    g_autofree char *label = label_of (page, tool, wear->name);
    g_autofree char *words = wsi_history_wear_words (wear, label);
    wsi_page_put_paragraph (page, "•", words);
  }
}

static void
put_capability (WsPage *page, const WsPdfTool *tool, const GPtrArray *inspections,
                const WsHistory *history)
{
  guint n = 0;
  for (guint i = 0; i < history->wear->len && n < MOST_CAPABILITIES; i++)
  {
    const WsWear *wear = &g_array_index (history->wear, WsWear, i);
    WsTrend trend = { 0 };
    g_autoptr (GArray) points = wsi_history_trend (inspections, wear->name, &trend);
    g_autofree char *found = points->len > 0 ? wsi_trend_capability (&trend) : NULL;
    if (found == NULL)
      continue;
    g_autofree char *label = label_of (page, tool, wear->name);
    g_autofree char *words = g_strdup_printf ("%s: %s", label, found);
    if (n++ == 0)
      wsi_page_put_heading (page, _ ("Capability"));
    wsi_page_put_paragraph (page, "•", words);
  }
}

/* ---- The page ---------------------------------------------------------------------------- */

/* As large as the rest of the page allows. */
static void
put_chart (WsPage *page, const WsPdfTool *tool, const GPtrArray *inspections, const char *quantity)
{
  WsTrend trend = { 0 };
  const double room = page->height - WS_PAGE_BOTTOM - page->y - 4.0;
  if (quantity == NULL || room < LEAST_CHART)
    return;
  g_autoptr (GArray) points = wsi_history_trend (inspections, quantity, &trend);
  g_autofree char *title = label_of (page, tool, quantity);
  const double factor = fmin (wsi_page_inner_width (page) / WS_TREND_WIDTH, room / WS_TREND_HEIGHT);
  trend.title = title;
  if (points->len == 0 || page->dry)
    return;
  cairo_save (page->cr);
  cairo_translate (page->cr, 0.5 * (page->width - factor * WS_TREND_WIDTH), page->y + 4.0);
  cairo_scale (page->cr, factor, factor);
  wsi_trend_draw (page->cr, &trend);
  cairo_restore (page->cr);
}

static void
put_head (WsPage *page, const WsPdfTool *tool)
{
  const WsInspection *first = tool->pages[0].inspection;
  const WsInspection *last = tool->pages[tool->n - 1].inspection;
  g_autofree char *from = wsi_words_local (first->time, "%Y-%m-%d");
  g_autofree char *to = wsi_words_local (last->time, "%Y-%m-%d");
  g_autofree char *words =
    g_strdup_printf (_ ("%s, %u pictures from %s to %s%s%s"), _ (last->kind), (guint)tool->n, from,
                     to, tool->pages[tool->n - 1].state != NULL ? _ (". All views: ") : "",
                     tool->pages[tool->n - 1].state != NULL ? tool->pages[tool->n - 1].state : "");
  wsi_page_put_letterhead (page);
  wsi_page_begin (page, _ ("Tool history"), tool->tool);
  wsi_page_put_paragraph (page, "", words);
  page->y += 3.0;
}

static void
draw_tool (WsPage *page, const WsPdfTool *tool)
{
  g_autoptr (GPtrArray) inspections = g_ptr_array_new ();
  for (gsize i = 0; i < tool->n; i++)
    g_ptr_array_add (inspections, (gpointer)tool->pages[i].inspection);
  g_autoptr (WsHistory) history = wsi_history_new (inspections);
  const char *worst = history->wear->len > 0 ? g_array_index (history->wear, WsWear, 0).name : NULL;
  put_head (page, tool);
  put_pictures (page, tool);
  put_regrinds (page, history);
  put_wear (page, tool, history);
  put_capability (page, tool, inspections, history);
  put_chart (page, tool, inspections, tool->quantity != NULL ? tool->quantity : worst);
  wsi_page_end (page);
}

typedef struct
{
  const WsPdfTool *tools;
  gsize n;
} Tools;

static gboolean
draw_all (WsPage *page, gpointer data, GError **error)
{
  const Tools *tools = data;
  (void)error;
  for (gsize i = 0; i < tools->n; i++)
    draw_tool (page, &tools->tools[i]);
  return TRUE;
}

GBytes *
ws_pdf_history (const WsPdfTool *tools, gsize n, const WsPdfStyle *style, GError **error)
{
  Tools all = { tools, n };
  return wsi_paper_print (_ ("Tool history"), style, draw_all, &all, error);
}
