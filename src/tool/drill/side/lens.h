/*
 * What an uncertain calibration does to a drill's lines.
 */
#ifndef WS_TOOL_DRILL_SIDE_LENS_H
#define WS_TOOL_DRILL_SIDE_LENS_H

#include "tool/drill/lines.h"

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* The lines as they would have come out with `other` in place of `lens`: lips, the axis from the
 * body's sides, and the envelope all move. */
WsDrillLines wsi_drill_lens_seen (const WsLens *lens, const WsLens *other,
                                  const WsDrillPoint *point, const WsDrillLines *lines);

G_END_DECLS

#endif
