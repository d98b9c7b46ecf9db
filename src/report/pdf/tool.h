#ifndef WS_REPORT_PDF_TOOL_H
#define WS_REPORT_PDF_TOOL_H

#include "report/pdf/page.h"

G_BEGIN_DECLS

/* One inspection's pages.  FALSE and WS_ERROR_DATA when its record is none. */
gboolean wsi_page_draw_tool (WsPage *page, const WsPdfPage *what, GError **error);

G_END_DECLS

#endif
