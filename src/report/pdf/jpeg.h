/*
 * Pictures as JPEG in a PDF.
 */
#ifndef WS_REPORT_PDF_JPEG_H
#define WS_REPORT_PDF_JPEG_H

#include <glib.h>

#include "late/cairo.h"

G_BEGIN_DECLS

/* Lets an RGB24 surface be written as a JPEG: by as high a quality as stays below the size that a
 * page may take.  FALSE when it can't be encoded; it is written without loss then. */
gboolean wsi_jpeg_attach (cairo_surface_t *surface);

G_END_DECLS

#endif
