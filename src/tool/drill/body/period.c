#include "tool/drill/body/period.h"

#include "base/geometry.h"
#include "edge/line.h"
#include "edge/mirror.h"
#include "maths/least_squares.h"
#include "maths/robust.h"
#include "maths/stats.h"
#include "tool/drill/first_axis.h"

/* A point, where one is seen, takes so many radii. */
#define POINT 1.3

/* Less of the body, in radii, shows no period. */
#define LEAST_BODY 4.0

/* Periods that are tried, in radii: helices of 8 to 52 degrees, half a lead. */
#define LEAST_PERIOD 2.4
#define MOST_PERIOD 22.0

/* Of a period so much must be seen twice, and how many samples a pair of stretches has at least. */
#define SEEN_TWICE 0.12
#define LEAST_PAIRS 40

#define MOST_SAMPLES 1600
/* Samples far off count at first, radii: a flank of a flute that doesn't fit yet must not be left
 * out. */
#define ROUNDS 16
#define WIDE 0.02
#define NARROWER 0.6

void
wsi_body_period_free (WsBodyPeriod *body)
{
  if (body == NULL)
    return;
  g_free (body->half);
  g_free (body->middle);
  g_free (body);
}

/* ---- The axis --------------------------------------------------------------------------- */

static const WsEdgePoint *
points_of (const WsOutline *outline)
{
  return (const WsEdgePoint *)(const void *)outline->points->data;
}

/* How many stretches of the outline lie on the picture's border. */
static guint
contacts (const WsOutline *outline)
{
  const WsEdgePoint *points = points_of (outline);
  const guint n = outline->points->len;
  guint runs = 0, since = n;
  for (guint i = 0; i < 2 * n; i++)
  {
    if (!points[i % n].on_frame)
      since++;
    else
    {
      runs += since > 10 && i >= n;
      since = 0;
    }
  }
  return runs;
}

/* Along the outline, either end first. */
static gboolean
long_axis (const WsOutline *outline, WsAxis *axis)
{
  const WsEdgePoint *points = points_of (outline);
  g_autoptr (GArray) places = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  WsLineFit line;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsPoint p = wsi_point (points[i].x, points[i].y);
    if (!points[i].on_frame)
      g_array_append_val (places, p);
  }
  if (!wsi_line_fit_total ((const WsPoint *)(const void *)places->data, places->len, &line))
    return FALSE;
  *axis = (WsAxis){ line.centre, line.direction };
  return TRUE;
}

static gboolean
find_axis (const WsOutline *outline, WsBodyPeriod *body, double *top, WsRefusal *refusal)
{
  WsAxis guesses[2];
  WsMirror mirror;
  body->point_seen = contacts (outline) == 1;
  if (body->point_seen ? wsi_drill_axis_guesses (outline, guesses, refusal) != 1
                       : !long_axis (outline, &guesses[0]))
    return FALSE;
  if (!wsi_drill_axis_search (outline, &guesses[0], &body->axis))
    body->axis = guesses[0];
  for (guint round = 0; round < 3; round++)
  {
    const WsDrillExtent e = wsi_drill_extent (outline, &body->axis);
    *top = e.z_high - (body->point_seen ? POINT : 0.05) * e.half_width;
    body->low = e.z_low + 0.05 * e.half_width;
    body->radius = e.half_width;
    if (*top - body->low < LEAST_BODY * e.half_width)
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                              "only %.1f diameters of the body are seen; show three or more",
                              (*top - body->low) / (2 * e.half_width));
    if (!wsi_mirror_fit (points_of (outline), outline->points->len, &body->axis, body->low, *top,
                         outline->spacing_px, &mirror))
      return wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                              "the outline is not symmetric about an axis: not two flutes");
    body->axis = mirror.axis;
  }
  body->u_offset = mirror.u_offset;
  return TRUE;
}

/* ---- Samples ------------------------------------------------------------------------------ */

static void
cross (const WsBodyPeriod *body, WsPoint p, WsPoint q, double *left, double *right)
{
  const double from = (MIN (p.y, q.y) - body->low) / body->step,
               to = (MAX (p.y, q.y) - body->low) / body->step;
  for (double k = MAX (ceil (from), 0); k <= to && k < body->n; k++)
  {
    const double z = body->low + k * body->step;
    const double u = p.x + (q.x - p.x) * (z - p.y) / (q.y - p.y);
    double *side = u < 0 ? &left[(guint)k] : &right[(guint)k];
    *side = isnan (*side) || fabs (u) > fabs (*side) ? u : *side;
  }
}

