/*
 * What stands on a drill's lip, read from the outline.
 */
#ifndef WS_TOOL_DRILL_SIDE_LIP_BURR_H
#define WS_TOOL_DRILL_SIDE_LIP_BURR_H

#include "edge/burr.h"
#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* What stands highest above lip line k from chisel edge to corner, noise and all; lengths count
 * along the lip from the apex on. */
WsBurr wsi_drill_burr (const WsDrillPoint *point, guint k);

G_END_DECLS

#endif
