/*
 * From loose segments to one chain; what the readers of nominal profiles share.
 */
#ifndef WS_CONTOUR_BUILD_H
#define WS_CONTOUR_BUILD_H

#include <whetsight/contour.h>

G_BEGIN_DECLS

/* Straight.  FALSE, and nothing is added, when it has no length. */
gboolean wsi_contour_add_line (GArray *segments, WsPoint from, WsPoint to);

/* About `centre` from `from` over `sweep`. */
gboolean wsi_contour_add_arc (GArray *segments, WsPoint centre, WsPoint from, double sweep);

/* From `from` to `to`; bulge = tan (sweep / 4), as DXF has it; 0 is a line. */
gboolean wsi_contour_add_bulge (GArray *segments, WsPoint from, WsPoint to, double bulge);

/* Puts segments end to end, turning them round where needed; open ones then run from left to right.
 * Takes over `segments`.  Errors: WS_ERROR_DATA. */
WsContour *wsi_contour_join (GArray *segments, const char *name, GError **error);

/* The other way along. */
void wsi_contour_turn_round (GArray *segments);

/* Readers.  `text` ends in a zero byte and holds no other. */
WsContour *wsi_contour_read_dxf (const char *text, const char *name, GError **error);
WsContour *wsi_contour_read_plain (const char *text, const char *name, GError **error);

G_END_DECLS

#endif
