/*
 * How lengths and angles of a drill are told.  All is to be freed with g_free().
 */
#ifndef WS_TOOL_DRILL_SIDE_WORDS_H
#define WS_TOOL_DRILL_SIDE_WORDS_H

#include "tool/drill/side/facts.h"

G_BEGIN_DECLS

/* "0.085 mm"; without a scale "1.3 % of the diameter", or "8.4 px"; as exact as U allows. */
char *wsi_drill_say_length (const WsDrillFacts *drill, double length, double U);

/* "59.1°". */
char *wsi_drill_say_angle (double angle);

/* "0.085 ± 0.004 mm", and so on, of a quantity's size. */
char *wsi_drill_say_measured (const WsDrillFacts *drill, const WsQuantity *quantity);

G_END_DECLS

#endif
