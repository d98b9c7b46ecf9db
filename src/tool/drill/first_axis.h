/*
 * The axis of a drill's silhouette, near enough to start from.
 */
#ifndef WS_TOOL_DRILL_FIRST_AXIS_H
#define WS_TOOL_DRILL_FIRST_AXIS_H

#include "base/refusal.h"
#include "edge/mirror.h"
#include "edge/outline.h"

G_BEGIN_DECLS

/* Axes from where the outline leaves the picture, or, when it lies wholly within, along it, either
 * end taken for the point.  How many there are; 0 with the reason when it leaves at more than one
 * place. */
guint wsi_drill_axis_guesses (const WsOutline *outline, WsAxis guesses[2], WsRefusal *refusal);

/* The direction about `guess` in which the body is most nearly mirror-symmetric; FALSE without. */
gboolean wsi_drill_axis_search (const WsOutline *outline, const WsAxis *guess, WsAxis *best);

typedef struct
{
  double z_low, z_high; /* of the outline off the border */
  double half_width;    /* 95 % quantile of |u - median u| */
} WsDrillExtent;

WsDrillExtent wsi_drill_extent (const WsOutline *outline, const WsAxis *axis);

G_END_DECLS

#endif
