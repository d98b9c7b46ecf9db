/*
 * The point of a two-flute drill in silhouette: axis, envelope, lips, corners.
 * Pixels and radians; the frame is that of the axis (edge/mirror.h): u across, z toward
 * the point.
 */
#ifndef WS_TOOL_DRILL_POINT_H
#define WS_TOOL_DRILL_POINT_H

#include "base/refusal.h"
#include "edge/line.h"
#include "edge/mirror.h"
#include "edge/outline.h"
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
  double from, to;            /* in radii from the axis */
  gboolean at_corner, at_tip; /* hides wear, or where the chisel edge ends */
  gboolean on_tip;            /* the chisel edge isn't as one: something is on it, or out of it */
} WsWireEdge;

typedef struct
{
  double side; /* -1 for lip a, left when the point is up; +1 for lip b */
  WsLineFit line;
  WsProud proud; /* what the line leaves out outside of it */
  WsWireEdge wire;
  double half_angle; /* rad, 0 .. pi/2 */
  WsPoint corner;    /* theoretical outer corner */
  double corner_gap; /* shortest distance from there to the outline */
  GArray *points;    /* of WsPoint: the outline in the lip's range, axis outward */
  guint8 *used;      /* for each point, 1 when the line rests on it */
  double hidden;     /* share of it where the outline has gaps */
} WsDrillLip;

typedef struct
{
  WsOutline *outline; /* borrowed */
  WsPoint *uz;        /* every outline point in the tool frame */
  WsMirror mirror;
  double radius; /* of the envelope */
  double u_radius;
  double bump[2];     /* what stands out of the envelope on lip a's side, lip b's; px */
  WsPoint tip;        /* foremost point of the outline */
  WsPoint apex;       /* where the lip lines meet */
  WsDrillLip lips[2]; /* a, b */
} WsDrillPoint;

/* NULL with the reason when the outline is not a measurable drill point.  Free with
 * wsi_drill_point_free(). */
WsDrillPoint *wsi_drill_point_locate (WsOutline *outline, WsRefusal *refusal);

/* Height of the foremost point in the tool frame, px: the mean of its near neighbours, against
 * noise. */
double wsi_drill_point_tip_height (const WsDrillPoint *point);

void wsi_drill_point_free (WsDrillPoint *point);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsDrillPoint, wsi_drill_point_free)

G_END_DECLS

#endif
