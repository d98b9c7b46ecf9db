/*
 * What stands proud of a drill's lips: wire edges, and what clings to them.
 */
#ifndef WS_TOOL_DRILL_WIRE_EDGE_H
#define WS_TOOL_DRILL_WIRE_EDGE_H

#include "edge/outline.h"
#include "tool/drill/lip.h"

G_BEGIN_DECLS

/* The outline in the tool frame, and the envelope's radius. */
typedef struct
{
  const WsOutline *outline;
  const WsPoint *uz;
  double radius;
  double tip_to; /* from the axis: where the lips have begun beyond doubt */
} WsWireSight;

/* Looks along a lip from chisel edge to corner. */
WsWireEdge wsi_wire_edge_find (const WsWireSight *sight, const WsDrillLip *lip);

G_END_DECLS

#endif
