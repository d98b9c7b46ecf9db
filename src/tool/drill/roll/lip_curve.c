#include "tool/drill/roll/lip_curve.h"

#include <string.h>

#include "base/geometry.h"
#include "maths/robust.h"
#include "maths/solve.h"
#include "maths/stats.h"
#include "tool/drill/roll/run_out.h"

/* A lip ends about there, in radii. */
#define BEYOND 0.94

/* ---- The model ------------------------------------------------------------------------- */

/* What is known of them beforehand, in radii. */
static const double usual[WS_LIP_N_UNKNOWNS] = { [WS_LIP_BEHIND] = 0.15,
                                                 [WS_LIP_N + WS_LIP_BEHIND] = 0.15,
                                                 [WS_LIP_SLOPE] = -0.5,
                                                 [WS_LIP_N + WS_LIP_SLOPE] = -0.5 };
static const double spread[WS_LIP_N_UNKNOWNS] = {
  0.5, 0.006, 0.05, 0.3, 0.02, 0.5, 0.006, 0.05, 0.3, 0.02, 0.5, 0.02, 100,
};

static double
behind (const double *lip, double x)
{
  const double s = x - WS_LIP_MIDDLE;
  return lip[WS_LIP_BEHIND] + lip[WS_LIP_BEHIND_SLOPE] * s + lip[WS_LIP_BEHIND_BOW] * s * s;
}

double
wsi_lip_x_at (const double *lip, const WsLipSeen *seen, double across)
{
  double x = across / seen->c;
  for (guint i = 0; i < 4; i++)
    x = (across + behind (lip, x) * seen->s) / seen->c;
  return x;
}

double
wsi_lip_height (const double *x, guint k, double at)
{
  const double *lip = &x[k * WS_LIP_N], s = at - WS_LIP_MIDDLE;
  return x[WS_LIP_COMMON] + (k == 0 ? 0.5 : -0.5) * x[WS_LIP_HEIGHT] + lip[WS_LIP_SLOPE] * s +
         lip[WS_LIP_BOW] * s * s;
}

double
wsi_lip_seen_height (const WsLipFit *fit, const double *x, const WsLipSample *sample)
{
  const WsLipSeen *seen = &g_array_index (fit->seen, WsLipSeen, sample->frame);
  const double *lip = &x[sample->lip * WS_LIP_N];
  const double at = wsi_lip_x_at (lip, seen, sample->at.x);
  const double depth = at * seen->s + behind (lip, at) * seen->c;
  const double side = (double)sample->lip == seen->right ? 1 : -1;
  return wsi_lip_height (x, sample->lip, at) + (x[WS_LIP_LEAN] + seen->lean) * side * depth;
}

/* ---- Samples --------------------------------------------------------------------------- */

/* The outline's foremost point, and which way along it lip k's side lies. */
static gint
way_of (const WsRollFrame *frame, double side, guint *tip)
{
  const GArray *uz = frame->uz;
  double forth = 0;
  *tip = frame->tip_at;
  for (guint i = 1; i < uz->len / 8; i++)
  {
    const WsPoint p = g_array_index (uz, WsPoint, (*tip + i) % uz->len);
    if (!isnan (p.x))
      forth = p.x - g_array_index (uz, WsPoint, *tip).x;
    if (fabs (forth) > 0.1 * frame->half_width)
      break;
  }
  return forth * side > 0 ? 1 : -1;
}

void
wsi_lip_take_side (const WsLipFit *fit, guint index, guint k, const WsLipRange *range,
                   GArray *points)
{
  const WsLipSeen *seen = &g_array_index (fit->seen, WsLipSeen, index);
  const double R = fit->roll->radius, side = (double)k == seen->right ? 1 : -1;
  const double *lip = &fit->x[k * WS_LIP_N];
  const GArray *uz = seen->frame->uz;
  const guint stride = 1 + (guint)(R * (range->to - range->from)) / fit->n_points;
  guint n = 0, tip;
  const gint way = way_of (seen->frame, side, &tip);
  for (guint i = 0; i < uz->len / 2; i++)
  {
    const guint j = (guint)((gint)(tip + uz->len) + way * (gint)i) % uz->len;
    const WsPoint p = g_array_index (uz, WsPoint, j);
    if (isnan (p.x))
      continue;
    const double across = side * p.x / R;
    const double at = range->on_lip ? wsi_lip_x_at (lip, seen, across) : across;
    if (at > BEYOND)
      break;
    if (at < range->from || at > range->to || n++ % stride != 0)
      continue;
    const WsLipSample sample = { wsi_point (across, p.y / R), index, k, 1 };
    g_array_append_val (points, sample);
  }
}

