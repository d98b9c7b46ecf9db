#include "edge/even_run.h"

#include <math.h>

#include "base/geometry.h"

static double
length_of (const WsPoint *points, guint n)
{
  double length = 0;
  for (guint i = 1; i < n; i++)
    length += wsi_point_distance (points[i - 1], points[i]);
  return length;
}

static void
put_foremost_first (WsEvenRun *run)
{
  for (guint i = 1; i < run->n; i++)
    if (run->points[i].y < run->points[run->foremost].y)
      run->foremost = i;
  const WsPoint foremost = run->points[run->foremost];
  for (guint i = 0; i < run->n; i++)
    run->points[i] = wsi_point_sub (run->points[i], foremost);
}

gboolean
wsi_even_run_make (WsEvenRun *run, const WsPoint *points, guint n_points, guint n)
{
  const double length = length_of (points, n_points);
  double passed = 0;
  guint made = 0;
  *run = (WsEvenRun){ .points = NULL };
  if (n_points < n / 4 || !(length > 0))
    return FALSE;
  run->spacing = length / (n - 1);
  run->points = g_new (WsPoint, n);
  for (guint i = 1; i < n_points; i++)
  {
    const double piece = wsi_point_distance (points[i - 1], points[i]);
    for (; made < n && made * run->spacing <= passed + piece; made++)
    {
      const double part = piece > 0 ? (made * run->spacing - passed) / piece : 0;
      run->points[made] =
        wsi_point_along (points[i - 1], part, wsi_point_sub (points[i], points[i - 1]));
    }
    passed += piece;
  }
  run->n = made;
  put_foremost_first (run);
  return TRUE;
}

void
wsi_even_run_clear (WsEvenRun *run)
{
  g_clear_pointer (&run->points, g_free);
}

double
wsi_even_run_height (const WsEvenRun *run)
{
  double most = 0;
  for (guint i = 0; i < run->n; i++)
    most = fmax (most, run->points[i].y);
  return most;
}

double
wsi_even_run_width (const WsEvenRun *run)
{
  double least = 0, most = 0;
  for (guint i = 0; i < run->n; i++)
  {
    least = fmin (least, run->points[i].x);
    most = fmax (most, run->points[i].x);
  }
  return most - least;
}

/* Of the way from one point to another: to its left, since the tool lies on the right. */
static WsPoint
normal_of (WsPoint from, WsPoint to)
{
  const WsPoint way = wsi_point_sub (to, from);
  const double length = wsi_point_length (way);
  return length > 0 ? wsi_point (way.y / length, -way.x / length) : wsi_point (0, 0);
}

WsPoint
wsi_even_run_normal (const WsEvenRun *run, guint i, guint reach)
{
  const guint from = i > reach ? i - reach : 0, to = MIN (i + reach, run->n - 1);
  return normal_of (run->points[from], run->points[to]);
}

gboolean
wsi_even_run_near (const WsEvenRun *run, WsPoint p, WsEvenNear *near)
{
  double best = INFINITY, best_part = 0;
  guint which = 0;
  for (guint i = 0; i + 1 < run->n; i++)
  {
    const WsPoint way = wsi_point_sub (run->points[i + 1], run->points[i]);
    const WsPoint off = wsi_point_sub (p, run->points[i]);
    const double square = wsi_point_dot (way, way);
    const double part = square > 0 ? CLAMP (wsi_point_dot (off, way) / square, 0, 1) : 0;
    const WsPoint rest = wsi_point_along (off, -part, way);
    const double distance = wsi_point_dot (rest, rest);
    if (distance >= best)
      continue;
    best = distance;
    best_part = part;
    which = i;
  }
  if ((which == 0 && best_part <= 0) || (which + 2 == run->n && best_part >= 1))
    return FALSE;
  const WsPoint way = wsi_point_sub (run->points[which + 1], run->points[which]);
  near->at = wsi_point_along (run->points[which], best_part, way);
  near->normal = normal_of (run->points[which], run->points[which + 1]);
  near->inside = -wsi_point_dot (wsi_point_sub (p, near->at), near->normal);
  return isfinite (best);
}
