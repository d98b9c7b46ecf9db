/*
 * What lips turned out of the picture and an axis that leans toward the camera do to a drill's
 * quantities.
 */
#ifndef WS_TOOL_DRILL_SIDE_ALIGNMENT_H
#define WS_TOOL_DRILL_SIDE_ALIGNMENT_H

#include "tool/drill/lines.h"
#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* Budget lines of what follows from the lines. */
void wsi_drill_add_alignment_lines (const WsDrillEvidence *seen, const WsDrillLines *lines,
                                    WsQuantity *q[WS_DRILL_N_QUANTITIES]);

/* A budget line of what half the web, seen turned, moves. */
void wsi_drill_add_turn_line (const WsDrillEvidence *seen, double sensitivity,
                              WsQuantity *quantity);

G_END_DECLS

#endif
