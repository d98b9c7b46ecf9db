#ifndef WS_REPORT_PDF_PICTURE_H
#define WS_REPORT_PDF_PICTURE_H

#include <jansson.h>

#include "report/pdf/page.h"

G_BEGIN_DECLS

/* The picture out of the annotated sheet, as wide as the paper has room for; what stood around it
 * is set anew here. */
void wsi_page_draw_picture (WsPage *page, const WsPdfPage *what, const json_t *record);

/* The same small, at the page's x and y, `width` wide; returns the height that it takes. */
double wsi_page_draw_small (const WsPage *page, const WsPdfPage *what, const json_t *record,
                            double x, double width);

G_END_DECLS

#endif
