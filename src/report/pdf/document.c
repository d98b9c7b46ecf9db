#include <whetsight/pdf.h>

#include "archive/note.h"
#include "archive/state.h"
#include "base/geometry.h"
#include "base/language.h"
#include "base/told_text.h"
#include "report/pdf/letterhead.h"
#include "report/pdf/page.h"
#include "report/pdf/paper.h"
#include "report/pdf/read.h"
#include "report/pdf/tool.h"
#include "report/words.h"

/* ---- The summary -------------------------------------------------------------------------- */

static void
put_counts (WsPage *page, const WsPdfPage *pages, gsize n)
{
  GString *words = g_string_new (NULL);
  guint altered = 0;
  g_string_append_printf (words, _ ("%u inspections"), (guint)n);
  for (int verdict = WS_VERDICT_ACCEPT; verdict <= WS_VERDICT_RETAKE; verdict++)
  {
    guint count = 0;
    for (gsize i = 0; i < n; i++)
      count += pages[i].inspection->wrong == NULL &&
               wsi_record_verdict (pages[i].inspection->verdict) == (WsVerdict)verdict;
    g_string_append_printf (words, "%s %u %s", verdict == WS_VERDICT_ACCEPT ? ":" : ",", count,
                            _ (ws_verdict_name ((WsVerdict)verdict)));
  }
  for (gsize i = 0; i < n; i++)
    altered += pages[i].inspection->wrong != NULL ? 1 : 0;
  if (altered > 0)
    g_string_append_printf (words, ", %u %s", altered, _ (WS_PAGE_ALTERED));
  wsi_page_put_paragraph (page, "", words->str);
  g_string_free (words, TRUE);
  page->y += 6.0;
}

/* Red words in place of tool, view and verdict. */
static void
put_wrong_row (WsPage *page, const WsInspection *inspection)
{
  const WsTextStyle style =
    wsi_page_letters (WS_PAGE_TEXT, TRUE, wsi_canvas_verdict_colour (WS_VERDICT_REJECT));
  g_autofree char *wrong = wsi_told_text (inspection->wrong);
  g_autofree char *words =
    g_strdup_printf ("%s %s: %s", inspection->id, _ (WS_PAGE_ALTERED), wrong);
  wsi_page_put_fitting (page, style, WS_PAGE_MARGIN, page->y, 0.9 * wsi_page_inner_width (page),
                        words);
}

static void
put_verdict_row (WsPage *page, const WsInspection *inspection)
{
  const WsVerdict verdict = wsi_record_verdict (inspection->verdict);
  const WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_INK);
  g_autofree char *time = wsi_words_local (inspection->time, "%Y-%m-%d %H:%M %Z");
  g_autofree char *view =
    g_strconcat (inspection->imported != NULL ? _ ("imported, ") : "", inspection->view, NULL);
  const double x = WS_PAGE_MARGIN, width = wsi_page_inner_width (page);
  wsi_page_put_fitting (page, style, x, page->y, 0.20 * width,
                        inspection->tool != NULL ? inspection->tool : _ ("no card"));
  wsi_page_put_fitting (page, style, x + 0.22 * width, page->y, 0.14 * width, _ (inspection->kind));
  wsi_page_put_fitting (page, style, x + 0.37 * width, page->y, 0.13 * width, view);
  wsi_page_put_fitting (page, style, x + 0.51 * width, page->y, 0.22 * width, time);
  if (!page->dry)
    wsi_canvas_verdict_shape (page->cr, verdict, wsi_point (x + 0.75 * width, page->y + 5.5), 4.0,
                              wsi_canvas_verdict_colour (verdict));
  const WsNote *worse = wsi_archive_worse (inspection);
  g_autofree char *word = g_strconcat (
    _ (wsi_words_verdict (verdict)), wsi_notes_release (inspection) != NULL ? _ (", RELEASED") : "",
    worse != NULL ? _ (", NOW ") : "", worse != NULL ? _ (worse->now) : "", NULL);
  wsi_page_put_fitting (page, style, x + 0.77 * width, page->y, 0.17 * width, word);
}

static void
put_summary_row (WsPage *page, const WsInspection *inspection, guint number)
{
  WsTextStyle last = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_INK);
  g_autofree char *text = g_strdup_printf ("%u", number);
  if (inspection->wrong != NULL)
    put_wrong_row (page, inspection);
  else
    put_verdict_row (page, inspection);
  last.across = WS_END;
  wsi_page_put (page, &last, WS_PAGE_MARGIN + wsi_page_inner_width (page), page->y, text);
  page->y += WS_PAGE_ROW * WS_PAGE_TEXT + 2.0;
  wsi_page_rule (page, page->y - 2.0);
}

/* `first`: the page of each inspection. */
static void
draw_summary (WsPage *page, const WsPdfPage *pages, gsize n, const guint *first)
{
  g_autofree char *time = wsi_words_local_time (page->style->time);
  wsi_page_put_letterhead (page);
  wsi_page_begin (page, _ ("Summary of inspections"), time);
  put_counts (page, pages, n);
  for (gsize i = 0; i < n; i++)
  {
    wsi_page_make_room (page, WS_PAGE_ROW * WS_PAGE_TEXT + 2.0);
    put_summary_row (page, pages[i].inspection, first[i]);
  }
  wsi_page_end (page);
}

/* ---- The document ------------------------------------------------------------------------ */

typedef struct
{
  const WsPdfPage *pages;
  gsize n;
  guint *first; /* filled with the page that each inspection begins on */
} Document;

static gboolean
draw_all (WsPage *page, gpointer data, GError **error)
{
  const Document *document = data;
  if (document->n > 1)
    draw_summary (page, document->pages, document->n, document->first);
  for (gsize i = 0; i < document->n; i++)
  {
    document->first[i] = page->number + 1;
    if (!wsi_page_draw_tool (page, &document->pages[i], error))
      return FALSE;
  }
  return TRUE;
}

GBytes *
ws_pdf_report (const WsPdfPage *pages, gsize n_pages, const WsPdfStyle *style, GError **error)
{
  g_autofree guint *first = g_new0 (guint, n_pages);
  Document document = { pages, n_pages, first };
  return wsi_paper_print (_ ("Inspection report"), style, draw_all, &document, error);
}
