/*
 * The leading edges of a drill's margins, as the silhouette shows them below the corners.
 */
#ifndef WS_TOOL_DRILL_LEADING_EDGE_H
#define WS_TOOL_DRILL_LEADING_EDGE_H

#include "tool/drill/point.h"

G_BEGIN_DECLS

/* Rad.  Angles are taken about the axis from the plane of the silhouette. */
typedef struct
{
  double lip_end;   /* of the lips' outer ends, their mean: positive when the margin behind it still
                       covers   the silhouette */
  double u_lip_end; /* standard uncertainty */
  double ends[2];   /* each lip's own */
  double helix;     /* of the margin against the axis */
} WsLeadingEdge;

/*
 * Where a margin's leading edge has come round past the silhouette, it is itself the outline:
 * at R cos (rate (z0 - z)), with rate = tan (helix) / R.  Produced up to the lip this tells how
 * far the lip's end lies from the silhouette.  FALSE when too little of either edge is seen or
 * both disagree; `helix` is set all the same when both are seen, else NAN.
 */
gboolean wsi_leading_edge_trace (const WsDrillPoint *point, WsLeadingEdge *edge);

G_END_DECLS

#endif
