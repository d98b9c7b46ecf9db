#include "tool/drill/side/lip_burr.h"

#include "base/geometry.h"
#include "tool/silhouette.h"

/* Nearer to the axis the chisel edge begins. */
#define FROM 0.14

static int
by_along (gconstpointer a, gconstpointer b)
{
  const double one = ((const WsBurrPlace *)a)->along, other = ((const WsBurrPlace *)b)->along;
  return (one > other) - (one < other);
}

/* Of lip k from chisel edge to corner. */
static GArray *
read_places (const WsDrillPoint *point, guint k)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)point->outline->points->data;
  const WsDrillLip *lip = &point->lips[k];
  const WsPoint out = wsi_point (lip->side * sin (lip->half_angle), -cos (lip->half_angle));
  const double outward = wsi_line_distance (&lip->line, wsi_point (0, 1e6)) > 0 ? 1 : -1;
  GArray *places = g_array_new (FALSE, FALSE, sizeof (WsBurrPlace));
  for (guint i = 0; i < point->outline->points->len; i++)
  {
    const WsPoint p = point->uz[i];
    const double u = p.x * lip->side;
    if (points[i].on_frame || u < FROM * point->radius || u > 1.02 * point->radius ||
        p.y < lip->corner.y - 0.05 * point->radius)
      continue;
    const WsBurrPlace place = { wsi_point_dot (wsi_point_sub (p, point->apex), out),
                                outward * wsi_line_bowed_distance (&lip->line, p) };
    g_array_append_val (places, place);
  }
  g_array_sort (places, by_along);
  return places;
}

WsBurr
wsi_drill_burr (const WsDrillPoint *point, guint k)
{
  g_autoptr (GArray) places = read_places (point, k);
  return wsi_burr_read ((const WsBurrPlace *)(void *)places->data, places->len,
                        point->outline->blur_px, wsi_silhouette_point_u (point->outline),
                        point->lips[k].proud.u_offset);
}
