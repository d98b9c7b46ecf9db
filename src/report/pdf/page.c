#include "report/pdf/page.h"

#include "base/geometry.h"
#include "report/words.h"

#define TITLE 15.0

/* Letters are measured by a screen's rules and printed without: a little wider (own trials). */
#define PRINTED_WIDER 1.05

WsTextStyle
wsi_page_letters (const WsPage *page, double size, gboolean bold, WsColour colour)
{
  return (WsTextStyle){ .size = size * page->scale, .bold = bold, .colour = colour };
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
  const WsTextStyle style = wsi_page_letters (page, WS_PAGE_TEXT, TRUE, WS_INK);
  page->y += 5.0 * page->scale;
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, text) + 1.0;
}

void
wsi_page_put_paragraph (WsPage *page, const char *bullet, const char *text)
{
  WsTextStyle style = wsi_page_letters (page, WS_PAGE_TEXT, FALSE, WS_INK);
  const double indent = *bullet != '\0' ? 10.0 * page->scale : 0.0;
  if (*bullet != '\0')
    wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, bullet);
  style.wrap = wsi_page_inner_width (page) - indent;
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN + indent, page->y, text) + 1.0;
}

/* ---- Head and foot ------------------------------------------------------------------------- */

void
wsi_page_draw_title (WsPage *page, const char *title, const char *right)
{
  const WsPage full = { page->cr, page->style, page->width, page->height, 1.0, page->dry, 0.0 };
  const WsTextStyle style = wsi_page_letters (&full, TITLE, TRUE, WS_INK);
  WsTextStyle small = wsi_page_letters (&full, WS_PAGE_TEXT, FALSE, WS_GREY);
  small.across = WS_END;
  wsi_page_put (&full, &style, WS_PAGE_MARGIN, WS_PAGE_MARGIN - 14.0, title);
  wsi_page_put (&full, &small, page->width - WS_PAGE_MARGIN, WS_PAGE_MARGIN - 8.0, right);
  page->y = WS_PAGE_MARGIN + 10.0;
}

void
wsi_page_draw_footer (const WsPage *page, guint number, guint of)
{
  const WsPage full = { page->cr, page->style, page->width, page->height, 1.0, page->dry, 0.0 };
  WsTextStyle style = wsi_page_letters (&full, WS_PAGE_SMALL, FALSE, WS_GREY);
  const double y = page->height - WS_PAGE_FOOTER;
  g_autofree char *time = wsi_words_local_time (page->style->time);
  g_autofree char *left = g_strdup_printf ("whetsight %s · printed %s", WS_VERSION, time);
  g_autofree char *right = g_strdup_printf ("page %u of %u", number, of);
  wsi_page_put (&full, &style, WS_PAGE_MARGIN, y, left);
  style.across = WS_END;
  wsi_page_put (&full, &style, page->width - WS_PAGE_MARGIN, y, right);
}
