#include "tool/blade/mark.h"

#include "result/build.h"
#include "tool/edge_marks.h"

void
wsi_blade_mark_edge (const WsBlade *blade, guint edge, const char *label, WsResult *result)
{
  const WsBladeEdge *e = &blade->edges[edge];
  const WsPoint *p = (const WsPoint *)(void *)e->points->data;
  const gboolean is_last = edge + 1 == blade->n_edges;
  const WsPoint begin =
    edge > 0 && !blade->joints[edge - 1].is_step ? blade->corners[edge - 1].place : p[0];
  const WsPoint end =
    !is_last && !blade->joints[edge].is_step ? blade->corners[edge].place : p[e->points->len - 1];
  /* From the front on: labels go near the first point. */
  const WsPoint ends[2] = { edge == 0 ? end : begin, edge == 0 ? begin : end };
  wsi_result_add_mark (result, WS_MARK_EDGE_LINE, label, ends, 2);
  wsi_mark_used (result, label, p, e->used, e->points->len, NULL);
}
