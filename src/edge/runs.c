#include "edge/runs.h"

#include "base/geometry.h"
#include "maths/least_squares.h"

WsRunSums *
wsi_runs_new (const WsEdgePoint *points, guint n_points, guint stride, guint *n)
{
  /* Squares of coordinates near 0 lose no digits. */
  const WsEdgePoint *middle = &points[n_points / 2];
  *n = n_points / stride;
  WsRunSums *sums = g_new0 (WsRunSums, *n + 1);
  for (guint i = 0; i < *n; i++)
  {
    const double x = points[i * stride].x - middle->x, y = points[i * stride].y - middle->y;
    const WsRunSums *s = &sums[i];
    sums[i + 1] =
      (WsRunSums){ s->n + 1, s->x + x, s->y + y, s->xx + x * x, s->xy + x * y, s->yy + y * y };
  }
  return sums;
}

/* Moments about their own mean. */
static WsRunSums
central (const WsRunSums *sums, guint from, guint to)
{
  const WsRunSums *a = &sums[from], *b = &sums[to];
  const double n = b->n - a->n, x = (b->x - a->x) / n, y = (b->y - a->y) / n;
  const double xx = (b->xx - a->xx) - n * x * x, yy = (b->yy - a->yy) - n * y * y;
  const double xy = (b->xy - a->xy) - n * x * y;
  return (WsRunSums){ n, x, y, xx, xy, yy };
}

/* The smaller eigenvalue of their moments. */
double
wsi_runs_misfit (const WsRunSums *sums, guint from, guint to)
{
  const WsRunSums m = central (sums, from, to);
  return 0.5 * (m.xx + m.yy - hypot (m.xx - m.yy, 2 * m.xy));
}

/* Its line, in the direction of the walk. */
static WsRun
run_of (const WsEdgePoint *points, guint n_points, guint stride, const WsRunSums *sums, guint from,
        guint to)
{
  const WsRunSums m = central (sums, from, to);
  const WsEdgePoint *middle = &points[n_points / 2];
  const WsEdgePoint *first = &points[from * stride], *last = &points[(to - 1) * stride];
  const double angle = 0.5 * atan2 (2 * m.xy, m.xx - m.yy);
  WsRun run = { from, to, wsi_point (m.x + middle->x, m.y + middle->y),
                wsi_point (cos (angle), sin (angle)) };
  if (run.direction.x * (last->x - first->x) + run.direction.y * (last->y - first->y) < 0)
    run.direction = wsi_point (-run.direction.x, -run.direction.y);
  return run;
}

/* Where the best cut's last stretch begins, for every end (dynamic programming). */
static guint *
best_begins (const WsRunSums *sums, guint n, guint shortest, double price)
{
  guint *begin = g_new0 (guint, n + 1);
  g_autofree double *cost = g_new (double, n + 1);
  cost[0] = 0;
  for (guint to = 1; to <= n; to++)
  {
    cost[to] = HUGE_VAL;
    for (guint from = 0; from + shortest <= to; from++)
    {
      if (!isfinite (cost[from]))
        continue;
      const double total = cost[from] + price + wsi_runs_misfit (sums, from, to);
      if (total < cost[to])
      {
        cost[to] = total;
        begin[to] = from;
      }
    }
  }
  return begin;
}

GArray *
wsi_runs_cut (const WsEdgePoint *points, guint n_points, guint stride, guint shortest, double price)
{
  GArray *runs = g_array_new (FALSE, FALSE, sizeof (WsRun));
  guint n;
  g_autofree WsRunSums *sums = wsi_runs_new (points, n_points, stride, &n);
  if (n < shortest)
    return runs;
  g_autofree guint *begin = best_begins (sums, n, shortest, price);
  for (guint to = n; to > 0; to = begin[to])
  {
    const WsRun run = run_of (points, n_points, stride, sums, begin[to], to);
    g_array_prepend_val (runs, run);
  }
  return runs;
}

double
wsi_runs_bow_misfit (const WsEdgePoint *points, guint n)
{
  const WsPoint a = { points[0].x, points[0].y }, b = { points[n - 1].x, points[n - 1].y };
  const double length = wsi_point_distance (a, b);
  const WsPoint along = wsi_point ((b.x - a.x) / length, (b.y - a.y) / length);
  WsLeastSquares sums;
  double x[3], squares = 0, fitted = 0;
  wsi_least_squares_init (&sums, 3);
  for (guint i = 0; i < n; i++)
  {
    const WsPoint off = { points[i].x - a.x, points[i].y - a.y };
    const double t = 2 * wsi_point_dot (off, along) / length - 1;
    const double row[3] = { 1, t, 0.5 * (3 * t * t - 1) };
    const double d = wsi_point_cross (along, off);
    wsi_least_squares_add (&sums, row, d, 1);
    squares += d * d;
  }
  if (!wsi_least_squares_solve (&sums, x, NULL))
    return HUGE_VAL;
  for (guint k = 0; k < 3; k++)
    fitted += x[k] * sums.b[k];
  return MAX (squares - fitted, 0);
}
