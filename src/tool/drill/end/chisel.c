#include "tool/drill/end/chisel.h"

#include "maths/robust.h"

#include <string.h>

/* The frame of the chisel edge: s along it from the axis toward lip a, o square to it. */
typedef struct
{
  WsPoint along, across;
  double half; /* length from the axis to the lip, px */
} Chord;

/* The chord that meets the lips at the acute angle `acute`. */
static Chord
chord_at (const WsEndPoint *point, double acute)
{
  const WsEndLip *a = &point->lips[0], *b = &point->lips[1];
  const WsPoint e = wsi_point_sub (a->outward, b->outward);
  const WsPoint unit = wsi_end_scaled (e, 1 / wsi_point_length (e));
  const WsPoint between =
    wsi_point_sub (wsi_end_lip_foot (a, point->centre), wsi_end_lip_foot (b, point->centre));
  const double web = wsi_point_length (between);
  const WsPoint n = wsi_end_scaled (between, 1 / web);
  Chord chord;
  chord.along =
    wsi_point (cos (acute) * unit.x + sin (acute) * n.x, cos (acute) * unit.y + sin (acute) * n.y);
  chord.across = wsi_point (-chord.along.y, chord.along.x);
  chord.half = 0.5 * web / sin (acute);
  return chord;
}

