#ifndef WS_REPORT_PDF_BASIS_H
#define WS_REPORT_PDF_BASIS_H

#include <jansson.h>

#include "report/pdf/page.h"

G_BEGIN_DECLS

/* What the results rest on: the rule they were decided by, the tool card, camera and calibration;
 * and what proves that this is the record, as text and as a QR code. */
void wsi_page_put_basis (WsPage *page, const WsInspection *inspection, const json_t *record);

/* Where somebody signs; a retake says nothing that one could sign for. */
void wsi_page_put_signature (WsPage *page, WsVerdict verdict);

G_END_DECLS

#endif