static void
sample (const WsOutline *outline, double top, WsBodyPeriod *body)
{
  const WsEdgePoint *points = points_of (outline);
  const guint n = outline->points->len;
  body->n = (guint)CLAMP (top - body->low, 100, MOST_SAMPLES);
  body->step = (top - body->low) / (body->n - 1);
  g_autofree double *left = g_new (double, body->n);
  g_autofree double *right = g_new (double, body->n);
  body->half = g_new (double, body->n);
  body->middle = g_new (double, body->n);
  for (guint k = 0; k < body->n; k++)
    left[k] = right[k] = NAN;
  for (guint i = 0; i < n; i++)
  {
    const WsEdgePoint *a = &points[i], *b = &points[(i + 1) % n];
    const WsPoint p = wsi_axis_to_tool (&body->axis, wsi_point (a->x, a->y)),
                  q = wsi_axis_to_tool (&body->axis, wsi_point (b->x, b->y));
    if (!a->on_frame && !b->on_frame && !b->after_gap && fabs (p.y - q.y) > 0)
      cross (body, p, q, left, right);
  }
  for (guint k = 0; k < body->n; k++)
  {
    body->half[k] = 0.5 * (right[k] - left[k]);
    body->middle[k] = 0.5 * (right[k] + left[k]);
  }
}

static double
half_at (const WsBodyPeriod *body, double z, double *slope)
{
  const double at = (z - body->low) / body->step;
  if (!(at >= 0) || at >= body->n - 1)
    return NAN;
  const guint k = (guint)at;
  *slope = (body->half[k + 1] - body->half[k]) / body->step;
  return body->half[k] + (at - k) * (body->half[k + 1] - body->half[k]);
}

/* ---- The period ----------------------------------------------------------------------------- */

/* Half of a drill's body is as wide as the other: a period is told by the rest.  Dirt takes less.
 */
#define MOST_OF 0.85

/* What most of |half (z + period) - half (z) - its median| stay below; HUGE_VAL where too little is
 * seen twice. */
static double
misfit (const WsBodyPeriod *body, double period)
{
  g_autofree double *off = g_new (double, body->n);
  guint n = 0;
  for (guint k = 0; k < body->n; k += 2)
  {
    double slope;
    const double there = half_at (body, body->low + k * body->step + period, &slope);
    if (isfinite (there - body->half[k]))
      off[n++] = there - body->half[k];
  }
  if (n < LEAST_PAIRS || 2 * n * body->step < SEEN_TWICE * period)
    return HUGE_VAL;
  const double middle = wsi_median (off, n);
  for (guint i = 0; i < n; i++)
    off[i] = fabs (off[i] - middle);
  return wsi_quantile (off, n, MOST_OF);
}

/* Twice the period fits as well: the shortest that fits nearly as well as the best, for steps that
 * may miss it by half. */
#define NEARLY 2.0
#define NEARLY_RADII 0.006

static gboolean
seek_period (WsBodyPeriod *body)
{
  double least = HUGE_VAL, last = HUGE_VAL, before = HUGE_VAL;
  const double step = 0.01 * body->radius;
  for (double p = LEAST_PERIOD * body->radius; p < MOST_PERIOD * body->radius; p += 2 * step)
    least = MIN (least, misfit (body, p));
  if (!(least < HUGE_VAL))
    return FALSE;
  const double most = NEARLY * least + NEARLY_RADII * body->radius;
  for (double p = LEAST_PERIOD * body->radius; p < MOST_PERIOD * body->radius; p += step)
  {
    const double now = misfit (body, p);
    if (last <= most && last <= before && last <= now)
    {
      body->period = p - step;
      return TRUE;
    }
    before = last;
    last = now;
  }
  return FALSE;
}

/* Both stretches must be alike nearly everywhere, in their sigma and radii. */
#define AGREES 4.0
#define AGREES_RADII 0.001

/* Period and taper by Gauss and Newton. */
static gboolean
refine_period (WsBodyPeriod *body)
{
  double sigma = HUGE_VAL, growth = 0;
  g_autofree double *off = g_new (double, body->n);
  for (guint round = 0; round < ROUNDS; round++)
  {
    WsLeastSquares sums;
    double x[2], inverse[4];
    guint n = 0;
    wsi_least_squares_init (&sums, 2);
    for (guint k = 0; k < body->n; k++)
    {
      double slope;
      const double there =
        half_at (body, body->low + k * body->step + body->period, &slope) - body->half[k];
      if (!isfinite (there))
        continue;
      const double rest = there - growth, row[2] = { slope, -1 };
      const double w =
        isfinite (sigma) ? wsi_tukey_weight (rest / (WS_TUKEY_REACH * MAX (sigma, 0.01))) : 1;
      off[n++] = fabs (rest);
      wsi_least_squares_add (&sums, row, -rest, w);
    }
    if (n < LEAST_PAIRS || !wsi_least_squares_solve (&sums, x, inverse))
      return FALSE;
    body->period += CLAMP (x[0], -0.05 * body->radius, 0.05 * body->radius);
    growth += x[1];
    body->sigma = MAX (wsi_absolute_sigma (off, n), 0.01);
    sigma = MAX (body->sigma, WIDE * body->radius * pow (NARROWER, round));
    /* Neighbouring samples share their pixels: some three of them make one. */
    body->u_period = body->sigma * sqrt (3 * inverse[0]);
    body->u_taper = body->sigma * sqrt (3 * inverse[3]) / body->period;
  }
  body->taper = growth / body->period;
  return misfit (body, body->period) < AGREES * body->sigma + AGREES_RADII * body->radius;
}

