/*
 * What stands proud of a blade's front and sides: wire edges, and what clings to them.
 */
#ifndef WS_TOOL_BLADE_PROUD_H
#define WS_TOOL_BLADE_PROUD_H

#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "edge/burr.h"
#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Does something stand proud of an edge so near corner k that its rounding can't be seen? */
gboolean wsi_blade_hides_corner (const WsBlade *blade, guint k);

/* Does something stand proud of the front, so that what lies under it can't be seen? */
gboolean wsi_blade_hides_front (const WsBlade *blade);

/* The greatest wire edge of front and sides, 0 where none is seen, and what is said about it. */
void wsi_blade_plan_add_burr (const WsBlade *blade, const WsOptics *optics, WsQuantity *height,
                              WsQuantity *length, WsResult *result);

G_END_DECLS

#endif
