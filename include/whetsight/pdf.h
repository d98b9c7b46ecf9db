/*
 * Printed reports.
 */
#ifndef WHETSIGHT_PDF_H
#define WHETSIGHT_PDF_H

#include <whetsight/exchange.h>

G_BEGIN_DECLS

typedef enum
{
  WS_PAPER_A4,
  WS_PAPER_LETTER
} WsPaperSize;

typedef enum
{
  WS_LENGTHS_MM,        /* 6.4885 ± 0.0012 mm */
  WS_LENGTHS_MM_INCHES, /* … [0.25545 ± 0.00005 in] */
  WS_LENGTHS_INCHES_MM, /* the reverse */
  WS_LENGTHS_INCHES     /* inches alone */
} WsLengths;

/* One inspection; borrowed. */
typedef struct
{
  const WsInspection *inspection; /* with its record */
  const char *annotated;          /* path of the annotated PNG, or NULL */
  const char *original;           /* path of the picture as it was taken, or NULL */
  const char *regrind;            /* when the tool was reground, before and since; or NULL */
  const char *state;              /* what all views of the tool say of it, or NULL */
} WsPdfPage;

/* What stands on paper beside what was measured; borrowed, each NULL when nobody said. */
typedef struct
{
  const char *company, *address;
  const char *logo; /* path of a PNG, JPEG, TIFF or BMP */
  const char *customer, *order, *part;
} WsPdfShop;

typedef struct
{
  WsPaperSize paper;
  WsLengths lengths;
  WsQuantityLookup lookup;
  const char *time;      /* of printing, ISO 8601, UTC */
  const WsPdfShop *shop; /* or NULL */
} WsPdfStyle;

/* Each inspection on pages of its own: verdict, picture and what to do on the first, then
 * quantities, the decision rule, findings, equipment and calibration, id and hash as text and QR
 * code, and a line to sign unless it is a retake; of several, a summary comes first.  A picture
 * that was taken as a JPEG is one in the PDF.  Errors: WS_ERROR_DATA when a record is none, those
 * of reading the logo, WS_ERROR_INTERNAL.  The caller owns the bytes. */
GBytes *ws_pdf_report (const WsPdfPage *pages, gsize n_pages, const WsPdfStyle *style,
                       GError **error);

/* A tool's inspections in the order of time; borrowed. */
typedef struct
{
  const char *tool;
  const WsPdfPage *pages;
  gsize n;              /* above 0 */
  const char *quantity; /* whose trend is drawn; NULL: of what wears it */
} WsPdfTool;

/* A page a tool: its newest pictures, regrinds, what they took and what is left, what wears it,
 * capability, a trend.  Errors and the result as above. */
GBytes *ws_pdf_history (const WsPdfTool *tools, gsize n_tools, const WsPdfStyle *style,
                        GError **error);

G_END_DECLS

#endif
