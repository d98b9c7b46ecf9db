/*
 * Drill points: what is read off the outline beside the lip lines: chips, straightness, corner
 * wear, the chisel edge.
 */
#ifndef WS_TOOL_DRILL_SIDE_FORM_H
#define WS_TOOL_DRILL_SIDE_FORM_H

#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* Values and budgets, but for the scale, of corner wear, straightness, chips (with their marks),
 * chisel edge, and the view's turn. */
void wsi_drill_fill_form (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES],
                          WsResult *result);

G_END_DECLS

#endif
