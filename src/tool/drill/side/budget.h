/*
 * Drill points: quantities from lip lines, axis and envelope, and their uncertainty budgets.
 */
#ifndef WS_TOOL_DRILL_SIDE_BUDGET_H
#define WS_TOOL_DRILL_SIDE_BUDGET_H

#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* Values and budgets of what follows from lip lines, axis and envelope, and of the point's length,
 * but for the scale. */
void wsi_drill_fill_lines (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES]);

/* RMS of the lip's form beside its bowed line that noise doesn't explain, px. */
double wsi_drill_form_beside (const WsDrillLip *lip);

G_END_DECLS

#endif
