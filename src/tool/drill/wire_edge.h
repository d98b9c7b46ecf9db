/*
 * What stands proud of a drill's lips: wire edges, and what clings to them.
 */
#ifndef WS_TOOL_DRILL_WIRE_EDGE_H
#define WS_TOOL_DRILL_WIRE_EDGE_H

#include "tool/drill/point.h"

G_BEGIN_DECLS

/* Looks along lip k from chisel edge to corner. */
WsWireEdge wsi_wire_edge_find (const WsDrillPoint *point, guint k);

G_END_DECLS

#endif
