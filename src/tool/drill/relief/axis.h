/*
 * The drill's direction by the straight side of its round body.
 */
#ifndef WS_TOOL_DRILL_RELIEF_AXIS_H
#define WS_TOOL_DRILL_RELIEF_AXIS_H

#include "edge/line.h"
#include "tool/drill/relief/plane.h"

G_BEGIN_DECLS

/* A side that is shorter than this part of the picture's height is none. */
#define WS_RELIEF_LEAST_SIDE 0.11

typedef struct
{
  WsPoint foot;   /* on the body's side, px */
  WsPoint up;     /* unit, toward the point */
  WsPoint inward; /* unit, square to it, from the side into the body */
  double length;  /* of the side, px */
  double u;       /* standard uncertainty of the direction, rad */
  double scatter; /* px */
} WsReliefAxis;

/*
 * The lowest long straight stretch of the outline on one side of the picture, within 20 degrees of
 * upright: in parallel projection, and to a camera square to the axis, the side of a round body is
 * parallel to its axis.  `plane` has a pitch of 1.  `side` is 1 for the left of the picture and -1
 * for the right.  FALSE where there is none.
 */
gboolean wsi_relief_axis_find (const WsReliefPlane *plane, gint side, WsReliefAxis *axis);

G_END_DECLS

#endif
