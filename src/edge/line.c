#include "edge/line.h"

#include "base/geometry.h"
#include "edge/line_frame.h"
#include "maths/robust.h"
#include "maths/stats.h"

#include <string.h>

#define SAMPLES 160
#define ROUNDS 12

/* Exactly straight data have no scatter; below this the biweight would only chase rounding. */
#define SCATTER_FLOOR 0.02

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

double
wsi_line_bowed_distance (const WsLineFit *fit, WsPoint p)
{
  double P[WS_LINE_TERMS];
  wsi_line_legendre (fit, wsi_point_dot (wsi_point_sub (p, fit->centre), fit->direction), P);
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

/* Truncated squared distances to the line through points i and j, as far as they stay below
 * `best`. */
static double
sample_cost (const WsPoint *points, guint n, guint i, guint j, double band, double best)
{
  const WsPoint run = wsi_point_sub (points[j], points[i]);
  const double length = wsi_point_length (run);
  if (length < 1)
    return HUGE_VAL;
  double cost = 0;
  for (guint k = 0; k < n && cost < best; k++)
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
    const double cost = sample_cost (points, n, i, MIN (j, n - 1), band, best);
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

static void
weigh_in_band (WsLineFrame *frame, double band)
{
  for (guint i = 0; i < frame->n; i++)
    frame->weight[i] = fabs (frame->d[i]) < band ? 1 : 0;
}

/* Tukey's biweight with the scale of the points that count so far. */
static void
weigh (WsLineFrame *frame, WsLineFit *fit, const double terms[WS_LINE_TERMS], double *scratch)
{
  guint kept = 0;
  for (guint i = 0; i < frame->n; i++)
    if (frame->weight[i] > 0)
      scratch[kept++] = fabs (wsi_line_frame_residual (frame, fit, terms, i));
  fit->scatter = kept > 0 ? wsi_absolute_sigma (scratch, kept) : 0;
  const double reach = WS_TUKEY_REACH * MAX (fit->scatter, SCATTER_FLOOR);
  for (guint i = 0; i < frame->n; i++)
    frame->weight[i] = wsi_tukey_weight (wsi_line_frame_residual (frame, fit, terms, i) / reach);
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
  WsLineFrame frame = { room, room + n, room + 2 * (gsize)n, n };
  wsi_line_frame_read (points, fit, &frame);
  weigh_in_band (&frame, 1.5 * band);
  for (guint round = 0; round < ROUNDS; round++)
  {
    double terms[WS_LINE_TERMS];
    if (!wsi_line_frame_solve (&frame, fit, 0, 0, NULL, terms))
      return FALSE;
    weigh (&frame, fit, terms, room + 3 * (gsize)n);
    wsi_line_frame_absorb (fit, terms);
    wsi_line_frame_read (points, fit, &frame);
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
  wsi_line_frame_find_u (&frame, fit, NULL);
  return TRUE;
}
