/*
 * Drill points: what is drawn on the picture.
 */
#ifndef WS_TOOL_DRILL_SIDE_MARKS_H
#define WS_TOOL_DRILL_SIDE_MARKS_H

#include "tool/drill/point.h"

#include <whetsight/result.h>

G_BEGIN_DECLS

/* Axis, envelope, lips, corners and angles. */
void wsi_drill_mark (const WsDrillPoint *point, WsResult *result);

G_END_DECLS

#endif
