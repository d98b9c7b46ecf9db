#include "tool/drill/envelope.h"

#include "base/geometry.h"
#include "maths/stats.h"

#include <string.h>

/* Windows along the body; two overlap by half. */
#define MAX_WINDOWS 80
#define MIN_WINDOW_POINTS 4

/* Sides that differ by more, px, aren't alike; where most of the body isn't, nothing can be told.
 * What stands out beyond what both have alike by more than a bump clings to its side; light from
 * the front, or a near camera, may do as much (rendered drills).  By less, it is in doubt: so much
 * of it is a standard uncertainty of the radius. */
#define ALIKE_PX 0.7
#define MIN_ALIKE 0.5
#define BUMP_PX 1.5
#define BUMP_LIT_PX 4.0
#define BUMP_DOUBT 0.6
#define BUMP_RISE_PX 1.2

/* A corner is rounded by blur up to so many blurs below it. */
#define CORNER_BLURS 3.0

typedef struct
{
  const WsOutline *outline;
  const WsPoint *uz; /* every outline point in the tool frame */
  double z_low, length;
  guint n;
  double middle[3][MAX_WINDOWS]; /* median distance, left, right and both; NAN: too few points */
  gboolean bumped[2][MAX_WINDOWS];
} Body;

static const WsEdgePoint *
points_of (const Body *body)
{
  return (const WsEdgePoint *)(const void *)body->outline->points->data;
}

static gboolean
is_bumped (const Body *body, WsPoint p)
{
  const double w = floor ((p.y - body->z_low) / (0.5 * body->length));
  return w >= 0 && w < body->n && body->bumped[p.x > 0][(guint)w];
}

/* Of both sides together. */
#define BOTH 2

/* Distances from the axis of outline points that no bump has, as (distance, z). */
static GArray *
distances_on (const Body *body, guint side, double z_high)
{
  GArray *found = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < body->outline->points->len; i++)
  {
    const WsPoint p = body->uz[i];
    if (!points_of (body)[i].on_frame && p.y >= body->z_low && p.y < z_high &&
        (side == BOTH || (p.x > 0) == side) && !is_bumped (body, p))
    {
      const WsPoint at = { fabs (p.x), p.y };
      g_array_append_val (found, at);
    }
  }
  return found;
}

/* Halves of windows, and some for rounding. */
#define N_HALVES (MAX_WINDOWS + 3)

static guint
half_of (const Body *body, WsPoint p)
{
  return (guint)CLAMP ((p.y - body->z_low) / (0.5 * body->length), 0, N_HALVES - 1);
}

/* The points in the order of the halves of windows that they lie in, of which k begins at from[k].
 */
static WsPoint *
by_halves (const Body *body, const GArray *near, guint from[N_HALVES + 1])
{
  const WsPoint *points = (const WsPoint *)(const void *)near->data;
  WsPoint *sorted = g_new (WsPoint, near->len + 1);
  guint next[N_HALVES + 1] = { 0 };
  for (guint i = 0; i < near->len; i++)
    next[half_of (body, points[i]) + 1]++;
  for (guint k = 0; k < N_HALVES; k++)
    next[k + 1] += next[k];
  memcpy (from, next, sizeof next);
  for (guint i = 0; i < near->len; i++)
    sorted[next[half_of (body, points[i])]++] = points[i];
  return sorted;
}

static void
read_side (Body *body, guint side, double z_high)
{
  g_autoptr (GArray) near = distances_on (body, side, z_high);
  g_autofree double *scratch = g_new (double, near->len + 1);
  guint from[N_HALVES + 1];
  g_autofree WsPoint *points = by_halves (body, near, from);
  for (guint w = 0; w < body->n; w++)
  {
    const double z = body->z_low + 0.5 * w * body->length;
    guint n = 0;
    /* A window is two halves; one more on either side, since sums are rounded. */
    for (guint i = from[w > 0 ? w - 1 : 0]; i < from[w + 3]; i++)
      if (points[i].y >= z && points[i].y < z + body->length)
        scratch[n++] = points[i].x;
    body->middle[side][w] = n >= MIN_WINDOW_POINTS ? wsi_median (scratch, n) : NAN;
  }
}

/* The windows in which both sides are alike, but for an axis that is a little off. */
static gboolean
find_alike (const Body *body, double most, gboolean alike[MAX_WINDOWS])
{
  double apart[MAX_WINDOWS], scratch[MAX_WINDOWS];
  guint n = 0, n_alike = 0;
  for (guint w = 0; w < body->n; w++)
  {
    apart[w] = body->middle[1][w] - body->middle[0][w];
    if (isfinite (apart[w]))
      scratch[n++] = apart[w];
  }
  const double usual = n > 0 ? wsi_median (scratch, n) : 0;
  for (guint w = 0; w < body->n; w++)
  {
    alike[w] = isfinite (apart[w]) && fabs (apart[w] - usual) <= most;
    n_alike += alike[w] ? 1 : 0;
  }
  return n_alike > MIN_ALIKE * n;
}

/* Going up the body, does the side rise to its bump at once?  What a near camera does comes
 * gradually. */
