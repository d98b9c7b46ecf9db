#include "edge/asymmetry.h"

#include <math.h>
#include <string.h>

#include "edge/sides.h"
#include "maths/robust.h"

/* Height of one step along the axis, in spacings of the points: two or three points a side. */
#define STEP_SPACINGS 3.0

#define MIN_STEPS 24
#define BLOCKS 10
#define ROUNDS 12

/* A straight line for the axis, and the terms. */
#define N_LINE 2
#define N_UNKNOWNS (N_LINE + WS_N_ASYMMETRIES)
#define ALL_TERMS ((1u << WS_N_ASYMMETRIES) - 1)

/* Of mid-points, px: exact symmetry would leave out everything but itself. */
#define LEAST_SIGMA 0.02

typedef struct
{
  const GArray *sides;
  double pivot;
  guint terms;
} Model;

static void
row_of (const Model *model, const WsBothSides *at, double row[N_UNKNOWNS])
{
  const double half = 0.5 * (at->right - at->left);
  const double slope = 0.5 * (at->right_slope - at->left_slope), z = at->z - model->pivot;
  const double term[WS_N_ASYMMETRIES] = { half * slope, slope * slope, slope * slope * z };
  row[0] = 1;
  row[1] = z + half * slope;
  for (guint i = 0; i < WS_N_ASYMMETRIES; i++)
    row[N_LINE + i] = model->terms & 1u << i ? term[i] : 0;
}

static gboolean
mid_point (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  const Model *model = data;
  const WsBothSides *at = &g_array_index (model->sides, WsBothSides, i);
  (void)x;
  row_of (model, at, row);
  *value = 0.5 * (at->left + at->right);
  return TRUE;
}

/* What isn't sought is held at 0. */
static void
hold (gconstpointer data, double sigma, WsLeastSquares *sums)
{
  const Model *model = data;
  (void)sigma;
  for (guint i = 0; i < WS_N_ASYMMETRIES; i++)
    if (!(model->terms & 1u << i))
      wsi_least_squares_prior (sums, N_LINE + i, 0, 1);
}

/* Covariance by the scatter of block sums, as for the axis; not below what white noise of the
 * mid-points would make of it. */
static void
covariance_of (const Model *model, const double *residuals, const WsRobustSolution *solution,
               WsAsymmetry *found)
{
  const guint n = model->sides->len;
  double scores[BLOCKS][N_UNKNOWNS] = { { 0 } }, square = 0, weight = 0;
  for (guint i = 0; i < n; i++)
  {
    double row[N_UNKNOWNS];
    row_of (model, &g_array_index (model->sides, WsBothSides, i), row);
    const double w = wsi_tukey_weight (residuals[i] / (WS_TUKEY_REACH * solution->sigma));
    for (guint k = 0; k < N_UNKNOWNS; k++)
      scores[(gsize)i * BLOCKS / n][k] += w * row[k] * residuals[i];
    square += w * residuals[i] * residuals[i];
    weight += w;
  }
  found->left_px = weight > 0 ? sqrt (square / weight) : HUGE_VAL;
  for (guint block = 0; block < BLOCKS; block++)
  {
    double moved[WS_N_ASYMMETRIES];
    for (guint i = 0; i < WS_N_ASYMMETRIES; i++)
    {
      const double *inverse = solution->inverse + (N_LINE + i) * N_UNKNOWNS;
      moved[i] = 0;
      for (guint k = 0; k < N_UNKNOWNS; k++)
        moved[i] += inverse[k] * scores[block][k];
    }
    for (guint i = 0; i < WS_N_ASYMMETRIES; i++)
      for (guint j = 0; j < WS_N_ASYMMETRIES; j++)
        found->covariance[i][j] += moved[i] * moved[j] * BLOCKS / (BLOCKS - N_LINE);
  }
  for (guint i = 0; i < WS_N_ASYMMETRIES; i++)
    if (model->terms & 1u << i)
      found->covariance[i][i] +=
        solution->inverse[(N_LINE + i) * (N_UNKNOWNS + 1)] * solution->sigma * solution->sigma;
}

static Model
model_of (const GArray *sides, const WsMirror *mirror, guint terms)
{
  return (Model){ sides, 0.5 * (mirror->z_low + mirror->z_high), terms };
}

gboolean
wsi_asymmetry_fit (const WsEdgePoint *points, guint n, const WsMirror *mirror, double spacing,
                   guint terms, WsAsymmetry *found)
{
  memset (found, 0, sizeof *found);
  g_autoptr (GArray) sides = wsi_both_sides (points, n, &mirror->axis, mirror->z_low,
                                             mirror->z_high, STEP_SPACINGS * spacing);
  if (sides->len < MIN_STEPS)
    return FALSE;
  const Model model = model_of (sides, mirror, terms);
  const WsRobustModel robust = { sides->len, N_UNKNOWNS, ROUNDS, LEAST_SIGMA, mid_point, hold };
  g_autofree double *residuals = g_new (double, sides->len);
  WsRobustSolution solution;
  if (!wsi_robust_fit (&robust, &model, residuals, &solution))
    return FALSE;
  for (guint i = 0; i < WS_N_ASYMMETRIES; i++)
    found->term[i] = solution.x[N_LINE + i];
  covariance_of (&model, residuals, &solution, found);
  return TRUE;
}

/* How far the mid-point at one height lies off, by the terms alone. */
static double
off_at (const Model *model, const WsAsymmetry *found, guint i)
{
  double row[N_UNKNOWNS], sum = 0;
  row_of (model, &g_array_index (model->sides, WsBothSides, i), row);
  for (guint k = 0; k < WS_N_ASYMMETRIES; k++)
    sum += row[N_LINE + k] * found->term[k];
  return sum;
}

void
wsi_asymmetry_undo (WsEdgePoint *points, guint n, const WsMirror *mirror, double spacing,
                    const WsAsymmetry *found)
{
  g_autoptr (GArray) sides = wsi_both_sides (points, n, &mirror->axis, mirror->z_low,
                                             mirror->z_high, STEP_SPACINGS * spacing);
  const Model model = model_of (sides, mirror, ALL_TERMS);
  const WsPoint d = mirror->axis.direction;
  for (guint p = 0; p < n && sides->len > 0; p++)
  {
    const WsPoint uz = wsi_axis_to_tool (&mirror->axis, wsi_point (points[p].x, points[p].y));
    guint low = 0, high = sides->len - 1;
    if (uz.y < g_array_index (sides, WsBothSides, low).z ||
        uz.y > g_array_index (sides, WsBothSides, high).z)
      continue;
    while (high - low > 1)
    {
      const guint middle = (low + high) / 2;
      *(g_array_index (sides, WsBothSides, middle).z <= uz.y ? &low : &high) = middle;
    }
    const double from = g_array_index (sides, WsBothSides, low).z;
    const double run = g_array_index (sides, WsBothSides, high).z - from;
    const double part = run > 0 ? (uz.y - from) / run : 0;
    const double off =
      (1 - part) * off_at (&model, found, low) + part * off_at (&model, found, high);
    points[p].x += off * d.y;
    points[p].y -= off * d.x;
  }
}
