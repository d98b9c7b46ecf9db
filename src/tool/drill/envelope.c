#include "tool/drill/envelope.h"

#include "base/geometry.h"
#include "maths/stats.h"

typedef struct
{
  const WsOutline *outline;
  const WsPoint *uz; /* every outline point in the tool frame */
} Body;

/* Distances from the axis of outline points between two heights, as (distance, z). */
static GArray *
distances_between (const Body *body, double z_low, double z_high)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)body->outline->points->data;
  GArray *found = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < body->outline->points->len; i++)
    if (!points[i].on_frame && body->uz[i].y >= z_low && body->uz[i].y < z_high)
    {
      const WsPoint p = { fabs (body->uz[i].x), body->uz[i].y };
      g_array_append_val (found, p);
    }
  return found;
}

/* Greatest median distance in windows of `length` along the axis; 0 with too few points. */
static double
plateau_level (const Body *body, double z_low, double z_high, double length)
{
  g_autoptr (GArray) near = distances_between (body, z_low, z_high);
  g_autofree double *scratch = g_new (double, near->len + 1);
  double level = 0;
  for (double z = z_low; z + length <= z_high; z += 0.5 * length)
  {
    guint n = 0;
    for (guint i = 0; i < near->len; i++)
    {
      const WsPoint p = g_array_index (near, WsPoint, i);
      if (p.y >= z && p.y < z + length)
        scratch[n++] = p.x;
    }
    if (n >= 4)
      level = MAX (level, wsi_median (scratch, n));
  }
  return level;
}

/* Mean and its standard error of the points within `band` of `level`. */
static WsEnvelope
mean_near (const Body *body, double level, double band, double z_low, double z_high)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(const void *)body->outline->points->data;
  double n = 0, sum = 0, squares = 0;
  double margin_low = z_high;
  for (guint i = 0; i < body->outline->points->len; i++)
  {
    const double off = fabs (body->uz[i].x) - level;
    if (points[i].on_frame || body->uz[i].y < z_low || body->uz[i].y >= z_high || fabs (off) > band)
      continue;
    n += 1;
    sum += off;
    squares += off * off;
    margin_low = MIN (margin_low, body->uz[i].y);
  }
  const double mean = n > 0 ? sum / n : 0;
  /* Neighbouring points share what the ground margin does: count one in five. */
  const double u = n > 1 ? sqrt (MAX (squares / n - mean * mean, 1e-4) * 5 / n) : band;
  return (WsEnvelope){ level + mean, u, margin_low };
}

WsEnvelope
wsi_envelope_find (const WsOutline *outline, const WsPoint *uz, const WsPoint corners[2])
{
  const Body body = { outline, uz };
  const double rough = 0.5 * (fabs (corners[0].x) + fabs (corners[1].x));
  const double z_high = MAX (corners[0].y, corners[1].y) + 0.1 * rough;
  const double z_low = z_high - 1.3 * rough;
  const double level = plateau_level (&body, z_low, z_high, MAX (0.06 * rough, 4.0));
  const double scatter = outline->noise * outline->blur_px;
  const double band = MAX (0.35, 6 * scatter);
  const WsEnvelope whole = mean_near (&body, level, band, z_low, z_high);
  /* The plateau's lower end falls away gently: leave out its last third. */
  const double lip_end = MIN (corners[0].y, corners[1].y);
  const double z_from = whole.margin_low + MAX (0.0, lip_end - whole.margin_low) / 3;
  return mean_near (&body, whole.radius, band, z_from, z_high);
}
