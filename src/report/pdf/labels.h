/*
 * Labels for tools and their boxes.
 */
#ifndef WS_REPORT_PDF_LABELS_H
#define WS_REPORT_PDF_LABELS_H

#include <whetsight/pdf.h>

G_BEGIN_DECLS

/* Borrowed. */
typedef struct
{
  const char *id;    /* also as a QR code, alone, so that any scanner types it */
  const char *words; /* "twist-drill 6.5 mm" */
} WsLabel;

/* Sheets of 3 x 8 labels, 63.5 mm x 33.9 mm on A4.  Errors: those of wsi_paper_print();
 * WS_ERROR_DATA for an id that is too long for a code.  The caller owns the bytes. */
GBytes *wsi_labels_print (const WsLabel *labels, gsize n, const WsPdfStyle *style, GError **error);

G_END_DECLS

#endif
