#include "side.h"

#include <math.h>

/* Along the lip from its corner toward the axis, and outward from it. */
static ScenePoint
to_lip (const LipLine *line, double radius, ScenePoint p)
{
  const double s = sin (line->half_angle), c = cos (line->half_angle);
  const double dx = p.x - radius, dy = p.y - line->corner_z;
  const ScenePoint q = { -s * dx + c * dy, c * dx + s * dy };
  return q;
}

static ScenePoint
from_lip (const LipLine *line, double radius, ScenePoint q)
{
  const double s = sin (line->half_angle), c = cos (line->half_angle);
  const ScenePoint p = { radius - s * q.x + c * q.y, line->corner_z + c * q.x + s * q.y };
  return p;
}

void
side_densify (GArray *side, double bottom, double step)
{
  GArray *dense = g_array_new (FALSE, FALSE, sizeof (ScenePoint));
  for (guint i = 0; i < side->len; i++)
  {
    const ScenePoint q = g_array_index (side, ScenePoint, i);
    if (i > 0 && q.y > bottom)
    {
      const ScenePoint p = g_array_index (side, ScenePoint, i - 1);
      const int n = (int)(hypot (q.x - p.x, q.y - p.y) / step);
      for (int k = 1; k < n; k++)
      {
        const ScenePoint m = { p.x + (q.x - p.x) * k / n, p.y + (q.y - p.y) * k / n };
        g_array_append_val (dense, m);
      }
    }
    g_array_append_val (dense, q);
  }
  g_array_set_size (side, 0);
  g_array_append_vals (side, dense->data, dense->len);
  g_array_unref (dense);
}

/* A ragged notch, 0 at t = -1 and 1. */
static double
notch (double t)
{
  if (fabs (t) >= 1.0)
    return 0.0;
  return pow (1.0 - t * t, 0.6) * (1.0 + 0.12 * sin (6.0 * t + 1.0) + 0.08 * sin (15.0 * t));
}

double
side_break_chip (GArray *side, const LipLine *line, double radius, const SceneChip *chip)
{
  if (!(chip->depth > 0.0 && chip->width > 0.0))
    return 0.0;
  double peak = 0.0;
  for (int i = -100; i <= 100; i++)
    peak = MAX (peak, notch (0.01 * i));
  const double middle = radius * (1.0 - chip->place) / sin (line->half_angle);
  side_densify (side, line->corner_z - 0.1 * radius, 0.001 * radius);
  double deepest = 0.0;
  for (guint i = 0; i < side->len; i++)
  {
    ScenePoint *p = &g_array_index (side, ScenePoint, i);
    if (p->y < line->corner_z - 0.1 * radius)
      break;
    ScenePoint q = to_lip (line, radius, *p);
    const double depth = chip->depth * notch (2.0 * (q.x - middle) / chip->width) / peak;
    if (!(depth > 0.0))
      continue;
    q.y -= depth;
    deepest = MAX (deepest, -q.y);
    *p = from_lip (line, radius, q);
  }
  return deepest;
}

void
side_round_corner (GArray *side, const LipLine *line, double radius, double rho)
{
  if (!(rho > 0.0))
    return;
  const ScenePoint corner = { radius, line->corner_z };
  const double tangent = rho / tan (0.5 * (G_PI - line->half_angle));
  const double bottom = corner.y - tangent;
  const ScenePoint centre = { radius - rho, bottom };
  side_densify (side, bottom - 0.01 * radius, 0.001 * radius);
  for (guint i = 0; i < side->len; i++)
  {
    ScenePoint *p = &g_array_index (side, ScenePoint, i);
    const double along = to_lip (line, radius, *p).x;
    if (along > tangent || p->y < bottom)
      continue;
    const double d = hypot (p->x - centre.x, p->y - centre.y);
    if (d <= rho)
      continue;
    p->x = centre.x + (p->x - centre.x) * rho / d;
    p->y = centre.y + (p->y - centre.y) * rho / d;
  }
}

double
side_distance (const GArray *side, ScenePoint c)
{
  double best = G_MAXDOUBLE;
  for (guint i = 0; i + 1 < side->len; i++)
  {
    const ScenePoint p = g_array_index (side, ScenePoint, i);
    const ScenePoint q = g_array_index (side, ScenePoint, i + 1);
    const double dx = q.x - p.x, dy = q.y - p.y;
    const double length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((c.x - p.x) * dx + (c.y - p.y) * dy) / length2 : 0.0;
    t = CLAMP (t, 0.0, 1.0);
    best = MIN (best, hypot (p.x + t * dx - c.x, p.y + t * dy - c.y));
  }
  return best;
}
