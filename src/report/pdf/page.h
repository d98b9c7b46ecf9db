/*
 * A printed page: text set from the top down, and what stands on every one.
 */
#ifndef WS_REPORT_PDF_PAGE_H
#define WS_REPORT_PDF_PAGE_H

#include <whetsight/pdf.h>

#include "report/canvas.h"

G_BEGIN_DECLS

/* All in points, 1/72 inch. */
#define WS_PAGE_MARGIN 42.0
#define WS_PAGE_TEXT 8.5
#define WS_PAGE_SMALL 7.0
#define WS_PAGE_ROW 1.45 /* of the letters' size */
#define WS_PAGE_FOOTER 26.0

#define WS_MM_PER_INCH 25.4

typedef struct
{
  cairo_t *cr; /* NULL only while its heights are measured: see `dry` */
  const WsPdfStyle *style;
  double width, height; /* of the paper */
  double scale;         /* of letters */
  gboolean dry;         /* nothing is drawn; only `y` moves */
  double y;
} WsPage;

WsTextStyle wsi_page_letters (const WsPage *page, double size, gboolean bold, WsColour colour);

/* At x, in the style's `wrap` of width (0: one line); returns the height. */
double wsi_page_put (const WsPage *page, const WsTextStyle *style, double x, double y,
                     const char *text);

/* Letters get smaller until the text fits its column. */
void wsi_page_put_fitting (const WsPage *page, WsTextStyle style, double x, double y, double room,
                           const char *text);

double wsi_page_inner_width (const WsPage *page);

/* A pale line across. */
void wsi_page_rule (const WsPage *page, double y);

void wsi_page_put_heading (WsPage *page, const char *text);

/* `bullet`: "" for none. */
void wsi_page_put_paragraph (WsPage *page, const char *bullet, const char *text);

void wsi_page_draw_title (WsPage *page, const char *title, const char *right);
void wsi_page_draw_footer (const WsPage *page, guint number, guint of);

G_END_DECLS

#endif
