#include "edge/mirror.h"

#include "edge/sides.h"
#include "maths/robust.h"
#include "maths/stats.h"

#include <string.h>

/* Height of one step along the axis, in spacings of the points: two or three points a side. */
#define STEP_SPACINGS 3.0

#define MAX_ROUNDS 30
#define MIN_STEPS 24

/* Blocks for the standard errors; few enough that each is longer than the outline's
 * correlation, many enough to tell their scatter. */
#define BLOCKS 10

/* A height seen on both sides. */
typedef struct
{
  double z;
  double middle;   /* mid-point's u */
  double by_angle; /* change of `middle` with a turn of the frame */
  double weight;
} Height;

/*
 * In a frame turned by a small angle t, u' = u + t z and z' = z - t u, the outline u(z)
 * becomes u + t (z + u u'), so the mid-points move by t (z + (uL uL' + uR uR') / 2).
 */
static GArray *
read_heights (const WsEdgePoint *points, guint n, const WsAxis *axis, double z_low, double z_high,
              double step)
{
  g_autoptr (GArray) sides = wsi_both_sides (points, n, axis, z_low, z_high, step);
  GArray *heights = g_array_sized_new (FALSE, FALSE, sizeof (Height), sides->len);
  for (guint i = 0; i < sides->len; i++)
  {
    const WsBothSides *at = &g_array_index (sides, WsBothSides, i);
    const double bend = 0.5 * (at->left * at->left_slope + at->right * at->right_slope);
    const Height height = { at->z, 0.5 * (at->left + at->right), at->z + bend, 1 };
    g_array_append_val (heights, height);
  }
  return heights;
}

static double
middle_spread (const GArray *heights, double *median)
{
  g_autofree double *values = g_new (double, heights->len);
  for (guint i = 0; i < heights->len; i++)
    values[i] = g_array_index (heights, Height, i).middle;
  *median = wsi_median (values, heights->len);
  return wsi_mad_sigma (values, heights->len);
}

double
wsi_mirror_defect (const WsEdgePoint *points, guint n, const WsAxis *axis, double z_low,
                   double z_high, double spacing)
{
  g_autoptr (GArray) heights =
    read_heights (points, n, axis, z_low, z_high, STEP_SPACINGS * spacing);
  double median;
  return heights->len >= MIN_STEPS ? middle_spread (heights, &median) : HUGE_VAL;
}

/* Tukey's biweight about the current axis; the scale has a floor since exact symmetry
 * would reject everything but itself. */
static void
weigh (GArray *heights, double *scale)
{
  g_autofree double *values = g_new (double, heights->len);
  for (guint i = 0; i < heights->len; i++)
    values[i] = fabs (g_array_index (heights, Height, i).middle);
  *scale = MAX (wsi_absolute_sigma (values, heights->len), 0.02);
  for (guint i = 0; i < heights->len; i++)
  {
    Height *h = &g_array_index (heights, Height, i);
    h->weight = wsi_tukey_weight (h->middle / (WS_TUKEY_REACH * *scale));
  }
}

/* Weighted least squares of middle + turn * by_angle + shift = 0. */
static gboolean
solve_step (const GArray *heights, double *turn, double *shift)
{
  WsLeastSquares sums;
  double b[2];
  wsi_least_squares_init (&sums, 2);
  for (guint i = 0; i < heights->len; i++)
  {
    const Height *h = &g_array_index (heights, Height, i);
    const double row[2] = { h->by_angle, 1 };
    wsi_least_squares_add (&sums, row, -h->middle, h->weight);
  }
  if (!wsi_least_squares_solve (&sums, b, NULL))
    return FALSE;
  *turn = b[0];
  *shift = b[1];
  return TRUE;
}

/* Frame after u' = u + turn z + shift. */
static WsAxis
moved (const WsAxis *axis, double turn, double shift)
{
  const WsPoint across = wsi_point (-axis->direction.y, axis->direction.x);
  WsAxis next = { wsi_point_along (axis->origin, -shift, across), axis->direction };
  const double c = cos (turn), s = sin (turn);
  next.direction =
    wsi_point_along (wsi_point (c * axis->direction.x, c * axis->direction.y), -s, across);
  return next;
}

/* Heights that the biweight leaves out may be dirt, or the sign that the body is not symmetric
 * about this axis at all: an axis that heeds all of them, each by this much at most (own choice).
 */
