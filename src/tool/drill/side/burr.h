/*
 * Wire edges of a drill's lips as quantities: how high they stand, and over how much of the lip.
 */
#ifndef WS_TOOL_DRILL_SIDE_BURR_H
#define WS_TOOL_DRILL_SIDE_BURR_H

#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* 0 where nothing stands proud, with the smallest that would have been seen; unknown where
 * something does that may be no wire edge, or where its place can't be seen. */
void wsi_drill_fill_burrs (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES]);

G_END_DECLS

#endif
