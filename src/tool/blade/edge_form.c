#include "tool/blade/edge_form.h"

#include <string.h>

#include "base/geometry.h"
#include "edge/notch.h"
#include "maths/stats.h"

double
wsi_blade_edge_noise (const WsBlade *blade, guint e)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const guint from = wsi_blade_begin (blade, e), to = MAX (wsi_blade_end (blade, e), from);
  g_autofree double *noise = g_new (double, to - from + 1);
  for (guint i = from; i < to; i++)
    noise[i - from] = points[i].noise;
  return to > from ? wsi_median (noise, to - from) : 0;
}

WsBladeScan
wsi_blade_scan (const WsBlade *blade, guint edge)
{
  const WsEdgePoint *points = wsi_blade_points (blade);
  const guint from = wsi_blade_begin (blade, edge), to = MAX (wsi_blade_end (blade, edge), from);
  g_autofree double *values = g_new (double, to - from + 1);
  for (guint i = from; i < to; i++)
    values[i - from] = (double)points[i].noise * (double)points[i].step;
  WsBladeScan scan = { to > from ? wsi_median (values, to - from) : 0, 0 };
  for (guint i = from; i < to; i++)
    values[i - from] = (double)points[i].step;
  scan.step = to > from ? wsi_median (values, to - from) : 0;
  return scan;
}

/* Running medians of so many points take the noise out of single ones but not the form. */
#define FORM_WINDOW 5

/* How much greater a mean of FORM_WINDOW neighbours scatters than if their noise were independent:
 * pictures that were sharpened, reduced or compressed have noise that goes on from pixel to
 * pixel. */
static double
alike (const double *d, guint n)
{
  double variance = 0, sum = 1;
  for (guint i = 0; i < n; i++)
    variance += d[i] * d[i];
  for (guint lag = 1; lag < FORM_WINDOW && variance > 0; lag++)
  {
    double product = 0;
    for (guint i = 0; i + lag < n; i++)
      product += d[i] * d[i + lag];
    sum += 2 * (1 - (double)lag / FORM_WINDOW) * product / variance;
  }
  return sqrt (MAX (sum, 1));
}

/* Distances of the points that count from the line, and their number. */
static double *
distances_of (const WsBladeEdge *edge, guint *m)
{
  const WsPoint *p = (const WsPoint *)(void *)edge->points->data;
  double *kept = g_new (double, edge->points->len + 1);
  *m = 0;
  for (guint i = 0; i < edge->points->len; i++)
    if (edge->used[i])
      kept[(*m)++] = wsi_line_distance (&edge->line, p[i]);
  return kept;
}

static double
peak_to_valley (const double *d, guint n)
{
  double scratch[FORM_WINDOW], low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i + FORM_WINDOW <= n; i += FORM_WINDOW / 2)
  {
    memcpy (scratch, d + i, sizeof (double) * FORM_WINDOW);
    const double middle = wsi_median (scratch, FORM_WINDOW);
    low = MIN (low, middle);
    high = MAX (high, middle);
  }
  return high > low ? high - low : 0;
}

double
wsi_blade_straightness (const WsBladeEdge *edge, double most, double *noise)
{
  guint m;
  g_autofree double *kept = distances_of (edge, &m);
  /* Of a median of normal values.  Form goes on from point to point as well. */
  const double scatter = edge->line.scatter;
  *noise =
    sqrt (0.5 * G_PI / FORM_WINDOW) * MIN (scatter, most) * (scatter <= most ? alike (kept, m) : 1);
  return peak_to_valley (kept, m);
}

/* Normal values of a front spread from peak to valley over about so many deviations. */
#define NOISE_RANGE 6.4

double
wsi_blade_short_waves (const WsBladeEdge *edge, double noise)
{
  guint n;
  g_autofree double *kept = distances_of (edge, &n);
  double low = HUGE_VAL, high = -HUGE_VAL;
  for (guint i = 0; i < n; i++)
  {
    low = MIN (low, kept[i]);
    high = MAX (high, kept[i]);
  }
  return n == 0 ? 0 : MAX (high - low - NOISE_RANGE * noise - peak_to_valley (kept, n), 0);
}

/* A mean over FORM_WINDOW points spreads as much as a Gaussian of this many: sqrt ((n^2 - 1) / 12).
 */
#define WINDOW_SPREAD 1.41

double
wsi_blade_softened (const WsBladeEdge *edge, double blur)
{
  guint n;
  g_autofree double *kept = distances_of (edge, &n);
  g_autofree double *smooth = g_new (double, n + 1);
  const double spread = hypot (blur, WINDOW_SPREAD);
  const guint reach = (guint)ceil (3 * spread);
  for (guint i = 0; i < n; i++)
  {
    double sum = 0, weights = 0;
    for (guint k = i > reach ? i - reach : 0; k < n && k <= i + reach; k++)
    {
      const double off = ((double)k - i) / spread, weight = exp (-0.5 * off * off);
      sum += weight * kept[k];
      weights += weight;
    }
    smooth[i] = sum / weights;
  }
  return MAX (peak_to_valley (kept, n) - peak_to_valley (smooth, n), 0);
}

/* A notch between the corners: what lies beyond their reach belongs to them. */
static gboolean
is_of_front (const WsBlade *blade, WsPoint p)
{
  return wsi_blade_is_clear (blade, WS_BLADE_FRONT, p);
}

static double
lift_of (const WsBlade *blade, const WsBladeNotch *seen)
{
  const WsLineFit *line = &blade->edges[WS_BLADE_FRONT].line;
  const WsEdgePoint *points = wsi_blade_points (blade);
  WsNotch notch;
  wsi_notch_begin (&notch, seen->depth, blade->outline->blur_px);
  for (guint i = blade->joints[0].after; i < blade->joints[1].before; i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    wsi_notch_add (&notch, wsi_point_dot (wsi_point_sub (p, seen->bottom), line->direction),
                   wsi_line_distance (line, p));
  }
  return wsi_notch_lift (&notch);
}

WsBladeNotch
wsi_blade_notch (const WsBlade *blade, double least)
{
  const WsLineFit *line = &blade->edges[WS_BLADE_FRONT].line;
  const WsEdgePoint *points = wsi_blade_points (blade);
  WsBladeNotch notch = { 0, 0, { 0, 0 }, { 0, 0 } };
  for (guint i = blade->joints[0].after; i < blade->joints[1].before; i++)
  {
    const WsPoint p = wsi_blade_place (&points[i]);
    const double depth = wsi_line_distance (line, p);
    if (depth > MAX (least, notch.depth) && is_of_front (blade, p))
    {
      notch.depth = depth;
      notch.bottom = p;
    }
  }
  if (notch.depth > 0)
  {
    const WsPoint outward = wsi_point (line->direction.y, -line->direction.x);
    notch.on_line = wsi_point_along (notch.bottom, notch.depth, outward);
    notch.lift = lift_of (blade, &notch);
  }
  return notch;
}
