/*
 * Where the flanks of a drill's point seen from the end meet its margins.
 */
#ifndef WS_TOOL_DRILL_END_RIM_H
#define WS_TOOL_DRILL_END_RIM_H

#include "tool/drill/end/picture.h"
#include "tool/drill/end/shape.h"

G_BEGIN_DECLS

/* Needs the lips' lines, and as the centre that of symmetry.  Sets the lips' corners and margins,
 * and the margins' circle.  FALSE when no corner with a margin is seen. */
gboolean wsi_end_circle_find (const WsEndPicture *picture, WsEndPoint *point);

/* The narrowest margin whose step is looked for, px along the periphery. */
double wsi_end_least_margin (const WsEndPoint *point);

G_END_DECLS

#endif
