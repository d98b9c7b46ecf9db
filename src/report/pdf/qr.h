/*
 * A text as a QR code (ISO/IEC 18004).
 */
#ifndef WS_REPORT_PDF_QR_H
#define WS_REPORT_PDF_QR_H

#include <glib.h>

#include "late/cairo.h"

G_BEGIN_DECLS

/* A square of `size` with its upper left corner at x, y, quiet zone included.  FALSE when the text
 * is too long for one. */
gboolean wsi_qr_draw (cairo_t *cr, const char *text, double x, double y, double size);

G_END_DECLS

#endif
