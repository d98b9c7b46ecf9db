/*
 * The direction of a drill's lips by all that is seen of them.
 *
 * A lip line stands for a part of the lip, from WS_LIP_FROM to WS_LIP_TO.  The lip goes on beyond
 * both ends, and a ground lip's form is known well enough that what lies there tells the direction
 * of the part between (docs/methods/drill.md, (2a)).
 */
#ifndef WS_TOOL_DRILL_SIDE_WHOLE_LIP_H
#define WS_TOOL_DRILL_SIDE_WHOLE_LIP_H

#include "tool/drill/point.h"

G_BEGIN_DECLS

/* By how much each point of the outline, px outward, moves on the lips when pixels count by their
 * noise; 0 elsewhere.  Must come before perspective moves the outline.  Free with g_free(). */
double *wsi_whole_lips_weigh (const WsImage *image, const WsDrillPoint *point);

/* Turns each lip's line as the whole lip says, its points moved by `moves`, and sets what that
 * leaves uncertain.  A lip that isn't clean, or whose ends say something else, stays as it is. */
void wsi_whole_lips_direct (WsDrillPoint *point, const double *moves);

G_END_DECLS

#endif
