/*
 * Both sides of an outline about an axis, height by height.
 */
#ifndef WS_EDGE_SIDES_H
#define WS_EDGE_SIDES_H

#include "edge/axis.h"
#include "edge/outline.h"

G_BEGIN_DECLS

/* One height of a tool's frame that is seen on both sides: u of the outline, and du/dz. */
typedef struct
{
  double z;
  double left, right;
  double left_slope, right_slope;
} WsBothSides;

/* Of the outline between z_low and z_high in steps of `step`; upward.  Free with g_array_unref().
 */
GArray *wsi_both_sides (const WsEdgePoint *points, guint n, const WsAxis *axis, double z_low,
                        double z_high, double step);

G_END_DECLS

#endif
