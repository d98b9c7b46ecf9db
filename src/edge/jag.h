/* Whether an outline goes in steps, as that of a picture resized without smoothing. */
#ifndef WS_EDGE_JAG_H
#define WS_EDGE_JAG_H

#include "edge/outline.h"

G_BEGIN_DECLS

/* How far one in ten of the outline's points lies off the middle of its neighbours, px. */
double wsi_outline_jag (const WsOutline *outline);

G_END_DECLS

#endif
