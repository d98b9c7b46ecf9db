/*
 * A printed page: text set from the top down, and what stands on every one.
 */
#ifndef WS_REPORT_PDF_PAGE_H
#define WS_REPORT_PDF_PAGE_H

#include <whetsight/pdf.h>

#include "base/size.h"
#include "report/canvas.h"

G_BEGIN_DECLS

/* Stands where a verdict would, of an inspection that was changed behind the archive's back. */
#define WS_PAGE_ALTERED N_ ("NOT AS IT WAS WRITTEN") /* in English; shown through _() */

/* All in points, 1/72 inch. */
#define WS_PAGE_MARGIN 42.0
#define WS_PAGE_TEXT 9.5
#define WS_PAGE_SMALL 7.5
#define WS_PAGE_CLAUSE 6.5 /* what a standard calls it */
#define WS_PAGE_ROW 1.45   /* of the letters' size */
#define WS_PAGE_FOOTER 26.0
#define WS_PAGE_BOTTOM 38.0 /* from the paper's lower edge to where what is set ends */

/* What is set on it runs on to further pages. */
typedef struct
{
  cairo_t *cr;
  const WsPdfStyle *style;
  double width, height; /* of the paper */
  gboolean dry;         /* nothing is drawn: only `y` and `number` move */
  double y;
  guint number, of;          /* of the page, from 1, and of all */
  const char *title, *right; /* what stands at its head; borrowed */
  cairo_surface_t *logo;     /* borrowed, or NULL */
  double letterhead;         /* of the next page's height, taken by the company's name */
} WsPage;

WsTextStyle wsi_page_letters (double size, gboolean bold, WsColour colour);

/* At x, in the style's `wrap` of width (0: one line); returns the height. */
double wsi_page_put (const WsPage *page, const WsTextStyle *style, double x, double y,
                     const char *text);

/* Whether a text of this style is no wider. */
gboolean wsi_page_fits (const WsPage *page, const WsTextStyle *style, double room,
                        const char *text);

/* Letters get smaller until the text fits its column. */
void wsi_page_put_fitting (const WsPage *page, WsTextStyle style, double x, double y, double room,
                           const char *text);

double wsi_page_inner_width (const WsPage *page);

/* A pale line across. */
void wsi_page_rule (const WsPage *page, double y);

/* Keeps the line that follows with it. */
void wsi_page_put_heading (WsPage *page, const char *text);

/* With the clause of a standard that asks for what follows, small at the right. */
void wsi_page_put_heading_by (WsPage *page, const char *text, const char *clause);

/* `bullet`: "" for none. */
void wsi_page_put_paragraph (WsPage *page, const char *bullet, const char *text);

/* The next page, with its head; its foot, and on to the next. */
void wsi_page_begin (WsPage *page, const char *title, const char *right);
void wsi_page_end (WsPage *page);

/* Goes on to another page with the same head where there is less than `height` left.  TRUE when it
 * did. */
gboolean wsi_page_make_room (WsPage *page, double height);

G_END_DECLS

#endif
