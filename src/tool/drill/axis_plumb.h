/*
 * How much a lens bends, told by a drill's axis.
 */
#ifndef WS_TOOL_DRILL_AXIS_PLUMB_H
#define WS_TOOL_DRILL_AXIS_PLUMB_H

#include "edge/plumb.h"
#include "tool/drill/point.h"

G_BEGIN_DECLS

/*
 * The mid-points of a two-flute body lie on a straight axis (edge/mirror.h), which radial
 * distortion (edge/plumb.h) bends where it doesn't go through the picture's middle; a skew and a
 * lean are fitted beside it.  Nothing is known, and u infinite, where it doesn't stand out.
 */
WsPlumb wsi_drill_axis_plumb (const WsDrillPoint *point, guint width, guint height);

G_END_DECLS

#endif
