#ifndef WS_REPORT_PNG_WRITER_H
#define WS_REPORT_PNG_WRITER_H

#include <glib.h>

#include "late/cairo.h"

G_BEGIN_DECLS

typedef struct
{
  const char *record;        /* UTF-8, or NULL */
  const char *creation_time; /* RFC 3339, or NULL */
  double mm_per_px;          /* of the surface; 0 when unknown */
  gboolean is_photograph; /* packed as what is smooth in colour, else as a silhouette or a chart */
} WsPngNotes;

#define WS_PNG_RECORD_KEYWORD "Whetsight Record"

/* An RGB24 surface as a PNG file's bytes, 8-bit RGB, sRGB.  Errors: WS_ERROR_INTERNAL.
 * The caller owns the result. */
GBytes *wsi_png_write (cairo_surface_t *surface, const WsPngNotes *notes, GError **error);

G_END_DECLS

#endif
