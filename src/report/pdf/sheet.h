/*
 * Annotated sheets, read back to be printed.
 */
#ifndef WS_REPORT_PDF_SHEET_H
#define WS_REPORT_PDF_SHEET_H

#include <glib.h>

#include "late/cairo.h"

G_BEGIN_DECLS

/* The picture of a file, which anyone may have put into an archive: decoded in a process of its
 * own.  Errors: those of wsi_image_read_confined().  Free with cairo_surface_destroy(). */
cairo_surface_t *wsi_sheet_read (const char *path, GError **error);

G_END_DECLS

#endif
