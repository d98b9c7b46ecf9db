#include "tool/blade/mark.h"

#include "result/build.h"

/* A stretch shorter than this would be a dot. */
#define MIN_STRETCH 6

/* The sound stretches of an edge, so that a chip shows as a gap. */
static void
mark_used (const WsBladeEdge *edge, const char *label, WsResult *result)
{
  const WsPoint *p = (const WsPoint *)(void *)edge->points->data;
  g_autoptr (GArray) run = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i <= edge->points->len; i++)
  {
    if (i < edge->points->len && edge->used[i])
    {
      g_array_append_val (run, p[i]);
      continue;
    }
    if (run->len >= MIN_STRETCH)
      ws_result_add_mark (result, WS_MARK_EDGE_USED, label, (WsPoint *)(void *)run->data, run->len);
    g_array_set_size (run, 0);
  }
}

void
ws_blade_mark_edge (const WsBlade *blade, guint edge, const char *label, WsResult *result)
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
  ws_result_add_mark (result, WS_MARK_EDGE_LINE, label, ends, 2);
  mark_used (e, label, result);
}