/* ---- Envelope, land, bow ----------------------------------------------------------------------
 */

/* A land is flat: within this of its neighbours, radii a radius, below the envelope by at most. */
#define FLAT 0.004
#define DEEPEST_LAND 0.05

static void
find_land (WsBodyPeriod *body)
{
  g_autofree double *all = g_new (double, body->n);
  guint n = 0;
  for (guint k = 0; k < body->n; k++)
    if (isfinite (body->half[k]))
      all[n++] = body->half[k];
  body->radius = wsi_quantile (all, n, 0.985);
  const guint reach = (guint)MAX (0.08 * body->radius / body->step, 2);
  n = 0;
  for (guint k = reach; k + reach < body->n; k++)
  {
    const double rise = fabs (body->half[k + reach] - body->half[k - reach]);
    const double below = body->radius - body->half[k];
    if (rise < FLAT * 2 * reach * body->step && below > 0.002 * body->radius &&
        below < DEEPEST_LAND * body->radius)
      all[n++] = body->half[k];
  }
  body->land = n > 0.08 * body->n ? wsi_median (all, n) : (double)NAN;
}

static gboolean
find_bow (WsBodyPeriod *body)
{
  const double mid = body->low + 0.5 * (body->n - 1) * body->step, span = body->n * body->step;
  double sigma = HUGE_VAL, x[3] = { 0 }, inverse[9];
  g_autofree double *off = g_new (double, body->n);
  for (guint round = 0; round < 5; round++)
  {
    WsLeastSquares sums;
    guint n = 0;
    wsi_least_squares_init (&sums, 3);
    for (guint k = 0; k < body->n; k++)
    {
      const double s = 2 * (body->low + k * body->step - mid) / span;
      const double row[3] = { 1, s, s * s };
      const double rest = body->middle[k] - x[0] - x[1] * s - x[2] * s * s;
      if (!isfinite (rest))
        continue;
      off[n++] = fabs (rest);
      const double w =
        isfinite (sigma) ? wsi_tukey_weight (rest / (WS_TUKEY_REACH * MAX (sigma, 0.02))) : 1;
      wsi_least_squares_add (&sums, row, body->middle[k], w);
    }
    if (n < LEAST_PAIRS || !wsi_least_squares_solve (&sums, x, inverse))
      return FALSE;
    sigma = wsi_absolute_sigma (off, n);
  }
  body->bow = fabs (x[2]);
  body->middle_rms = sigma;
  /* What a lean leaves of the middles goes with the flutes: a period's worth of samples is one. */
  body->u_bow = MAX (sigma, 0.02) * sqrt (inverse[8] * MAX (1, body->period / body->step / 4));
  return TRUE;
}

#define LEAST_RISE 0.03

static gboolean
has_flutes (const WsBodyPeriod *body)
{
  g_autofree double *all = g_new (double, body->n);
  guint n = 0;
  for (guint k = 0; k < body->n; k++)
    if (isfinite (body->half[k]))
      all[n++] = body->half[k];
  return n > 0 &&
         wsi_quantile (all, n, 0.97) - wsi_quantile (all, n, 0.03) > LEAST_RISE * body->radius;
}

/* Of the middles about a bow, px and radii; three flutes leave more. */
#define MOST_MIDDLE_PX 0.4
#define MOST_MIDDLE 0.005
#define MOST_SIGMA 0.01

WsBodyPeriod *
wsi_body_period_find (const WsOutline *outline, WsRefusal *refusal)
{
  g_autoptr (WsBodyPeriod) body = g_new0 (WsBodyPeriod, 1);
  double top;
  if (!find_axis (outline, body, &top, refusal))
  {
    if (refusal->reason == WS_RETAKE_NONE)
      wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW, "no length of a drill's body is seen");
    return NULL;
  }
  sample (outline, top, body);
  find_land (body);
  body->period = 2 * body->radius;
  const gboolean bowed = find_bow (body);
  if (!bowed || body->middle_rms > MOST_MIDDLE_PX + MOST_MIDDLE * body->radius)
  {
    wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                     "the outline is not symmetric about an axis: not two flutes");
    return NULL;
  }
  if (!has_flutes (body))
  {
    wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                     "the body is as wide everywhere: straight flutes, or none");
    return NULL;
  }
  if (!seek_period (body) || !refine_period (body) || body->sigma > MOST_SIGMA * body->radius)
  {
    wsi_refusal_set (refusal, WS_RETAKE_WRONG_VIEW,
                     "the flutes don't come again in the picture: show more than half a lead");
    return NULL;
  }
  find_bow (body);
  return g_steal_pointer (&body);
}
