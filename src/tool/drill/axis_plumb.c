#include "tool/drill/axis_plumb.h"

#include "base/geometry.h"
#include "edge/sides.h"
#include "maths/robust.h"

/* Height of one step along the axis, in spacings of the points. */
#define STEP_SPACINGS 3.0

#define MIN_STEPS 24
#define BLOCKS 10
#define ROUNDS 12

/* Of mid-points, px. */
#define LEAST_SIGMA 0.02

/* A bend has to stand out by so many of its standard uncertainties: own trials on plain drills, 3.0
 * at most, of one with dirt on its body.  Lean and skew take up to a part of it. */
#define STANDS_OUT 4.0
#define TAKEN_UP 0.3

/* The axis' place and direction, a skew, a lean, the lens. */
enum
{
  PLACE,
  TURN,
  SKEW,
  LEAN,
  BEND,
  N_UNKNOWNS
};

typedef struct
{
  const GArray *sides;
  const WsAxis *axis;
  double pivot;
  WsPoint middle;
} Model;

/* By how much a distortion of 1 moves one side's outline across, at its height. */
static double
moved_across (const Model *model, double u, double z, double slope)
{
  const WsPoint d = model->axis->direction;
  const WsPoint away =
    wsi_point_sub (wsi_axis_to_picture (model->axis, wsi_point (u, z)), model->middle);
  const double part = wsi_point_dot (away, away) / wsi_point_dot (model->middle, model->middle);
  const WsPoint across = wsi_point (-d.y, d.x);
  return part * (wsi_point_dot (away, across) - slope * wsi_point_dot (away, d));
}

static void
row_of (const Model *model, guint i, double row[N_UNKNOWNS])
{
  const WsBothSides *at = &g_array_index (model->sides, WsBothSides, i);
  const double half = 0.5 * (at->right - at->left);
  const double slope = 0.5 * (at->right_slope - at->left_slope);
  row[PLACE] = 1;
  row[TURN] = at->z - model->pivot + half * slope;
  row[SKEW] = half * slope;
  row[LEAN] = slope * slope;
  row[BEND] = 0.5 * (moved_across (model, at->left, at->z, at->left_slope) +
                     moved_across (model, at->right, at->z, at->right_slope));
}

static gboolean
mid_point (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  const Model *model = data;
  const WsBothSides *at = &g_array_index (model->sides, WsBothSides, i);
  (void)x;
  row_of (model, i, row);
  *value = 0.5 * (at->left + at->right);
  return TRUE;
}

/* Variance of the bend by the scatter of block sums, as for the axis; not below white noise. */
static double
variance_of_bend (const Model *model, const double *residuals, const WsRobustSolution *solution)
{
  const double *inverse = solution->inverse + BEND * N_UNKNOWNS;
  const guint n = model->sides->len;
  double moved[BLOCKS] = { 0 }, variance = 0;
  for (guint i = 0; i < n; i++)
  {
    double row[N_UNKNOWNS], part = 0;
    row_of (model, i, row);
    for (guint k = 0; k < N_UNKNOWNS; k++)
      part += inverse[k] * row[k];
    const double w = wsi_tukey_weight (residuals[i] / (WS_TUKEY_REACH * solution->sigma));
    moved[(gsize)i * BLOCKS / n] += w * part * residuals[i];
  }
  for (guint b = 0; b < BLOCKS; b++)
    variance += moved[b] * moved[b] * BLOCKS / (BLOCKS - 2);
  return variance + inverse[BEND] * solution->sigma * solution->sigma;
}

WsPlumb
wsi_drill_axis_plumb (const WsDrillPoint *point, guint width, guint height)
{
  const WsMirror *mirror = &point->mirror;
  const GArray *points = point->outline->points;
  WsPlumb plumb = { .u = HUGE_VAL };
  g_autoptr (GArray) sides =
    wsi_both_sides ((const WsEdgePoint *)(const void *)points->data, points->len, &mirror->axis,
                    mirror->z_low, mirror->z_high, STEP_SPACINGS * point->outline->spacing_px);
  if (sides->len < MIN_STEPS)
    return plumb;
  const Model model = { sides,
                        &mirror->axis,
                        0.5 * (mirror->z_low + mirror->z_high),
                        { 0.5 * (width - 1.0), 0.5 * (height - 1.0) } };
  const WsRobustModel robust = { sides->len, N_UNKNOWNS, ROUNDS, LEAST_SIGMA, mid_point, NULL };
  g_autofree double *residuals = g_new (double, sides->len);
  WsRobustSolution solution;
  if (!wsi_robust_fit (&robust, &model, residuals, &solution))
    return plumb;
  const double u = sqrt (variance_of_bend (&model, residuals, &solution));
  const double bend = solution.x[BEND];
  if (!(fabs (bend) > STANDS_OUT * u))
    return plumb;
  return (WsPlumb){ .distortion = bend, .u = hypot (u, TAKEN_UP * bend), .lines = 2 };
}
