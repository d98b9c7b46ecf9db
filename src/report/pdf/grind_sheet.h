/*
 * What is to be ground, on a sheet that goes with the tool.
 */
#ifndef WS_REPORT_PDF_GRIND_SHEET_H
#define WS_REPORT_PDF_GRIND_SHEET_H

#include <jansson.h>
#include <whetsight/pdf.h>

G_BEGIN_DECLS

/* Borrowed. */
typedef struct
{
  const char *tool, *words;       /* its id; "twist-drill 6.5 mm" */
  const char *handed_by, *handed; /* who handed it over and when (ISO 8601), or NULL */
  const WsPdfPage *page;          /* the inspection that says what is to be ground, or NULL */
  const json_t *record;           /* its record, or NULL */
} WsGrindSheet;

/* Instructions and amounts in large letters, where they are in the picture, what was out of its
 * limits, cautions, and lines to fill in; the tool's id as a QR code.  Errors: those of
 * wsi_paper_print().  The caller owns the bytes. */
GBytes *wsi_grind_sheet_print (const WsGrindSheet *sheet, const WsPdfStyle *style, GError **error);

G_END_DECLS

#endif
