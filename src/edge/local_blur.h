/*
 * How blurred an outline is at one place: a tool that lies aslant is sharp at one end only.
 */
#ifndef WS_EDGE_LOCAL_BLUR_H
#define WS_EDGE_LOCAL_BLUR_H

#include "edge/outline.h"

G_BEGIN_DECLS

/* Standard deviation of the edge spread, px, by the points that are `from` to `to` px off a place,
 * beside a corner, say; the whole outline's where they are too few to tell. */
double wsi_outline_blur_near (const WsImage *image, const WsOutline *outline, WsPoint place,
                              double from, double to);

G_END_DECLS

#endif
