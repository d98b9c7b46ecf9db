/*
 * What stands proud of a drill's lips and corners: what it hides, and what is said about it.
 */
#ifndef WS_TOOL_DRILL_SIDE_PROUD_H
#define WS_TOOL_DRILL_SIDE_PROUD_H

#include "tool/drill/side/quantities.h"

G_BEGIN_DECLS

/* Does anything stand proud of lip k, and is it dirt rather than a wire edge? */
gboolean wsi_drill_is_proud (const WsDrillPoint *point, guint k);
gboolean wsi_drill_is_dirt (const WsDrillPoint *point, guint k);

/* Where something stands proud that makes a point look turned or misshapen; NULL: nowhere. */
const char *wsi_drill_proud_place (const WsDrillPoint *point);

/* FALSE, and the result a retake, when it hides the point's tip or more of a lip than can be made
 * up for by the rest. */
gboolean wsi_drill_gate_proud (const WsDrillPoint *point, WsResult *result);

/* When all quantities are known: forgets those it hides, holds the verdict then, and says where it
 * is and how high. */
void wsi_drill_report_proud (const WsDrillEvidence *seen, WsQuantity *q[WS_DRILL_N_QUANTITIES],
                             WsResult *result);

G_END_DECLS

#endif
