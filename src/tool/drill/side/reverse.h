/*
 * Two pictures of a drill's point, half a turn apart: what the camera's lean does to the lips has
 * the other sign in the second, and goes.  docs/methods/drill-roll.md, "Two pictures".
 */
#ifndef WS_TOOL_DRILL_SIDE_REVERSE_H
#define WS_TOOL_DRILL_SIDE_REVERSE_H

#include <whetsight/view.h>

G_BEGIN_DECLS

extern const WsSeriesView wsi_drill_reverse_series;

/* One picture is none of two: a retake. */
void wsi_drill_reverse_measure (const WsImage *image, const WsToolCard *card,
                                const WsOptics *optics, WsResult *result);

G_END_DECLS

#endif
