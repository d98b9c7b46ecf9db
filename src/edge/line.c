#include "edge/line.h"

#include "base/geometry.h"
#include "maths/jackknife.h"
#include "maths/robust.h"
#include "maths/stats.h"

#include <string.h>

#define SAMPLES 160
#define ROUNDS 12
#define TERMS 3

/* Exactly straight data have no scatter; below this the biweight would only chase rounding. */
#define SCATTER_FLOOR 0.02

typedef struct
{
  double *t, *d, *weight;
  guint n;
} Frame;

static WsPoint
normal_of (const WsLineFit *fit)
{
  return wsi_point (-fit->direction.y, fit->direction.x);
}

double
wsi_line_distance (const WsLineFit *fit, WsPoint p)
{
  return wsi_point_dot (wsi_point_sub (p, fit->centre), normal_of (fit));
}

static void
legendre (const WsLineFit *fit, double t, double P[TERMS])
{
  const double s = (2 * t - fit->t_low - fit->t_high) / (fit->t_high - fit->t_low);
  P[0] = 1;
  P[1] = s;
  P[2] = 0.5 * (3 * s * s - 1);
}

double
wsi_line_bowed_distance (const WsLineFit *fit, WsPoint p)
{
  double P[TERMS];
  legendre (fit, wsi_point_dot (wsi_point_sub (p, fit->centre), fit->direction), P);
  return wsi_line_distance (fit, p) - fit->bow * P[2];
}

gboolean
wsi_line_meet (const WsLineFit *a, const WsLineFit *b, WsPoint *where)
{
  const double sine = wsi_point_cross (a->direction, b->direction);
  if (fabs (sine) < 1e-6)
    return FALSE;
  const double t = wsi_point_cross (wsi_point_sub (b->centre, a->centre), b->direction) / sine;
  *where = wsi_point_along (a->centre, t, a->direction);
  return TRUE;
}

/* Deterministic, so that the same picture gives the same record. */
static guint
next_random (guint32 *state, guint below)
{
  *state = *state * 1664525u + 1013904223u;
  return (guint)(((guint64)*state * below) >> 32);
}

/* Truncated squared distances to the line through points i and j. */
static double
sample_cost (const WsPoint *points, guint n, guint i, guint j, double band)
{
  const WsPoint run = wsi_point_sub (points[j], points[i]);
  const double length = wsi_point_length (run);
  if (length < 1)
    return HUGE_VAL;
  double cost = 0;
  for (guint k = 0; k < n; k++)
  {
    const double d = wsi_point_cross (run, wsi_point_sub (points[k], points[i])) / length;
    cost += MIN (d * d, band * band);
  }
  return cost;
}

gboolean
wsi_line_fit_total (const WsPoint *points, guint n, WsLineFit *fit)
{
  WsPoint mean = { 0, 0 };
  for (guint i = 0; i < n; i++)
    mean = wsi_point_along (mean, 1.0 / n, points[i]);
  double xx = 0, xy = 0, yy = 0;
  for (guint i = 0; i < n; i++)
  {
    const WsPoint d = wsi_point_sub (points[i], mean);
    xx += d.x * d.x;
    xy += d.x * d.y;
    yy += d.y * d.y;
  }
  if (!(xx + yy > 0))
    return FALSE;
  /* The moments' greater principal axis. */
  const double angle = 0.5 * atan2 (2 * xy, xx - yy);
  fit->centre = mean;
  fit->direction = wsi_point (cos (angle), sin (angle));
  return TRUE;
}

static gboolean
sample_line (const WsPoint *points, guint n, double band, WsLineFit *fit)
{
  guint32 state = 1;
  double best = HUGE_VAL;
  for (guint k = 0; k < SAMPLES; k++)
  {
    /* Far apart, or the direction is noise. */
    const guint i = next_random (&state, n / 2), j = i + n / 3 + next_random (&state, n / 6 + 1);
    const double cost = sample_cost (points, n, i, MIN (j, n - 1), band);
    if (cost >= best)
      continue;
    best = cost;
    const WsPoint run = wsi_point_sub (points[MIN (j, n - 1)], points[i]);
    const double length = wsi_point_length (run);
    fit->centre = points[i];
    fit->direction = wsi_point (run.x / length, run.y / length);
  }
  return best < HUGE_VAL;
}

/* Coordinates along and across the line; the range is that of all points. */
static void
read_frame (const WsPoint *points, WsLineFit *fit, Frame *frame)
{
  fit->t_low = HUGE_VAL;
  fit->t_high = -HUGE_VAL;
  for (guint i = 0; i < frame->n; i++)
  {
    frame->t[i] = wsi_point_dot (wsi_point_sub (points[i], fit->centre), fit->direction);
    frame->d[i] = wsi_line_distance (fit, points[i]);
    fit->t_low = MIN (fit->t_low, frame->t[i]);
    fit->t_high = MAX (fit->t_high, frame->t[i]);
  }
}