const WsLipRange wsi_lip_whole = { WS_LIP_FROM, WS_LIP_TO, TRUE };

static void
take_samples (WsLipFit *fit)
{
  g_array_set_size (fit->points, 0);
  for (guint i = 0; i < fit->seen->len; i++)
    if ((gint)i != fit->left_out)
      for (guint k = 0; k < 2; k++)
        if (g_array_index (fit->seen, WsLipSeen, i).shows[k])
          wsi_lip_take_side (fit, i, k, &wsi_lip_whole, fit->points);
}

void
wsi_lip_take_frames (WsLipFit *fit, const double range[2])
{
  const WsRoll *roll = fit->roll;
  g_array_set_size (fit->seen, 0);
  for (guint i = 0; i < roll->frames->len; i++)
  {
    const WsRollFrame *frame = wsi_roll_frame (roll, i);
    const double halves = (frame->turn - fit->across) / G_PI, nearest = rint (halves);
    const double turn = (halves - nearest) * G_PI;
    const WsLipSeen seen = { .frame = frame,
                             .turn = turn,
                             .right = fabs (fmod (nearest, 2)) > 0.5 ? 0 : 1,
                             .lean = wsi_roll_frame_lean (roll, frame) - roll->lean,
                             .c = cos (turn),
                             .s = sin (turn),
                             .shows = { TRUE, TRUE } };
    if (turn >= wsi_radians (range[0]) && turn <= wsi_radians (range[1]))
      g_array_append_val (fit->seen, seen);
  }
}

/* ---- Fitting --------------------------------------------------------------------------- */

/* How far the drill slides along its axis from picture to picture, radii: it lies against a stop,
 * or in a block that holds it (assumed, no source). */
#define SLIDE 0.0015

/* Takes each frame's weighted mean off: all of it, or as much as makes the squares those that a
 * slide of the usual size would leave. */
static void
centre (const WsLipFit *fit, gboolean all, double *values)
{
  const double known = fit->sigma * fit->sigma / (SLIDE * SLIDE);
  for (guint from = 0, to = 0; from < fit->points->len; from = to)
  {
    const guint frame = g_array_index (fit->points, WsLipSample, from).frame;
    double sum = 0, weights = 1e-12;
    for (to = from; to < fit->points->len; to++)
    {
      const WsLipSample *s = &g_array_index (fit->points, WsLipSample, to);
      if (s->frame != frame)
        break;
      sum += s->weight * values[to];
      weights += s->weight;
    }
    const double part = all ? 1 : 1 - sqrt (known / (weights + known));
    for (guint i = from; i < to; i++)
      values[i] -= part * sum / weights;
  }
}

static void
residuals (const WsLipFit *fit, const double *x, gboolean all, double *rest)
{
  for (guint i = 0; i < fit->points->len; i++)
  {
    const WsLipSample *s = &g_array_index (fit->points, WsLipSample, i);
    rest[i] = s->at.y - wsi_lip_seen_height (fit, x, s);
  }
  centre (fit, all, rest);
}

static void
weigh (WsLipFit *fit, const double *rest)
{
  const guint n = fit->points->len;
  g_autofree double *off = g_new (double, n);
  for (guint i = 0; i < n; i++)
    off[i] = fabs (rest[i]);
  fit->sigma = MAX (wsi_absolute_sigma (off, n), 0.02 / fit->roll->radius);
  for (guint i = 0; i < n; i++)
    g_array_index (fit->points, WsLipSample, i).weight =
      wsi_tukey_weight (rest[i] / (WS_TUKEY_REACH * fit->sigma));
}

