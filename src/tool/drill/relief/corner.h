/*
 * Where flank, margin and flute meet: the outer corner in `drill-relief`, roughly.
 */
#ifndef WS_TOOL_DRILL_RELIEF_CORNER_H
#define WS_TOOL_DRILL_RELIEF_CORNER_H

#include "tool/drill/relief/axis.h"

G_BEGIN_DECLS

typedef struct
{
  WsPoint place;    /* px */
  double fall;      /* of the flank's edge away from the corner, rad below the square of the axis */
  double lip, lead; /* directions of the lip and of the margin's leading edge, rad from there */
  double score;     /* greater for what looks more like a corner */
} WsReliefCorner;

/* By all three edges, and by the flank's edge above all. */
#define WS_RELIEF_BY_ALL 6
#define WS_RELIEF_BY_EDGE 4
#define WS_RELIEF_CANDIDATES (WS_RELIEF_BY_ALL + WS_RELIEF_BY_EDGE)

/* The best candidates; returns how many.  `plane` has some 480 cells across. */
guint wsi_relief_corners_find (const WsReliefPlane *plane, const WsReliefAxis *axis,
                               WsReliefCorner corners[WS_RELIEF_CANDIDATES]);

G_END_DECLS

#endif
