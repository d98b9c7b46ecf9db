#include "edge/sides.h"

#include <math.h>

/* One side of the outline as u over z in equal steps; NAN where not seen. */
typedef struct
{
  guint n;
  double z_low, step;
  double *u;
  double *slope;
} Side;

typedef struct
{
  double n, u, z;
} Sum;

static void
side_clear (Side *side)
{
  g_free (side->u);
  g_free (side->slope);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Side, side_clear)

/* Means of each step, moved to the step's middle by the slope between the neighbours. */
static void
side_from_sums (Sum *sums, Side *side)
{
  for (guint i = 0; i < side->n; i++)
    if (sums[i].n > 0)
    {
      sums[i].u /= sums[i].n;
      sums[i].z /= sums[i].n;
    }
  for (guint i = 0; i < side->n; i++)
  {
    side->u[i] = side->slope[i] = NAN;
    if (i == 0 || i + 1 == side->n || sums[i].n < 1 || sums[i - 1].n < 1 || sums[i + 1].n < 1)
      continue;
    const Sum a = sums[i - 1], b = sums[i + 1];
    const double run = b.z - a.z;
    if (!(run > 0.5 * side->step))
      continue;
    side->slope[i] = (b.u - a.u) / run;
    const double middle = side->z_low + (i + 0.5) * side->step;
    side->u[i] = sums[i].u + side->slope[i] * (middle - sums[i].z);
  }
}

static void
read_sides (const WsEdgePoint *points, guint n, const WsAxis *axis, double z_low, double z_high,
            double step, Side sides[2])
{
  const guint steps = (guint)MAX (0.0, (z_high - z_low) / step);
  g_autofree Sum *sums = g_new0 (Sum, 2 * (gsize)steps + 1);
  for (guint i = 0; i < n; i++)
  {
    if (points[i].on_frame)
      continue;
    const WsPoint p = wsi_axis_to_tool (axis, wsi_point (points[i].x, points[i].y));
    const double at = (p.y - z_low) / step;
    if (!(at >= 0) || at >= steps)
      continue;
    Sum *sum = &sums[(p.x > 0 ? steps : 0) + (guint)at];
    sum->n += 1;
    sum->u += p.x;
    sum->z += p.y;
  }
  for (guint k = 0; k < 2; k++)
  {
    sides[k] = (Side){ steps, z_low, step, g_new (double, steps + 1), g_new (double, steps + 1) };
    side_from_sums (sums + k * steps, &sides[k]);
  }
}

GArray *
wsi_both_sides (const WsEdgePoint *points, guint n, const WsAxis *axis, double z_low, double z_high,
                double step)
{
  g_auto (Side) left = { 0 };
  g_auto (Side) right = { 0 };
  Side sides[2];
  read_sides (points, n, axis, z_low, z_high, step, sides);
  left = sides[0];
  right = sides[1];

  GArray *both = g_array_sized_new (FALSE, FALSE, sizeof (WsBothSides), left.n);
  for (guint i = 0; i < left.n; i++)
  {
    if (isnan (left.u[i]) || isnan (right.u[i]))
      continue;
    const WsBothSides at = { z_low + (i + 0.5) * step, left.u[i], right.u[i], left.slope[i],
                             right.slope[i] };
    g_array_append_val (both, at);
  }
  return both;
}
