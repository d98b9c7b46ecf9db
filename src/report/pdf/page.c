#include "report/pdf/page.h"

#include "base/geometry.h"
#include "base/language.h"
#include "report/words.h"

#define TITLE 15.0

/* Letters are measured by a screen's rules and printed without: a little wider (own trials). */
#define PRINTED_WIDER 1.05

WsTextStyle
wsi_page_letters (double size, gboolean bold, WsColour colour)
{
  return (WsTextStyle){ .size = size, .bold = bold, .colour = colour };
}

double
wsi_page_put (const WsPage *page, const WsTextStyle *style, double x, double y, const char *text)
{
  double width, height;
  wsi_canvas_measure (page->cr, style, text, &width, &height);
  if (!page->dry)
    wsi_canvas_text (page->cr, style, x, y, text);
  return height;
}

gboolean
wsi_page_fits (const WsPage *page, const WsTextStyle *style, double room, const char *text)
{
  double width, height;
  wsi_canvas_measure (page->cr, style, text, &width, &height);
  return width * PRINTED_WIDER <= room;
}

void
wsi_page_put_fitting (const WsPage *page, WsTextStyle style, double x, double y, double room,
                      const char *text)
{
  double width, height;
  wsi_canvas_measure (page->cr, &style, text, &width, &height);
  width *= PRINTED_WIDER;
  if (width > room)
    style.size *= room / width;
  wsi_page_put (page, &style, x, y, text);
}

double
wsi_page_inner_width (const WsPage *page)
{
  return page->width - 2.0 * WS_PAGE_MARGIN;
}

void
wsi_page_rule (const WsPage *page, double y)
{
  if (!page->dry)
    wsi_canvas_line (page->cr, WS_PALE, 0.6, wsi_point (WS_PAGE_MARGIN, y),
                     wsi_point (page->width - WS_PAGE_MARGIN, y));
}

void
wsi_page_put_heading (WsPage *page, const char *text)
{
  const WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, TRUE, WS_INK);
  wsi_page_make_room (page, 5.0 + 2.0 * WS_PAGE_ROW * WS_PAGE_TEXT);
  page->y += 5.0;
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, text) + 1.0;
}

void
wsi_page_put_heading_by (WsPage *page, const char *text, const char *clause)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_CLAUSE, FALSE, WS_GREY);
  wsi_page_put_heading (page, text);
  style.across = style.down = WS_END;
  wsi_page_put (page, &style, page->width - WS_PAGE_MARGIN, page->y - 2.0, clause);
}

void
wsi_page_put_paragraph (WsPage *page, const char *bullet, const char *text)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_INK);
  const double indent = *bullet != '\0' ? 10.0 : 0.0;
  double width, height;
  style.wrap = wsi_page_inner_width (page) - indent;
  wsi_canvas_measure (page->cr, &style, text, &width, &height);
  wsi_page_make_room (page, height);
  wsi_page_put (page, &style, WS_PAGE_MARGIN + indent, page->y, text);
  style.wrap = 0.0;
  if (*bullet != '\0')
    wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, bullet);
  page->y += height + 1.0;
}

/* ---- Head and foot ------------------------------------------------------------------------- */

void
wsi_page_begin (WsPage *page, const char *title, const char *right)
{
  const WsTextStyle style = wsi_page_letters (TITLE, TRUE, WS_INK);
  WsTextStyle small = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  small.across = WS_END;
  const double top = WS_PAGE_MARGIN + page->letterhead;
  wsi_page_put (page, &style, WS_PAGE_MARGIN, top - 14.0, title);
  wsi_page_put (page, &small, page->width - WS_PAGE_MARGIN, top - 8.0, right);
  page->title = title;
  page->right = right;
  page->number++;
  page->y = top + 10.0;
  page->letterhead = 0.0;
}

void
wsi_page_end (WsPage *page)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_SMALL, FALSE, WS_GREY);
  const double y = page->height - WS_PAGE_FOOTER;
  g_autofree char *time = wsi_words_local_time (page->style->time);
  g_autofree char *left = g_strdup_printf (_ ("whetsight %s · printed %s"), WS_VERSION, time);
  g_autofree char *right = g_strdup_printf (_ ("page %u of %u"), page->number, page->of);
  wsi_page_put (page, &style, WS_PAGE_MARGIN, y, left);
  style.across = WS_END;
  wsi_page_put (page, &style, page->width - WS_PAGE_MARGIN, y, right);
  if (!page->dry)
    cairo_show_page (page->cr);
}

gboolean
wsi_page_make_room (WsPage *page, double height)
{
  if (page->y + height <= page->height - WS_PAGE_BOTTOM)
    return FALSE;
  wsi_page_end (page);
  wsi_page_begin (page, page->title, page->right);
  return TRUE;
}