#define MOST_PULL_PX 4.0

static gboolean
heed_all (const GArray *heights, double pivot, WsMirror *mirror)
{
  double squares = 0, pulls[2];
  WsLeastSquares sums;
  wsi_least_squares_init (&sums, 2);
  for (guint i = 0; i < heights->len; i++)
  {
    const Height *h = &g_array_index (heights, Height, i);
    const double row[2] = { h->by_angle - pivot, 1 };
    const double pull = CLAMP (h->middle, -MOST_PULL_PX, MOST_PULL_PX);
    wsi_least_squares_add (&sums, row, pull, 1);
    squares += pull * pull;
  }
  if (!wsi_least_squares_solve (&sums, pulls, NULL))
    return FALSE;
  mirror->pull_angle = pulls[0];
  mirror->pull_offset = pulls[1];
  squares -= pulls[0] * sums.b[0] + pulls[1] * sums.b[1];
  mirror->spread_px = sqrt (MAX (squares, 0) / heights->len);
  return TRUE;
}

/* Standard errors from the scatter of block sums of the estimating equations, which
 * carries the correlation along the edge (cluster-robust covariance). */
static gboolean
standard_errors (const GArray *heights, WsMirror *mirror)
{
  double w = 0, wj = 0, wjj = 0, square = 0, kept = 0;
  for (guint i = 0; i < heights->len; i++)
  {
    const Height *h = &g_array_index (heights, Height, i);
    w += h->weight;
    wj += h->weight * h->by_angle;
    wjj += h->weight * h->by_angle * h->by_angle;
    square += h->weight * h->middle * h->middle;
    kept += h->weight > 0.1;
  }
  if (!(w > 0))
    return FALSE;
  const double pivot = wj / w, inertia = wjj - wj * wj / w;
  if (!(inertia > 0))
    return FALSE;

  double by_turn = 0, by_shift = 0;
  for (guint block = 0; block < BLOCKS; block++)
  {
    double t = 0, s = 0;
    for (guint i = block * heights->len / BLOCKS; i < (block + 1) * heights->len / BLOCKS; i++)
    {
      const Height *h = &g_array_index (heights, Height, i);
      t += h->weight * (h->by_angle - pivot) * h->middle;
      s += h->weight * h->middle;
    }
    by_turn += t * t;
    by_shift += s * s;
  }
  /* Two unknowns from ten blocks; and the biweight makes the rest look a fifth too quiet
   * (own trials with white noise). */
  const double small_sample = 1.44 * BLOCKS / (BLOCKS - 2);
  mirror->u_angle = sqrt (small_sample * by_turn) / inertia;
  mirror->u_offset = sqrt (small_sample * by_shift) / w;
  mirror->pivot_z = pivot;
  mirror->rms_px = sqrt (square / w);
  mirror->kept = kept / heights->len;
  mirror->z_low = g_array_index (heights, Height, 0).z;
  mirror->z_high = g_array_index (heights, Height, heights->len - 1).z;
  mirror->length_px = mirror->z_high - mirror->z_low;
  return heed_all (heights, pivot, mirror);
}

gboolean
wsi_mirror_fit (const WsEdgePoint *points, guint n, const WsAxis *start, double z_low,
                double z_high, double spacing, WsMirror *mirror)
{
  memset (mirror, 0, sizeof *mirror);
  mirror->axis = *start;
  for (guint round = 0; round < MAX_ROUNDS; round++)
  {
    g_autoptr (GArray) heights =
      read_heights (points, n, &mirror->axis, z_low, z_high, STEP_SPACINGS * spacing);
    if (heights->len < MIN_STEPS)
      return FALSE;
    double turn, shift, scale;
    weigh (heights, &scale);
    if (!solve_step (heights, &turn, &shift) || fabs (turn) > 0.3)
      return FALSE;
    if (fabs (turn) < 1e-6 && fabs (shift) < 1e-3)
      return standard_errors (heights, mirror);
    mirror->axis = moved (&mirror->axis, turn, shift);
  }
  /* The weights may swing between two nearly equal answers; the last is as good. */
  g_autoptr (GArray) heights =
    read_heights (points, n, &mirror->axis, z_low, z_high, STEP_SPACINGS * spacing);
  double scale;
  if (heights->len < MIN_STEPS)
    return FALSE;
  weigh (heights, &scale);
  return standard_errors (heights, mirror);
}
