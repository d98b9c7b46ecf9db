/*
 * A document from its first page to its last.
 */
#ifndef WS_REPORT_PDF_PAPER_H
#define WS_REPORT_PDF_PAPER_H

#include "report/pdf/page.h"

G_BEGIN_DECLS

/* Draws all pages; called twice, first dry. */
typedef gboolean (*WsPaperDraw) (WsPage *page, gpointer data, GError **error);

/* The PDF's bytes, owned by the caller.  Errors: those of `draw` and of reading the logo,
 * WS_ERROR_INTERNAL. */
GBytes *wsi_paper_print (const char *title, const WsPdfStyle *style, WsPaperDraw draw,
                         gpointer data, GError **error);

G_END_DECLS

#endif
