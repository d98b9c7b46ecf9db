/*
 * Marks that views of several tools draw alike.
 */
#ifndef WS_TOOL_EDGE_MARKS_H
#define WS_TOOL_EDGE_MARKS_H

#include <whetsight/result.h>

#include "edge/mirror.h"

G_BEGIN_DECLS

/* Each sound stretch of an edge apart, so that a chip shows as a gap.  `used` has 1 for each of the
 * n points that is sound; the points are in the frame of `axis`, or in the picture where it is
 * NULL. */
void wsi_mark_used (WsResult *result, const char *label, const WsPoint *points, const guint8 *used,
                    guint n, const WsAxis *axis);

/* An angle between an edge's end `angle[0]` and a direction that is no edge, to `angle[2]`, which
 * is drawn too; the vertex lies between. */
void wsi_mark_angle_to (WsResult *result, const char *stem, const WsPoint angle[3]);

G_END_DECLS

#endif
