#ifndef WS_REPORT_PDF_TABLE_H
#define WS_REPORT_PDF_TABLE_H

#include <jansson.h>

#include "report/pdf/page.h"

G_BEGIN_DECLS

/* Words for a quantity by its full name, as its view declares it.  Free with g_free(). */
char *wsi_page_label (const WsPage *page, const char *view, const char *name);

/* The record's quantities with limits and verdicts, and where limits come from. */
void wsi_page_put_table (WsPage *page, const WsInspection *inspection, const json_t *record);

G_END_DECLS

#endif
