#include "edge/jag.h"

#include <math.h>
#include <stdlib.h>

/* Points further apart are no neighbours, px; a stretch of fewer says nothing. */
#define NEIGHBOURS_PX 2.5
#define LEAST_POINTS 40

static gboolean
are_neighbours (const WsEdgePoint *a, const WsEdgePoint *b, double most)
{
  return !a->on_frame && !b->on_frame && hypot (a->x - b->x, a->y - b->y) <= most;
}

static int
by_size (const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

double
wsi_outline_jag (const WsOutline *outline)
{
  const guint n = outline->points->len;
  const WsEdgePoint *p = (const WsEdgePoint *)(void *)outline->points->data;
  const double most = NEIGHBOURS_PX * MAX (outline->spacing_px, 1);
  g_autofree double *off = g_new (double, n + 1);
  guint found = 0;
  for (guint i = 1; i + 1 < n; i++)
  {
    if (!are_neighbours (&p[i - 1], &p[i], most) || !are_neighbours (&p[i], &p[i + 1], most))
      continue;
    const double dx = p[i].x - 0.5 * (p[i - 1].x + p[i + 1].x);
    const double dy = p[i].y - 0.5 * (p[i - 1].y + p[i + 1].y);
    off[found++] = fabs (dx * (double)p[i].nx + dy * (double)p[i].ny);
  }
  if (found < LEAST_POINTS)
    return 0;
  qsort (off, found, sizeof *off, by_size);
  return off[found * 9 / 10];
}
