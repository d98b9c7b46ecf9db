#include "tool/drill/relief/tangent.h"

#include "base/geometry.h"
#include "maths/robust.h"
#include "maths/stats.h"

#include <string.h>

/* What flanks ground as cones have, in radii (own trials: 400 drills with points of 118 to 135
 * degrees, cones of several shapes; wider here than found there). */
#define BEND 0.045
#define U_BEND 0.12
#define TWIST 0.005 /* downward */
#define U_TWIST 0.03

/* Noise of edge points, px, at least (own trials on rendered drills). */
#define POINT_U 0.08

/* What scatters more is streaks', correlated over so many px (own trials: 70 rendered drills). */
#define STREAK_PX 30.0

/* Where steps of light are less than so many times those beside the edge, the corner is known worse
 * by this factor (the same trials). */
#define CLEAR 15.0
#define UNCLEAR_CORNER 2.5

/* What the model leaves over (the same trials: 0.06 degrees), and more for views that are slightly
 * turned (rendered drills). */
#define U_MODEL 0.0018

/* The land lies so much deeper by its lift, as cot of a half angle of 59 degrees; there the edge
 * falls faster than over the margin by this part of clearance times slope (the same trials). */
#define LIFT_PER_CLEARANCE 0.6
#define LAND_SLOPE 0.75

/* The margin's step, radii, and the stretch behind it that is left out. */
#define STEP_FROM 0.12
#define STEP_TO 0.28
#define STEP_WIDTH 0.035
#define STEP_EVERY 0.005

/* A lift that is smaller is none, px. */
#define LEAST_LIFT 2.5

/* A land that is shorter, radii, doesn't tell the bow: then the margin is all there is, and it is
 * no wider than this. */
#define LEAST_LAND 0.12
#define MARGIN 0.14

/* How far an edge may move where its lighter side is over-exposed, px (own trials). */
#define U_CLIPPED 0.6

enum
{
  LIFT = 4,
  SHIFT,
  N_TERMS
};

#define LEAST_POINTS 30
#define ROUNDS 8

typedef struct
{
  const WsPoint *points;
  const guint8 *clipped;
  guint n;
  double radius;
  double step;       /* s of the margin's step, px; HUGE_VAL for none */
  double correlated; /* points that share their light */
  double blurred;    /* px that the step's ends reach farther, since points are means */
} Problem;

typedef struct
{
  double x[N_TERMS];
  double inverse[N_TERMS * N_TERMS];
  double sigma; /* of the points, radii */
  double cost;
} Solution;

/* Variance of a mean of points times their number, radii squared. */
static double
spread_of (const Problem *problem, double sigma)
{
  const double least = POINT_U / problem->radius;
  const double streaks = MAX (sigma * sigma - least * least, 0);
  return problem->correlated * least * least + MAX (STREAK_PX, problem->correlated) * streaks;
}

static gboolean
is_left_out (const Problem *problem, guint i)
{
  const double s = problem->points[i].x;
  return s >= problem->radius ||
         (s > problem->step - 3 && s < problem->step + STEP_WIDTH * problem->radius);
}

/* Terms of the model; the land's slope goes with its lift, of the solution before. */
static double
terms_of (const Problem *problem, guint i, const double *before, double terms[N_TERMS])
{
  const WsPoint p = problem->points[i];
  const double psi = asin (p.x / problem->radius);
  const gboolean land = p.x > problem->step;
  terms[0] = 1;
  terms[1] = psi;
  terms[2] = psi * psi;
  terms[3] = psi * psi * psi;
  terms[LIFT] = land ? -1 : 0;
  terms[SHIFT] = problem->clipped[i];
  const double clearance = MAX (before[LIFT], 0) / LIFT_PER_CLEARANCE;
  return p.y / problem->radius - (land ? LAND_SLOPE * clearance * before[1] * psi : 0);
}

static gboolean
flank_row (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  const Problem *problem = data;
  if (is_left_out (problem, i))
    return FALSE;
  *value = terms_of (problem, i, x, row);
  return TRUE;
}

static void
add_priors (gconstpointer data, double sigma, WsLeastSquares *sums)
{
  const Problem *problem = data;
  const double k = spread_of (problem, sigma > 0 ? sigma : POINT_U / problem->radius);
  wsi_least_squares_prior (sums, 2, BEND, k / (U_BEND * U_BEND));
  wsi_least_squares_prior (sums, 3, -TWIST, k / (U_TWIST * U_TWIST));
  /* Without a land its lift is nothing. */
  wsi_least_squares_prior (sums, LIFT, 0, 1e-9);
  wsi_least_squares_prior (sums, SHIFT, 0,
                           k * problem->radius * problem->radius / (U_CLIPPED * U_CLIPPED));
}

