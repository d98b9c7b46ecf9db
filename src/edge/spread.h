/*
 * The shape of the outline's edge spread: what tells a picture whose tones were changed.
 */
#ifndef WS_EDGE_SPREAD_H
#define WS_EDGE_SPREAD_H

#include "edge/outline.h"

G_BEGIN_DECLS

/* Averaged along the outline where it is straight and clear. */
WsEdgeSpread wsi_edge_spread (const WsImage *image, const WsOutline *outline);

G_END_DECLS

#endif
