/*
 * What follows from lip lines, axis and envelope alone.
 */
#ifndef WS_TOOL_DRILL_SIDE_VALUES_H
#define WS_TOOL_DRILL_SIDE_VALUES_H

#include "tool/drill/lines.h"
#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* The quantities that follow from the lines, and the height of the corners' plane. */
#define WS_DRILL_CORNER_HEIGHT WS_DRILL_N_FROM_LINES
#define WS_DRILL_N_VALUES (WS_DRILL_N_FROM_LINES + 1)

/* Angles in rad, lengths and height in px. */
void wsi_drill_values (const WsDrillLines *lines, double out[WS_DRILL_N_VALUES]);

G_END_DECLS

#endif
