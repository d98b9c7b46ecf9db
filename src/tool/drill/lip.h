/*
 * One lip of a drill's point in silhouette; pixels and radians, in the frame of the axis.
 */
#ifndef WS_TOOL_DRILL_LIP_H
#define WS_TOOL_DRILL_LIP_H

#include "edge/line.h"
#include "edge/proud.h"

G_BEGIN_DECLS

/* The lip line's range, in envelope radii from the axis: part of its definition. */
#define WS_LIP_FROM 0.24
#define WS_LIP_TO 0.90

/* What stands proud of a lip. */
typedef struct
{
  double height;              /* greatest, above the lip line, px; 0: nothing */
  WsPoint where;              /* there */
  double least;               /* lower ones aren't told from noise, px */
  double from, to;            /* in radii from the axis */
  double foremost;            /* of it, along the axis, px */
  gboolean at_corner, at_tip; /* hides wear, or where the chisel edge ends */
  gboolean on_tip;            /* the chisel edge isn't as one: something is on it, or out of it */
} WsWireEdge;

typedef struct
{
  double side; /* -1 for lip a, left when the point is up; +1 for lip b */
  WsLineFit line;
  WsProud proud; /* what the line leaves out outside of it */
  WsWireEdge wire;
  double half_angle;  /* rad, 0 .. pi/2 */
  WsPoint corner;     /* theoretical outer corner */
  double corner_gap;  /* shortest distance from there to the outline */
  GArray *points;     /* of WsPoint: the outline in the lip's range, axis outward */
  guint8 *used;       /* for each point, 1 when the line rests on it */
  double hidden;      /* share of it where the outline has gaps */
  double white_angle; /* standard uncertainty of the line's direction were the edge's scatter white,
                         rad; 0: as the line's own points tell */
} WsDrillLip;

G_END_DECLS

#endif
