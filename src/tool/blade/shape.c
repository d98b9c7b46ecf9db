#include "tool/blade/shape.h"

#include "base/geometry.h"

const WsEdgePoint *
wsi_blade_points (const WsBlade *blade)
{
  return (const WsEdgePoint *)(void *)blade->path->data;
}

WsPoint
wsi_blade_place (const WsEdgePoint *p)
{
  return wsi_point (p->x, p->y);
}

/* Distance of p from a corner's place along a direction. */
static double
run_from (const WsBladeCorner *corner, WsPoint p, WsPoint along)
{
  return wsi_point_dot (wsi_point_sub (p, corner->place), along);
}

/* Before edge `e`; 0 is where the first edge enters the picture. */
static gboolean
has_corner (const WsBlade *blade, guint e)
{
  return e > 0 && e < blade->n_edges && !blade->joints[e - 1].is_step;
}

guint
wsi_blade_begin (const WsBlade *blade, guint e)
{
  return e == 0 ? 0 : blade->joints[e - 1].after;
}

guint
wsi_blade_end (const WsBlade *blade, guint e)
{
  return e + 1 == blade->n_edges ? blade->path->len : blade->joints[e].before;
}

gboolean
wsi_blade_is_clear (const WsBlade *blade, guint e, WsPoint p)
{
  const WsPoint along = blade->edges[e].line.direction;
  if (has_corner (blade, e) &&
      run_from (&blade->corners[e - 1], p, along) < blade->corners[e - 1].reach[1])
    return FALSE;
  return !has_corner (blade, e + 1) ||
         -run_from (&blade->corners[e], p, along) >= blade->corners[e].reach[0];
}

double
wsi_blade_edge_length (const WsBladeEdge *edge)
{
  return edge->line.t_high - edge->line.t_low;
}

gboolean
wsi_blade_is_bowed (const WsBladeEdge *edge, double share)
{
  return 1.5 * fabs (edge->line.bow) > 1 + share * wsi_blade_edge_length (edge);
}
