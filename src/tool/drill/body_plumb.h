/*
 * How much a lens bends, told by a drill's body.
 */
#ifndef WS_TOOL_DRILL_BODY_PLUMB_H
#define WS_TOOL_DRILL_BODY_PLUMB_H

#include "edge/plumb.h"
#include "tool/drill/point.h"

G_BEGIN_DECLS

/*
 * The outline of a two-flute body touches the envelope behind the corners and again half a pitch
 * farther down; a body is as wide here as there, but for its back taper (up to 0.05 mm on 100 mm:
 * common practice, no source).  Radial distortion (edge/plumb.h) makes the place farther from the
 * picture's middle look wider or narrower.  Nothing is known, and u infinite, where the body shows
 * but one such place, or both equally far out.  Margins that are worn behind the corners look the
 * same as a lens.
 */
WsPlumb wsi_drill_body_plumb (const WsDrillPoint *point, guint width, guint height);

G_END_DECLS

#endif
