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
 * farther down; along each such land a body is equally wide, but for its back taper (up to 0.05 mm
 * on 100 mm: common practice, no source).  Radial distortion (edge/plumb.h) makes the place farther
 * from the picture's middle look wider or narrower.  The longest land is looked at; where none is
 * long, all short ones, each by its own slope, since behind their margins bodies are cleared.
 * Nothing is known, and u infinite, where the body shows none, or where they don't agree.
 */
WsPlumb wsi_drill_body_plumb (const WsDrillPoint *point, guint width, guint height);

G_END_DECLS

#endif