/* One step of Gauss and Newton; FALSE when it can't be had. */
static gboolean
step (WsLipFit *fit, const double *rest, double *columns)
{
  const guint n = fit->points->len;
  double A[WS_LIP_N_UNKNOWNS * WS_LIP_N_UNKNOWNS] = { 0 }, b[WS_LIP_N_UNKNOWNS] = { 0 };
  for (guint j = 0; j < WS_LIP_N_UNKNOWNS; j++)
  {
    double moved[WS_LIP_N_UNKNOWNS];
    memcpy (moved, fit->x, sizeof moved);
    const double by = 1e-5;
    moved[j] += by;
    double *column = &columns[j * n];
    residuals (fit, moved, FALSE, column);
    for (guint i = 0; i < n; i++)
      column[i] = (rest[i] - column[i]) / by;
  }
  for (guint j = 0; j < WS_LIP_N_UNKNOWNS; j++)
  {
    for (guint k = 0; k <= j; k++)
      for (guint i = 0; i < n; i++)
        A[j * WS_LIP_N_UNKNOWNS + k] += g_array_index (fit->points, WsLipSample, i).weight *
                                        columns[j * n + i] * columns[k * n + i];
    for (guint i = 0; i < n; i++)
      b[j] += g_array_index (fit->points, WsLipSample, i).weight * columns[j * n + i] * rest[i];
    const double known = fit->sigma * fit->sigma / (spread[j] * spread[j]);
    A[j * WS_LIP_N_UNKNOWNS + j] += known;
    b[j] += known * (usual[j] - fit->x[j]);
  }
  for (guint j = 0; j < WS_LIP_N_UNKNOWNS; j++)
    for (guint k = j + 1; k < WS_LIP_N_UNKNOWNS; k++)
      A[j * WS_LIP_N_UNKNOWNS + k] = A[k * WS_LIP_N_UNKNOWNS + j];
  if (!wsi_invert_spd (A, WS_LIP_N_UNKNOWNS))
    return FALSE;
  for (guint j = 0; j < WS_LIP_N_UNKNOWNS; j++)
    for (guint k = 0; k < WS_LIP_N_UNKNOWNS; k++)
      fit->x[j] += A[j * WS_LIP_N_UNKNOWNS + k] * b[k];
  return TRUE;
}

static gboolean
is_sane (const double *x)
{
  for (guint k = 0; k < 2; k++)
  {
    const double *lip = &x[k * WS_LIP_N];
    /* Half angles of 40 to 80 degrees. */
    if (!(lip[WS_LIP_SLOPE] < -0.17 && lip[WS_LIP_SLOPE] > -1.2 &&
          fabs (lip[WS_LIP_BEHIND]) < 0.5 && fabs (lip[WS_LIP_BEHIND_SLOPE]) < 1))
      return FALSE;
  }
  return TRUE;
}

gboolean
wsi_lip_fit_run (WsLipFit *fit, guint rounds)
{
  g_autofree double *rest = NULL, *columns = NULL;
  for (guint round = 0; round < rounds; round++)
  {
    take_samples (fit);
    const guint n = fit->points->len;
    if (n < 60)
      return FALSE;
    rest = g_renew (double, rest, n);
    columns = g_renew (double, columns, (gsize)n *WS_LIP_N_UNKNOWNS);
    residuals (fit, fit->x, TRUE, rest);
    weigh (fit, rest);
    residuals (fit, fit->x, FALSE, rest);
    if (!step (fit, rest, columns) || !is_sane (fit->x))
      return FALSE;
  }
  fit->cost = 0;
  for (guint j = 0; j < WS_LIP_N_UNKNOWNS; j++)
    if ((j % WS_LIP_N != WS_LIP_SLOPE || j >= WS_LIP_HEIGHT) && j != WS_LIP_COMMON)
      fit->cost += (fit->x[j] - usual[j]) * (fit->x[j] - usual[j]) / (spread[j] * spread[j]);
  return TRUE;
}

void
wsi_lip_fit_start (WsLipFit *fit)
{
  memcpy (fit->x, usual, sizeof usual);
  fit->sigma = 0.01;
  const double tip = fit->seen->len > 0 ? g_array_index (fit->seen, WsLipSeen, 0).frame->tip : 0;
  fit->x[WS_LIP_COMMON] = tip / fit->roll->radius - 0.25;
}
