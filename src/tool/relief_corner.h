/*
 * Where flank, margin and flute meet: the outer corner in `drill-relief`, roughly.
 */
#ifndef WS_TOOL_RELIEF_CORNER_H
#define WS_TOOL_RELIEF_CORNER_H

#include "tool/relief_axis.h"

G_BEGIN_DECLS

typedef struct
{
  WsPoint place;    /* px */
  double fall;      /* of the flank's edge away from the corner, rad below the square of the axis */
  double lip, lead; /* directions of the lip and of the margin's leading edge, rad from there */
  double score;     /* greater for what looks more like a corner */
} WsReliefCorner;

#define WS_RELIEF_CANDIDATES 6

/* The best candidates, best first; returns how many.  `plane` has some 480 cells across. */
guint ws_relief_corners_find (const WsReliefPlane *plane, const WsReliefAxis *axis,
                              WsReliefCorner corners[WS_RELIEF_CANDIDATES]);

G_END_DECLS

#endif