static void
weigh_in_band (Frame *frame, double band)
{
  for (guint i = 0; i < frame->n; i++)
    frame->weight[i] = fabs (frame->d[i]) < band ? 1 : 0;
}

static gboolean
solve_terms (const Frame *frame, const WsLineFit *fit, guint skip_from, guint skip_to,
             double terms[TERMS])
{
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, TERMS);
  for (guint i = 0; i < frame->n; i++)
  {
    if (i >= skip_from && i < skip_to)
      continue;
    double P[TERMS];
    legendre (fit, frame->t[i], P);
    wsi_least_squares_add (&sums, P, frame->d[i], frame->weight[i]);
  }
  return wsi_least_squares_solve (&sums, terms, NULL);
}

static double
residual (const Frame *frame, const WsLineFit *fit, const double terms[TERMS], guint i)
{
  double P[TERMS];
  legendre (fit, frame->t[i], P);
  return frame->d[i] - terms[0] - terms[1] * P[1] - terms[2] * P[2];
}

/* Tukey's biweight with the scale of the points that count so far. */
static void
weigh (Frame *frame, WsLineFit *fit, const double terms[TERMS], double *scratch)
{
  guint kept = 0;
  for (guint i = 0; i < frame->n; i++)
    if (frame->weight[i] > 0)
      scratch[kept++] = fabs (residual (frame, fit, terms, i));
  fit->scatter = kept > 0 ? wsi_absolute_sigma (scratch, kept) : 0;
  const double reach = WS_TUKEY_REACH * MAX (fit->scatter, SCATTER_FLOOR);
  for (guint i = 0; i < frame->n; i++)
    frame->weight[i] = wsi_tukey_weight (residual (frame, fit, terms, i) / reach);
}

/* Takes the straight part of `terms` into the line. */
static void
absorb (WsLineFit *fit, const double terms[TERMS])
{
  const double half = 0.5 * (fit->t_high - fit->t_low);
  const double middle = 0.5 * (fit->t_high + fit->t_low);
  const double turn = atan (terms[1] / half);
  const WsPoint normal = normal_of (fit);
  fit->centre =
    wsi_point_along (wsi_point_along (fit->centre, middle, fit->direction), terms[0], normal);
  fit->direction = wsi_point (cos (turn) * fit->direction.x + sin (turn) * normal.x,
                              cos (turn) * fit->direction.y + sin (turn) * normal.y);
  fit->bow = terms[2];
}

static void
find_uncertainties (const Frame *frame, WsLineFit *fit)
{
  double offset[WS_JACKKNIFE_BLOCKS], slope[WS_JACKKNIFE_BLOCKS];
  const double half = 0.5 * (fit->t_high - fit->t_low);
  for (guint b = 0; b < WS_JACKKNIFE_BLOCKS; b++)
  {
    double terms[TERMS];
    if (!solve_terms (frame, fit, wsi_jackknife_from (frame->n, b),
                      wsi_jackknife_from (frame->n, b + 1), terms))
      memset (terms, 0, sizeof terms);
    offset[b] = terms[0];
    slope[b] = terms[1] / half;
  }
  fit->u_offset = wsi_jackknife_u (offset);
  fit->u_angle = wsi_jackknife_u (slope);
}

gboolean
wsi_line_fit (const WsPoint *points, guint n, guint8 *used, WsLineFit *fit)
{
  memset (fit, 0, sizeof *fit);
  fit->n = n;
  if (n < WS_LINE_MIN_POINTS)
    return FALSE;
  const double length = wsi_point_distance (points[0], points[n - 1]);
  const double band = MAX (1.0, 0.004 * length);
  if (!sample_line (points, n, band, fit))
    return FALSE;

  g_autofree double *room = g_new (double, 4 * (gsize)n);
  Frame frame = { room, room + n, room + 2 * (gsize)n, n };
  read_frame (points, fit, &frame);
  weigh_in_band (&frame, 1.5 * band);
  for (guint round = 0; round < ROUNDS; round++)
  {
    double terms[TERMS];
    if (!solve_terms (&frame, fit, 0, 0, terms))
      return FALSE;
    weigh (&frame, fit, terms, room + 3 * (gsize)n);
    absorb (fit, terms);
    read_frame (points, fit, &frame);
    if (round > 2 && fabs (terms[0]) < 1e-5 && fabs (terms[1]) < 1e-5)
      break;
  }
  for (guint i = 0; i < n; i++)
  {
    used[i] = frame.weight[i] > 0.05;
    fit->n_used += used[i];
  }
  if (2 * fit->n_used < n)
    return FALSE;
  find_uncertainties (&frame, fit);
  return TRUE;
}
