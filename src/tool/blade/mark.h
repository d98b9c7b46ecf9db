/*
 * What is drawn of a blade's edges, for all views of blades.
 */
#ifndef WS_TOOL_BLADE_MARK_H
#define WS_TOOL_BLADE_MARK_H

#include <whetsight/result.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* The line of an edge (WS_BLADE_LEFT …) from corner to corner, or to where it leaves the picture,
 * and the stretches it rests on; `label` may be NULL. */
void wsi_blade_mark_edge (const WsBlade *blade, guint edge, const char *label, WsResult *result);

G_END_DECLS

#endif
