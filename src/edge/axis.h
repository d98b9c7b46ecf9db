/*
 * A frame on a tool.
 */
#ifndef WS_EDGE_AXIS_H
#define WS_EDGE_AXIS_H

#include "base/geometry.h"

G_BEGIN_DECLS

/* u across, to the right when the point is up; z along the axis,
 * toward the point. */
typedef struct
{
  WsPoint origin;    /* px */
  WsPoint direction; /* unit, along +z, in the picture */
} WsAxis;

/* Picture to tool frame and back; WsPoint.x is u, WsPoint.y is z. */
static inline WsPoint
wsi_axis_to_tool (const WsAxis *axis, WsPoint p)
{
  const WsPoint d = wsi_point_sub (p, axis->origin);
  return wsi_point (wsi_point_cross (axis->direction, d), wsi_point_dot (axis->direction, d));
}

static inline WsPoint
wsi_axis_to_picture (const WsAxis *axis, WsPoint uz)
{
  const WsPoint across = wsi_point (-axis->direction.y, axis->direction.x);
  return wsi_point_along (wsi_point_along (axis->origin, uz.y, axis->direction), uz.x, across);
}

G_END_DECLS

#endif
