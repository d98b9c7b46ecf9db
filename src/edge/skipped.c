#include "edge/skipped.h"

#include <math.h>

#include "maths/least_squares.h"

/* A point's neighbours on either side, on one straight stretch: their normals agree and none is far
 * away or off.  Edges that hardly slant take so many to cross from one row to the next. */
#define REACH 16
#define LEAST_COSINE 0.97
#define FAR_PX (3.0 * REACH)
#define MOST_OFF_PX 0.6

/* Fewer such points tell nothing; more take time. */
#define LEAST_POINTS 150
#define MOST_POINTS 4000

/* Turns to a row: slower ones are the tool's own bows, faster ones a sensor's mosaic's. */
#define LEAST_FREQUENCY 0.15
#define N_FREQUENCIES 133
#define FREQUENCY_STEP 0.0025

/* Of points that are off by chance a sum's square is a part of their squares' sum that follows an
 * exponential distribution of mean 1.  In step by rows and columns together, with so much of it by
 * either at least: silhouettes that have all their lines keep below 16; what was shrunk by leaving
 * out lines has 34 to 180, but where edges hardly slant (own trials on 300 rendered pictures).
 * Smooth kernels move edges by less than 0.02 px. */
#define LEAST_IN_STEP 30.0
#define LEAST_EITHER 5.0
#define LEAST_OFF_PX 0.02

/* A wave along rows or columns: the sum over points of weight * off * exp (-i phase). */
typedef struct
{
  double re[N_FREQUENCIES], im[N_FREQUENCIES];
  double squares; /* of weight * off */
  double weights; /* squares of them */
} Wave;

static const WsEdgePoint *
point_at (const WsOutline *outline, guint i)
{
  return &g_array_index (outline->points, WsEdgePoint, i % outline->points->len);
}

/* How far point i lies off the parabola through its neighbours, along its normal, px; FALSE where
 * they are none. */
static gboolean
off_line (const WsOutline *outline, guint i, double *off)
{
  const WsEdgePoint *p = point_at (outline, i);
  const double nx = (double)p->nx, ny = (double)p->ny;
  double found[3];
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, 3);
  for (guint k = 0; k <= 2 * REACH; k++)
  {
    const WsEdgePoint *q = point_at (outline, i + outline->points->len + k - REACH);
    const double x = q->x - p->x, y = q->y - p->y;
    if (q->on_frame || q->after_gap || (double)q->nx * nx + (double)q->ny * ny < LEAST_COSINE ||
        hypot (x, y) > FAR_PX)
      return FALSE;
    const double t = (y * nx - x * ny) / REACH, row[3] = { 1, t, t * t };
    wsi_least_squares_add (&sums, row, x * nx + y * ny, 1);
  }
  if (!wsi_least_squares_solve (&sums, found, NULL))
    return FALSE;
  *off = -found[0];
  return fabs (*off) < MOST_OFF_PX;
}

static void
add (Wave *wave, double weight, double place, double off)
{
  const double value = weight * off;
  wave->squares += value * value;
  wave->weights += weight * weight;
  const double turn = -2 * G_PI * FREQUENCY_STEP * place;
  const double step_re = cos (turn), step_im = sin (turn);
  double re = value * cos (turn * LEAST_FREQUENCY / FREQUENCY_STEP),
         im = value * sin (turn * LEAST_FREQUENCY / FREQUENCY_STEP);
  for (guint f = 0; f < N_FREQUENCIES; f++)
  {
    wave->re[f] += re;
    wave->im[f] += im;
    const double next = re * step_re - im * step_im;
    im = re * step_im + im * step_re;
    re = next;
  }
}

static double
power_of (const Wave *wave, guint f)
{
  return wave->squares > 0 ? (wave->re[f] * wave->re[f] + wave->im[f] * wave->im[f]) / wave->squares
                           : 0;
}

/* By how much lines are off, px. */
static double
amplitude_of (const Wave *wave, guint f)
{
  return wave->weights > 0 ? 2 * hypot (wave->re[f], wave->im[f]) / wave->weights : 0;
}

double
wsi_outline_skipped (const WsOutline *outline)
{
  g_autofree Wave *by_column = g_new0 (Wave, 1), *by_row = g_new0 (Wave, 1);
  const guint n = outline->points->len, stride = 1 + n / MOST_POINTS;
  guint used = 0, best = 0;
  double most = 0;
  for (guint i = 0; n > 2 * REACH && i < n; i += stride)
  {
    const WsEdgePoint *p = point_at (outline, i);
    double off;
    if (!off_line (outline, i, &off))
      continue;
    used++;
    add (by_column, (double)p->nx, p->x, off);
    add (by_row, (double)p->ny, p->y, off);
  }
  for (guint f = 0; f < N_FREQUENCIES; f++)
  {
    const double a = power_of (by_column, f), b = power_of (by_row, f);
    if (MIN (a, b) < LEAST_EITHER || a + b < most)
      continue;
    best = f;
    most = a + b;
  }
  const double by = MAX (amplitude_of (by_column, best), amplitude_of (by_row, best));
  return used >= LEAST_POINTS && most > LEAST_IN_STEP && by > LEAST_OFF_PX
           ? 1 / (LEAST_FREQUENCY + best * FREQUENCY_STEP)
           : 0;
}
