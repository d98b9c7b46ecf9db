/*
 * How lengths and angles of a drill are told.  All is to be freed with g_free().
 */
#ifndef WS_TOOL_DRILL_SIDE_WORDS_H
#define WS_TOOL_DRILL_SIDE_WORDS_H

#include "tool/drill/side/facts.h"

G_BEGIN_DECLS

/* "0.085 mm", without a scale by the card's diameter; without that "1.3 % of the diameter", or
 * "8.4 px"; as exact as U allows. */
char *wsi_drill_say_length (const WsDrillFacts *drill, double length, double U);

/* The length that is told of one that must come off: rounded up to the places that are told. */
double wsi_drill_told_length (const WsDrillFacts *drill, double length, double U);

/* The angle that is told. */
double wsi_drill_told_angle (double angle);

/* "59.1°". */
char *wsi_drill_say_angle (double angle);

/* "0.085 ± 0.004 mm", and so on, of a quantity's size. */
char *wsi_drill_say_measured (const WsDrillFacts *drill, const WsQuantity *quantity);

G_END_DECLS

#endif
