#include "tool/form/runs.h"

#include "base/geometry.h"
#include "edge/line.h"

/* A closed outline is cut where its normal turns most over so many points. */
#define TURN_POINTS 12

static void
run_free (gpointer data)
{
  WsFormRun *run = data;
  g_free (run->points);
  g_free (run);
}

/* First point of the outline to start from: behind a stretch of frame, else the sharpest corner. */
static guint
first_point (const WsEdgePoint *points, guint n)
{
  for (guint i = 0; i < n; i++)
    if (points[i].on_frame && !points[(i + 1) % n].on_frame)
      return (i + 1) % n;
  guint best = 0;
  double least = HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *a = &points[i], *b = &points[(i + TURN_POINTS) % n];
    const double cosine = (double)(a->nx * b->nx + a->ny * b->ny);
    if (cosine < least)
    {
      least = cosine;
      best = (i + TURN_POINTS / 2) % n;
    }
  }
  return best;
}

GPtrArray *
wsi_form_runs (const WsOutline *outline)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  const guint n = outline->points->len, first = n > 0 ? first_point (points, n) : 0;
  GPtrArray *runs = g_ptr_array_new_with_free_func (run_free);
  g_autoptr (GArray) open = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i <= n; i++)
  {
    const WsEdgePoint *p = &points[(first + i) % MAX (n, 1)];
    if (i < n && !p->on_frame)
    {
      const WsPoint at = { p->x, p->y };
      g_array_append_val (open, at);
      continue;
    }
    if (open->len >= WS_LINE_MIN_POINTS)
    {
      WsFormRun *run = g_new (WsFormRun, 1);
      run->n = open->len;
      run->points = g_memdup2 (open->data, sizeof (WsPoint) * open->len);
      g_ptr_array_add (runs, run);
    }
    g_array_set_size (open, 0);
  }
  return runs;
}