static WsPoint
middle_of (const WsEndPoint *point)
{
  const WsPoint a = wsi_end_lip_foot (&point->lips[0], point->centre),
                b = wsi_end_lip_foot (&point->lips[1], point->centre);
  return wsi_point (0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
}

static WsPoint
chord_place (WsPoint middle, const Chord *chord, double s, double o)
{
  return wsi_point_along (wsi_point_along (middle, s, chord->along), o, chord->across);
}

/* The flanks' contrast may turn over along the chord: by half a turn, what lights one flank near
 * its lip lights the other near its own.  So it is taken in so many parts. */
#define PARTS 8

/* Contrast of the two sides close to a chord in each part, in lightness; returns the mean size. */
static double
chord_contrast (const WsEndPicture *picture, const WsEndPoint *point, const Chord *chord,
                double parts[PARTS])
{
  const WsPoint middle = middle_of (point);
  const double far = CLAMP (0.025 * point->radius, 4, 16);
  guint n[PARTS] = { 0 };
  memset (parts, 0, PARTS * sizeof *parts);
  for (double s = -0.9; s < 0.9; s += 2 / chord->half)
  {
    const guint part = (guint)(PARTS * (s + 0.9) / 1.8);
    for (double o = 1.5; o <= far; o += 1.5)
    {
      parts[part] += wsi_end_lightness (picture, chord_place (middle, chord, s * chord->half, o)) -
                     wsi_end_lightness (picture, chord_place (middle, chord, s * chord->half, -o));
      n[part]++;
    }
  }
  double sum = 0;
  for (guint k = 0; k < PARTS; k++)
  {
    parts[k] /= MAX (n[k], 1);
    sum += fabs (parts[k]) / PARTS;
  }
  return sum;
}

/* Chisel edges lie between these acute angles to the lips. */
#define ACUTE_LEAST_DEG 30
#define ACUTE_MOST_DEG 85

/* Facets that differ less than this in lightness show no edge between them. */
#define CHISEL_CONTRAST 1.5

static gboolean
guess_chisel (const WsEndPicture *picture, const WsEndPoint *point, double *acute,
              double parts[PARTS])
{
  double best = 0;
  for (gint deg = ACUTE_LEAST_DEG; deg <= ACUTE_MOST_DEG; deg++)
  {
    double found[PARTS];
    const Chord chord = chord_at (point, wsi_radians (deg));
    const double contrast = chord_contrast (picture, point, &chord, found);
    if (contrast <= best)
      continue;
    best = contrast;
    memcpy (parts, found, sizeof found);
    *acute = wsi_radians (deg);
  }
  return best >= CHISEL_CONTRAST;
}

/* o = c0 + c1 s + c3 s^3, s in half lengths: the edge is slightly S-shaped and, by half a turn,
 * odd about the axis. */
#define N_CURVE 3

static void
curve_terms (double s, double terms[N_CURVE])
{
  terms[0] = 1;
  terms[1] = s;
  terms[2] = s * s * s;
}

static double
curve_at (const double c[N_CURVE], double s)
{
  double terms[N_CURVE];
  curve_terms (s, terms);
  return c[0] * terms[0] + c[1] * terms[1] + c[2] * terms[2];
}

/* A mild prior, in points, keeps the bow small where the ends are unseen. */
#define BOW_PRIOR 0.1

/* Scatter that steps have at least, px. */
#define LEAST_SPREAD 0.1
#define CURVE_ROUNDS 8

typedef struct
{
  const double *s, *o;
} Steps;

static gboolean
curve_row (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  const Steps *steps = data;
  (void)x;
  curve_terms (steps->s[i], row);
  *value = steps->o[i];
  return TRUE;
}

static void
hold_bow (gconstpointer data, double sigma, WsLeastSquares *sums)
{
  (void)data;
  (void)sigma;
  wsi_least_squares_prior (sums, N_CURVE - 1, 0, BOW_PRIOR);
}

static gboolean
fit_curve (const double *s, const double *o, guint n, double c[N_CURVE], double *u_slope)
{
  const WsRobustModel model = { n, N_CURVE, CURVE_ROUNDS, LEAST_SPREAD, curve_row, hold_bow };
  const Steps steps = { s, o };
  g_autofree double *off = g_new (double, n);
  WsRobustSolution solution;
  if (!wsi_robust_fit (&model, &steps, off, &solution))
    return FALSE;
  memcpy (c, solution.x, N_CURVE * sizeof *c);
  /* Slope of the chord between the ends: c1 + c3; points agree with their neighbours over some
   * five px of smoothing. */
  const double *inverse = solution.inverse;
  *u_slope = solution.sigma * sqrt (5 * (inverse[4] + 2 * inverse[5] + inverse[8]));
  return TRUE;
}

/* Where the curve meets a lip's line. */
static WsPoint
curve_end (const WsEndPoint *point, const Chord *chord, const double c[N_CURVE], guint k)
{
  const WsPoint middle = middle_of (point);
  const double side = k == 0 ? 1 : -1;
  double s = side;
  WsPoint p = middle;
  for (guint round = 0; round < 12; round++)
  {
    p = chord_place (middle, chord, s * chord->half, curve_at (c, s));
    const double off =
      wsi_point_dot (wsi_point_sub (p, point->lips[k].line.centre), point->lips[k].inward);
    const double rate = -side * fabs (wsi_point_dot (chord->along, point->lips[k].inward));
    s -= off / (rate * chord->half);
  }
  return p;
}

/* Share of the chord that must show a step, and of either half: of one alone the other's end is
 * guessed, by an axis that may lie elsewhere. */
#define CHISEL_SEEN 0.6
#define CHISEL_HALF 0.3

/* A direction known no better than this, rad, is that of grinding marks or shadows (rendered
 * drills: 0.001 to 0.01 where the edge shows). */
#define CHISEL_U_MOST 0.009

/* How far from the axis the middle of a chisel edge may lie, in radii. */
#define MOST_LOPSIDED 0.05

typedef struct
{
  double *s, *o; /* in half lengths along the chord, px across it */
  guint n, tried;
} Trace;

static void
trace_chisel (const WsEndPicture *picture, const WsEndPoint *point, const Chord *chord,
              const double parts[PARTS], Trace *trace)
{
  const WsPoint middle = middle_of (point);
  const double reach = CLAMP (0.04 * point->radius, 8, 40);
  const guint arm = (guint)CLAMP (0.016 * point->radius, 3, 8);
  for (double s = -0.93; s < 0.93; s += 1 / chord->half, trace->tried++)
  {
    const double contrast = parts[(guint)CLAMP (PARTS * (s + 0.9) / 1.8, 0, PARTS - 1)];
    if (fabs (contrast) < CHISEL_CONTRAST)
      continue;
    /* From the lighter side to the darker. */
    const double sign = contrast > 0 ? -1 : 1;
    const WsPoint down = wsi_end_scaled (chord->across, sign);
    const WsPoint from =
      wsi_point_along (chord_place (middle, chord, s * chord->half, 0), -reach, down);
    double drop;
    const double found =
      wsi_end_steepest_fall (picture, from, down, chord->along, 2 * reach, arm, 3, &drop);
    if (isnan (found) || drop < 0.4 * fabs (contrast))
      continue;
    trace->s[trace->n] = s;
    trace->o[trace->n++] = sign * (found - reach);
  }
}

static gboolean
is_seen (const Trace *trace)
{
  guint ahead = 0;
  for (guint i = 0; i < trace->n; i++)
    ahead += trace->s[i] > 0 ? 1 : 0;
  return trace->n >= MAX (12, CHISEL_SEEN * trace->tried) &&
         MIN (ahead, trace->n - ahead) >= 0.5 * CHISEL_HALF * trace->tried;
}

static void
find_chisel (const WsEndPicture *picture, WsEndPoint *point)
{
  double acute = 0, parts[PARTS];
  if (!guess_chisel (picture, point, &acute, parts))
    return;
  const Chord chord = chord_at (point, acute);
  const guint n_max = (guint)(2 * chord.half) + 3;
  g_autofree double *s = g_new (double, n_max);
  g_autofree double *o = g_new (double, n_max);
  Trace trace = { s, o, 0, 0 };
  double c[N_CURVE], u_slope;
  trace_chisel (picture, point, &chord, parts, &trace);
  if (!is_seen (&trace) || !fit_curve (s, o, trace.n, c, &u_slope))
    return;
  const WsPoint ends[2] = { curve_end (point, &chord, c, 0), curve_end (point, &chord, c, 1) };
  /* Half a turn maps one end onto the other. */
  const WsPoint mean = wsi_point (0.5 * (ends[0].x + ends[1].x), 0.5 * (ends[0].y + ends[1].y));
  if (wsi_point_distance (mean, point->centre) > MOST_LOPSIDED * point->radius ||
      u_slope / chord.half > CHISEL_U_MOST)
    return;
  for (guint k = 0; k < 2; k++)
    point->lips[k].inner = ends[k];
  point->u_chisel_rad = u_slope / chord.half;
  point->has_chisel = TRUE;
}

/* Without the edge itself: where a chisel edge usually meets the lip, for the lips' ends. */
#define USUAL_ACUTE_DEG 55.0

static void
place_inner_ends (WsEndPoint *point)
{
  const Chord chord = chord_at (point, wsi_radians (USUAL_ACUTE_DEG));
  const WsPoint middle = middle_of (point);
  point->lips[0].inner = chord_place (middle, &chord, chord.half, 0);
  point->lips[1].inner = chord_place (middle, &chord, -chord.half, 0);
}

void
wsi_end_chisel_find (const WsEndPicture *picture, WsEndPoint *point)
{
  place_inner_ends (point);
  find_chisel (picture, point);
}
