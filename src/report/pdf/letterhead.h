#ifndef WS_REPORT_PDF_LETTERHEAD_H
#define WS_REPORT_PDF_LETTERHEAD_H

#include "report/pdf/page.h"

G_BEGIN_DECLS

/* The company's name, address and logo at the head of the page that is begun next; nothing where
 * none of them is known. */
void wsi_page_put_letterhead (WsPage *page);

G_END_DECLS

#endif