static gboolean
solve (const Problem *problem, Solution *solution)
{
  const double least = POINT_U / problem->radius;
  const WsRobustModel model = { problem->n, N_TERMS, ROUNDS, 0.5 * least, flank_row, add_priors };
  g_autofree double *off = g_new (double, problem->n);
  WsRobustSolution found;
  if (!wsi_robust_fit (&model, problem, off, &found) || found.n_left < LEAST_POINTS)
    return FALSE;
  memcpy (solution->x, found.x, sizeof solution->x);
  memcpy (solution->inverse, found.inverse, sizeof solution->inverse);
  solution->sigma = found.sigma;
  solution->cost = 0;
  for (guint i = 0; i < found.n_left; i++)
    solution->cost += MIN (off[i] * off[i], 16 * least * least) / found.n_left;
  return TRUE;
}

/* The step where the model fits best. */
static gboolean
solve_with_step (Problem *problem, Solution *best)
{
  problem->step = HUGE_VAL;
  if (!solve (problem, best))
    return FALSE;
  double at = HUGE_VAL;
  const double last = problem->points[problem->n - 1].x;
  for (double step = STEP_FROM; step <= STEP_TO; step += STEP_EVERY)
  {
    if ((step + LEAST_LAND) * problem->radius > last)
      break;
    Solution now;
    problem->step = step * problem->radius;
    if (!solve (problem, &now) || now.x[LIFT] * problem->radius < LEAST_LIFT ||
        !(now.cost < best->cost))
      continue;
    *best = now;
    at = problem->step;
  }
  /* At the end of the range the true one lies beyond. */
  const double r = at / problem->radius;
  problem->step =
    r > STEP_FROM + 0.5 * STEP_EVERY && r < STEP_TO - 0.5 * STEP_EVERY ? at : HUGE_VAL;
  return TRUE;
}

/* A normal distribution's standard deviation over its median absolute deviation. */
#define NORMAL_MEDIAN 1.4826

/* What the margin's own points scatter by, radii: they tell the slope, and may be fainter than the
 * land's, which are more. */
static double
margin_scatter (const Problem *problem, const Solution *solution)
{
  g_autofree double *off = g_new (double, problem->n);
  guint n = 0;
  for (guint i = 0; i < problem->n && problem->points[i].x <= problem->step; i++)
  {
    double terms[N_TERMS], value;
    if (!flank_row (problem, i, solution->x, terms, &value))
      continue;
    for (guint k = 0; k < N_TERMS; k++)
      value -= terms[k] * solution->x[k];
    off[n++] = fabs (value);
  }
  return n > 0 ? NORMAL_MEDIAN * wsi_median (off, n) : 0;
}

/* Points that tell something: all, or those over the margin. */
static guint
n_telling (const WsReliefEdge *edge)
{
  guint n = edge->points->len;
  const WsPoint *points = (const WsPoint *)(const void *)edge->points->data;
  if (n > 0 && points[n - 1].x < (STEP_TO + LEAST_LAND) * edge->radius)
    while (n > 0 && points[n - 1].x > MARGIN * edge->radius)
      n--;
  return n;
}

gboolean
wsi_relief_tangent (const WsReliefEdge *edge, WsReliefTangent *tangent)
{
  const WsPoint *points = (const WsPoint *)(const void *)edge->points->data;
  const guint n = n_telling (edge);
  const double radius = edge->radius;
  Problem problem = { points,
                      (const guint8 *)(const void *)edge->clipped->data,
                      n,
                      radius,
                      HUGE_VAL,
                      2 * wsi_relief_smooth (edge->reach) + 1,
                      0.5 * (edge->reach - WS_RELIEF_SHORT_REACH) };
  Solution solution;
  if (n < LEAST_POINTS || !solve_with_step (&problem, &solution))
    return FALSE;
  const double u_corner = edge->u_corner * (edge->clarity < CLEAR ? UNCLEAR_CORNER : 1);
  tangent->angle = atan (solution.x[1]);
  const double scatter = MAX (solution.sigma, margin_scatter (&problem, &solution));
  tangent->u =
    hypot (sqrt (spread_of (&problem, scatter) * solution.inverse[N_TERMS + 1]), U_MODEL);
  tangent->bend = solution.x[2];
  tangent->u_corner = fabs (2 * solution.x[2]) * u_corner / radius;
  tangent->step_at = isfinite (problem.step) ? problem.step : NAN;
  tangent->lift = isfinite (problem.step) ? solution.x[LIFT] * radius : 0;
  tangent->length = points[n - 1].x;
  tangent->scatter = solution.sigma * radius;
  return TRUE;
}

gboolean
wsi_relief_tangent_beyond (const WsReliefEdge *edge, double from, WsReliefTangent *tangent)
{
  WsReliefEdge beyond = *edge;
  beyond.points = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  beyond.clipped = g_array_new (FALSE, FALSE, sizeof (guint8));
  for (guint i = 0; i < edge->points->len; i++)
    if (g_array_index (edge->points, WsPoint, i).x >= from)
    {
      g_array_append_val (beyond.points, g_array_index (edge->points, WsPoint, i));
      g_array_append_val (beyond.clipped, g_array_index (edge->clipped, guint8, i));
    }
  const gboolean found = wsi_relief_tangent (&beyond, tangent);
  wsi_relief_edge_clear (&beyond);
  return found;
}
