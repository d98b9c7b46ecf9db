#include "edge/circle.h"

#include "base/geometry.h"
#include "maths/stats.h"

#define MAX_ROUNDS 200

static WsPoint
mean_of (const WsPoint *points, guint n)
{
  WsPoint mean = { 0, 0 };
  for (guint i = 0; i < n; i++)
    mean = ws_point_along (mean, 1.0 / n, points[i]);
  return mean;
}

static double
sum_of_squares (const WsPoint *points, guint n, const WsCircle *circle)
{
  double sum = 0;
  for (guint i = 0; i < n; i++)
  {
    const double r = ws_point_distance (points[i], circle->centre) - circle->radius;
    sum += r * r;
  }
  return sum;
}

gboolean
ws_circle_fit_linear (const WsPoint *points, guint n, WsCircle *circle)
{
  if (n < 3)
    return FALSE;
  /* About the mean, or large coordinates would eat the digits. */
  const WsPoint mean = mean_of (points, n);
  double A[9] = { 0 }, b[3] = { 0 };
  for (guint i = 0; i < n; i++)
  {
    const WsPoint p = ws_point_sub (points[i], mean);
    const double row[3] = { 2 * p.x, 2 * p.y, 1 };
    for (guint j = 0; j < 3; j++)
    {
      for (guint k = 0; k < 3; k++)
        A[j * 3 + k] += row[j] * row[k];
      b[j] += row[j] * ws_point_dot (p, p);
    }
  }
  if (!ws_solve_spd (A, b, 3, FALSE))
    return FALSE;
  circle->centre = ws_point_add (mean, ws_point (b[0], b[1]));
  circle->radius = sqrt (MAX (b[2] + b[0] * b[0] + b[1] * b[1], 0));
  circle->squares = sum_of_squares (points, n, circle);
  return TRUE;
}

/* One damped step; FALSE when the equations can't be solved. */
static gboolean
step (const WsPoint *points, guint n, const WsCircle *from, double damping, WsCircle *to)
{
  double A[9] = { 0 }, b[3] = { 0 };
  for (guint i = 0; i < n; i++)
  {
    const WsPoint d = ws_point_sub (points[i], from->centre);
    const double distance = MAX (ws_point_length (d), 1e-12);
    const double J[3] = { -d.x / distance, -d.y / distance, -1 };
    for (guint j = 0; j < 3; j++)
    {
      for (guint k = 0; k < 3; k++)
        A[j * 3 + k] += J[j] * J[k];
      b[j] -= J[j] * (distance - from->radius);
    }
  }
  for (guint j = 0; j < 3; j++)
    A[j * 3 + j] *= 1 + damping;
  if (!ws_solve_spd (A, b, 3, FALSE))
    return FALSE;
  to->centre = ws_point_add (from->centre, ws_point (b[0], b[1]));
  to->radius = from->radius + b[2];
  to->squares = sum_of_squares (points, n, to);
  return TRUE;
}

gboolean
ws_circle_fit (const WsPoint *points, guint n, WsCircle *circle)
{
  if (!ws_circle_fit_linear (points, n, circle))
    return FALSE;
  double damping = 1e-3;
  for (guint round = 0; round < MAX_ROUNDS; round++)
  {
    WsCircle next;
    if (!step (points, n, circle, damping, &next))
      return FALSE;
    if (next.squares > circle->squares)
    {
      /* No better circle within rounding is the answer, too. */
      if (damping > 1e12)
        return TRUE;
      damping *= 10;
      continue;
    }
    const double moved = ws_point_distance (next.centre, circle->centre);
    *circle = next;
    damping *= 0.1;
    if (moved < 1e-12 * MAX (circle->radius, 1))
      return TRUE;
  }
  return FALSE;
}
