/*
 * The wire edge of a tool seen from the side, end-on at its tip.
 */
#ifndef WS_TOOL_BLADE_SIDE_BURR_H
#define WS_TOOL_BLADE_SIDE_BURR_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/result.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* What hangs at corner `tip`: 0 where it would show and doesn't, unknown where it may be dirt. Says
 * what is there; TRUE where it hides how round the edge is. */
gboolean wsi_blade_side_add_burr (const WsBlade *blade, const WsImage *image, guint tip,
                                  const WsOptics *optics, WsQuantity *height, WsResult *result);

G_END_DECLS

#endif