static gboolean
is_sharp (const double *middle, guint n, double level, double peak)
{
  for (guint w = 2; w < n; w++)
    if (middle[w] > level + 0.5 * peak &&
        middle[w] - middle[w - 2] > MAX (BUMP_RISE_PX, 0.5 * peak))
      return TRUE;
  return FALSE;
}

/* How far one side stands out where they aren't alike. */
static double
peak_of (const Body *body, guint side, double level, const gboolean alike[MAX_WINDOWS])
{
  double peak = 0;
  for (guint w = 0; w < body->n; w++)
    if (!alike[w] && isfinite (body->middle[side][w]))
      peak = MAX (peak, body->middle[side][w] - level);
  return peak;
}

/* What stands out beyond wherever both sides are alike. */
static void
find_bumps (Body *body, double most, WsEnvelope *found)
{
  const double least = body->outline->front_lit ? BUMP_LIT_PX : BUMP_PX;
  gboolean alike[MAX_WINDOWS];
  double level = 0;
  if (!find_alike (body, most, alike))
    return;
  for (guint w = 0; w < body->n; w++)
    if (alike[w])
      level = MAX (level, MAX (body->middle[0][w], body->middle[1][w]));
  for (guint side = 0; side < 2; side++)
  {
    const double peak = peak_of (body, side, level, alike);
    if (peak > most && peak < least)
      found->u_radius = MAX (found->u_radius, BUMP_DOUBT * peak);
    if (peak < least || !is_sharp (body->middle[side], body->n, level, peak))
      continue;
    found->bump[side] = peak;
    for (guint w = 0; w < body->n; w++)
      if (!alike[w] && body->middle[side][w] - level > most)
        for (guint k = w > 1 ? w - 2 : 0; k < MIN (w + 3, body->n); k++)
          body->bumped[side][k] = TRUE;
  }
}

/* Greatest median distance; 0 with too few points. */
static double
plateau_level (const Body *body)
{
  double level = 0;
  for (guint w = 0; w < body->n; w++)
    if (isfinite (body->middle[BOTH][w]))
      level = MAX (level, body->middle[BOTH][w]);
  return level;
}

/* Mean and its standard error of the points within `band` of `level`, on each side up to its own
 * `z_high`. */
static WsEnvelope
mean_near (const Body *body, double level, double band, double z_low, const double z_high[2])
{
  double n = 0, sum = 0, squares = 0;
  double margin_low = MAX (z_high[0], z_high[1]);
  for (guint i = 0; i < body->outline->points->len; i++)
  {
    const double off = fabs (body->uz[i].x) - level;
    if (points_of (body)[i].on_frame || body->uz[i].y < z_low ||
        body->uz[i].y >= z_high[body->uz[i].x > 0] || fabs (off) > band ||
        is_bumped (body, body->uz[i]))
      continue;
    n += 1;
    sum += off;
    squares += off * off;
    margin_low = MIN (margin_low, body->uz[i].y);
  }
  const double mean = n > 0 ? sum / n : 0;
  /* Neighbouring points share what the ground margin does: count one in five. */
  const double u = n > 1 ? sqrt (MAX (squares / n - mean * mean, 1e-4) * 5 / n) : band;
  return (WsEnvelope){ .radius = level + mean, .u_radius = u, .margin_low = margin_low };
}

WsEnvelope
wsi_envelope_find (const WsOutline *outline, const WsPoint *uz, const WsPoint corners[2])
{
  const double rough = 0.5 * (fabs (corners[0].x) + fabs (corners[1].x));
  const double z_high = MAX (corners[0].y, corners[1].y) + 0.1 * rough;
  const double z_low = z_high - 1.3 * rough;
  const double length = MAX (0.06 * rough, 4.0);
  Body body = { .outline = outline, .uz = uz, .z_low = z_low, .length = length };
  body.n = (guint)CLAMP (floor ((z_high - z_low - length) / (0.5 * length)) + 1, 0, MAX_WINDOWS);
  const double scatter = outline->noise * outline->blur_px;
  const double band = MAX (0.35, 6 * scatter);
  WsEnvelope bumps = { 0 };
  for (guint side = 0; side < 2; side++)
    read_side (&body, side, z_high);
  find_bumps (&body, MAX (ALIKE_PX, 2 * band), &bumps);
  read_side (&body, BOTH, z_high);
  const double level = plateau_level (&body);
  const double up_to[2] = { z_high, z_high };
  const WsEnvelope whole = mean_near (&body, level, band, z_low, up_to);
  /* The plateau's lower end falls away gently: leave out its last third. */
  const double lip_end = MIN (corners[0].y, corners[1].y);
  const double z_from = whole.margin_low + MAX (0.0, lip_end - whole.margin_low) / 3;
  const double clear = CORNER_BLURS * outline->blur_max_px;
  const double below[2] = { corners[0].y - clear, corners[1].y - clear };
  const gboolean is_long = MIN (below[0], below[1]) - z_from > CORNER_BLURS * outline->blur_max_px;
  WsEnvelope envelope = mean_near (&body, whole.radius, band, z_from, is_long ? below : up_to);
  memcpy (envelope.bump, bumps.bump, sizeof bumps.bump);
  envelope.u_radius = hypot (envelope.u_radius, bumps.u_radius);
  return envelope;
}
