#include "edge/circle.h"

#include "base/geometry.h"
#include "maths/least_squares.h"
#include "maths/levenberg.h"

#define MAX_ROUNDS 200

/* Of a step that moves every point, relative to the radius. */
#define AT_REST 1e-12

static WsPoint
mean_of (const WsPoint *points, guint n)
{
  WsPoint mean = { 0, 0 };
  for (guint i = 0; i < n; i++)
    mean = wsi_point_along (mean, 1.0 / n, points[i]);
  return mean;
}

typedef struct
{
  const WsPoint *points;
  guint n;
} Points;

/* x: centre and radius. */
static double
squares_at (gconstpointer data, const double *x)
{
  const Points *points = data;
  double sum = 0;
  for (guint i = 0; i < points->n; i++)
  {
    const double r = wsi_point_distance (points->points[i], wsi_point (x[0], x[1])) - x[2];
    sum += r * r;
  }
  return sum;
}

gboolean
wsi_circle_fit_linear (const WsPoint *points, guint n, WsCircle *circle)
{
  if (n < 3)
    return FALSE;
  /* About the mean, or large coordinates would eat the digits. */
  const WsPoint mean = mean_of (points, n);
  WsLeastSquares sums;
  double b[3];
  wsi_least_squares_init (&sums, 3);
  for (guint i = 0; i < n; i++)
  {
    const WsPoint p = wsi_point_sub (points[i], mean);
    const double row[3] = { 2 * p.x, 2 * p.y, 1 };
    wsi_least_squares_add (&sums, row, wsi_point_dot (p, p), 1);
  }
  if (!wsi_least_squares_solve (&sums, b, NULL))
    return FALSE;
  circle->centre = wsi_point_add (mean, wsi_point (b[0], b[1]));
  circle->radius = sqrt (MAX (b[2] + b[0] * b[0] + b[1] * b[1], 0));
  const Points data = { points, n };
  const double x[3] = { circle->centre.x, circle->centre.y, circle->radius };
  circle->squares = squares_at (&data, x);
  return TRUE;
}

static void
add_equations (gconstpointer data, const double *x, double *JJ, double *Jr)
{
  const Points *points = data;
  for (guint i = 0; i < points->n; i++)
  {
    const WsPoint d = wsi_point_sub (points->points[i], wsi_point (x[0], x[1]));
    const double distance = MAX (wsi_point_length (d), 1e-12);
    const double J[3] = { d.x / distance, d.y / distance, 1 };
    wsi_normal_add (JJ, Jr, 3, J, distance - x[2], 1);
  }
}

gboolean
wsi_circle_fit (const WsPoint *points, guint n, WsCircle *circle)
{
  if (!wsi_circle_fit_linear (points, n, circle))
    return FALSE;
  const double rest = AT_REST * MAX (circle->radius, 1);
  const WsLevenberg problem = { 3, MAX_ROUNDS, rest * rest, squares_at, add_equations };
  const Points data = { points, n };
  double x[3] = { circle->centre.x, circle->centre.y, circle->radius };
  if (!wsi_levenberg_fit (&problem, &data, x, &circle->squares, NULL))
    return FALSE;
  circle->centre = wsi_point (x[0], x[1]);
  circle->radius = x[2];
  return TRUE;
}
