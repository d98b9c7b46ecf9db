/*
 * What the choice of the stretch makes of the direction of an edge that isn't straight.
 */
#ifndef WS_TOOL_FORM_STRETCH_H
#define WS_TOOL_FORM_STRETCH_H

#include "edge/chain.h"

G_BEGIN_DECLS

/*
 * Standard uncertainty of a line's direction, rad: a flank that is bowed or waved has another
 * direction over every stretch that one might as well have taken.  The line is fitted anew to the
 * piece less a third or a sixth at either end or both; how far these fits turn beyond what `u`, the
 * direction's standard uncertainty by noise, explains is the spread.  0 for a straight line.
 */
double wsi_form_stretch_u (const WsPoint *points, const WsChainPiece *piece, double u);

G_END_DECLS

#endif
