/*
 * How far the drill is turned in each picture, and the lead of its flutes, from the body's profile:
 * turned by an angle, it looks as if it were moved along its axis.
 */
#ifndef WS_TOOL_DRILL_ROLL_PHASE_H
#define WS_TOOL_DRILL_ROLL_PHASE_H

#include "tool/drill/roll/series.h"

G_BEGIN_DECLS

/* Sets phases, turns, lead, profile and radius; FALSE with the reason where the bodies don't fit
 * one another. */
gboolean wsi_roll_find_phases (WsRoll *roll, WsRefusal *refusal);

/* Half the width, and its slope by the height, at height z of a frame. */
double wsi_roll_profile_at (const WsRoll *roll, const WsRollFrame *frame, double z, double *slope);

G_END_DECLS

#endif
