/*
 * The shape of the outline's edge spread: what tells a picture whose tones were changed.
 */
#ifndef WS_EDGE_SPREAD_H
#define WS_EDGE_SPREAD_H

#include "edge/outline.h"

G_BEGIN_DECLS

/*
 * How far the light beside the edge, averaged along the outline, rises above the ground's, as a
 * part of the step; 0 up to what plain pictures and noise show.  Lenses and sensors only ever
 * spread an edge; sharpening lifts the light beside it, and since it acts on codes it moves the
 * edge as well. 0 where too little of the outline is straight and clear.
 */
double wsi_edge_overshoot (const WsImage *image, const WsOutline *outline);

G_END_DECLS

#endif
