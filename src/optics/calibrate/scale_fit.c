#include "optics/calibrate/scale_fit.h"

#include <math.h>
#include <string.h>

#include "maths/least_squares.h"
#include "maths/stats.h"
#include "optics/lens.h"

/* Unknown: px per mm, edge shift in px, K1. */
#define UNKNOWNS 3

/* What is known of a telecentric lens beforehand: it bends the corners by some 0.1 % at most.
 * Common practice, no source. */
#define U_RADIAL 1e-3

/* Data tell a parameter when they leave less than this part of what was known before. */
#define TOLD 0.5

/* K1 is taken for real when it exceeds so many times its standard uncertainty. */
#define SIGNIFICANT 3.0

/* Widths farther off than so many standard deviations are rejected, but none for less than
 * this, px: it isn't worth losing a picture.  Of sets whose widths scatter normally one in
 * forty loses one; own trials with 6 to 60 widths. */
#define REJECT_SIGMAS 4.5
#define REJECT_LEAST_PX 0.03

#define ROBUST_ROUNDS 40

/* Bisection of the extra scatter: beyond any that widths which agree can have, and to far less
 * than matters. */
#define MOST_EXTRA_PX 100.0
#define EXTRA_ROUNDS 40

typedef struct
{
  const WsScaleWidth *widths;
  guint n;
  const double *weight; /* of each, 0: left out; robust rounds use others than 0 and 1 */
  double u_shift_px;
  double u_radial; /* 0 holds K1 at 0 */
  double extra_px; /* scatter of widths beyond their own u */
  double spread;   /* factor on the widths' variances */
} Problem;

typedef struct
{
  double x[UNKNOWNS];
  double covariance[UNKNOWNS * UNKNOWNS];
} Solution;

/* ---- Least squares with an error common to each artefact ------------------------------ */

/* Sums over widths, for which V^-1 = W - W 1 1' W c / (1 + c 1' W 1) within an artefact
 * (Sherman & Morrison, Ann. Math. Stat. 21, 1950). */
static void
row_of (const WsScaleWidth *width, double row[UNKNOWNS])
{
  row[0] = width->size_mm;
  row[1] = -width->shift_gain;
  row[2] = -width->radial_gain_px;
}

static double
weight_of (const Problem *problem, guint i)
{
  const double u = hypot (problem->widths[i].u_px, problem->extra_px);
  return problem->weight[i] / (u * u);
}

/* What an artefact's common error takes away from the plain sums. */
static void
subtract_common (const Problem *problem, guint artefact, const double *y, double px_per_mm,
                 WsLeastSquares *eq)
{
  double sum = 0, sum_y = 0, sums[UNKNOWNS] = { 0 }, u = 0;
  for (guint i = 0; i < problem->n; i++)
  {
    if (problem->widths[i].artefact != artefact)
      continue;
    double row[UNKNOWNS];
    row_of (&problem->widths[i], row);
    const double w = weight_of (problem, i);
    for (guint j = 0; j < UNKNOWNS; j++)
      sums[j] += w * row[j];
    sum += w;
    sum_y += w * y[i];
    u = problem->widths[i].u_mm * px_per_mm;
  }
  const double common = u * u / (1 + u * u * sum);
  wsi_least_squares_add (eq, sums, sum_y, -common);
}

static guint
n_artefacts (const Problem *problem)
{
  guint most = 0;
  for (guint i = 0; i < problem->n; i++)
    most = MAX (most, problem->widths[i].artefact + 1);
  return most;
}

/* Unknowns that explain `y` in place of the widths. */
static gboolean
solve (const Problem *problem, const double *y, double px_per_mm, Solution *solution)
{
  WsLeastSquares widths, eq;
  wsi_least_squares_init (&widths, UNKNOWNS);
  for (guint i = 0; i < problem->n; i++)
  {
    double row[UNKNOWNS];
    row_of (&problem->widths[i], row);
    wsi_least_squares_add (&widths, row, y[i], weight_of (problem, i));
  }
  for (guint g = 0; g < n_artefacts (problem); g++)
    subtract_common (problem, g, y, px_per_mm, &widths);
  wsi_least_squares_init (&eq, UNKNOWNS);
  wsi_least_squares_add_sums (&eq, &widths, 1 / problem->spread);
  wsi_least_squares_prior (&eq, 1, 0, 1 / (problem->u_shift_px * problem->u_shift_px));
  /* K1 held at 0: known to a billionth. */
  const double u_radial = problem->u_radial > 0 ? problem->u_radial : 1e-9;
  wsi_least_squares_prior (&eq, 2, 0, 1 / (u_radial * u_radial));
  return wsi_least_squares_solve (&eq, solution->x, solution->covariance);
}

static double
residual_of (const WsScaleWidth *width, const Solution *solution)
{
  double row[UNKNOWNS], said = 0;
  row_of (width, row);
  for (guint j = 0; j < UNKNOWNS; j++)
    said += row[j] * solution->x[j];
  return width->width_px - said;
}

/* px per mm, roughly: all that artefacts' uncertainties need to become px. */
static double
rough_scale (const Problem *problem)
{
  double width = 0, size = 0;
  for (guint i = 0; i < problem->n; i++)
  {
    width += problem->widths[i].width_px;
    size += problem->widths[i].size_mm;
  }
  return width / size;
}

static gboolean
solve_widths (const Problem *problem, Solution *solution)
{
  g_autofree double *y = g_new (double, problem->n);
  for (guint i = 0; i < problem->n; i++)
    y[i] = problem->widths[i].width_px;
  return solve (problem, y, rough_scale (problem), solution);
}

/* ---- What the widths tell --------------------------------------------------------------- */

static guint
n_used (const Problem *problem)
{
  guint n = 0;
  for (guint i = 0; i < problem->n; i++)
    n += problem->weight[i] > 0 ? 1 : 0;
  return n;
}

static gboolean
tells (const Solution *solution, guint unknown, double before)
{
  return before > 0 && sqrt (solution->covariance[unknown * UNKNOWNS + unknown]) < TOLD * before;
}

/* Widths less the unknowns that they tell: the scale, and edge shift and K1 or not. */
static guint
freedom_of (const Problem *problem, const Solution *solution)
{
  guint told = 1;
  told += tells (solution, 1, problem->u_shift_px) ? 1 : 0;
  told += tells (solution, 2, problem->u_radial) ? 1 : 0;
  const guint n = n_used (problem);
  return n > told ? n - told : 0;
}

/* ---- Widths that don't agree ----------------------------------------------------------- */

static double
median_u (const Problem *problem)
{
  g_autofree double *u = g_new (double, problem->n);
  for (guint i = 0; i < problem->n; i++)
    u[i] = problem->widths[i].u_px;
  return wsi_median (u, problem->n);
}

/* Least absolute residuals by reweighting: half of the widths may be wrong without moving it
 * far (Schlossmacher, J. Am. Stat. Assoc. 68, 1973).  Widths that claim to be much better than
 * others are not believed yet. */
static gboolean
solve_robustly (Problem *problem, double *weight, Solution *solution)
{
  const double usual = median_u (problem);
  for (guint i = 0; i < problem->n; i++)
    weight[i] = 1;
  problem->extra_px = usual;
  for (guint round = 0; round < ROBUST_ROUNDS; round++)
  {
    if (!solve_widths (problem, solution))
      return FALSE;
    for (guint i = 0; i < problem->n; i++)
      weight[i] = usual / MAX (fabs (residual_of (&problem->widths[i], solution)), 0.1 * usual);
  }
  problem->extra_px = 0;
  return TRUE;
}

/* Robust standard deviation of residuals of least absolute value, of which as many vanish as
 * there are unknowns. */
static double
robust_sigma (const Problem *problem, const Solution *solution)
{
  const guint n = problem->n, freedom = freedom_of (problem, solution);
  if (freedom == 0)
    return HUGE_VAL;
  g_autofree double *off = g_new (double, n);
  for (guint i = 0; i < n; i++)
    off[i] = fabs (residual_of (&problem->widths[i], solution));
  /* The middle one of the greatest `freedom`. */
  const double rank = n - freedom + 0.5 * (freedom - 1);
  return WS_SIGMA_PER_MEDIAN * wsi_quantile (off, n, rank / (n - 1));
}

/* Sets weights to 1 for widths that count and 0 for others.  FALSE when fewer than half do. */
static gboolean
reject (const Problem *problem, const Solution *solution, double *weight)
{
  const double px_per_mm = rough_scale (problem), sigma = robust_sigma (problem, solution);
  guint kept = 0;
  for (guint i = 0; i < problem->n; i++)
  {
    const WsScaleWidth *width = &problem->widths[i];
    const double own = hypot (width->u_px, width->u_mm * px_per_mm);
    const double reach = MAX (REJECT_SIGMAS * MAX (own, sigma), REJECT_LEAST_PX);
    weight[i] = fabs (residual_of (width, solution)) <= reach ? 1 : 0;
    kept += weight[i] > 0 ? 1 : 0;
  }
  return 2 * kept >= problem->n;
}

/* ---- What the residuals say -------------------------------------------------------------- */

/* Student's t that covers 95.45 %, JCGM 100:2008, table G.2. */
static double
coverage_factor (guint freedom)
{
  static const double few[] = { 13.97, 4.53, 3.31, 2.87, 2.65, 2.52, 2.43, 2.37, 2.32, 2.28 };
  return freedom <= G_N_ELEMENTS (few) ? few[freedom - 1] : 2 + 2.6 / freedom;
}

/* Chi squared of the used widths, their common errors considered. */
static double
chi_squared (const Problem *problem, const Solution *solution)
{
  const double px_per_mm = rough_scale (problem);
  double chi2 = 0;
  for (guint g = 0; g < n_artefacts (problem); g++)
  {
    double sum = 0, sum_r = 0, u = 0;
    for (guint i = 0; i < problem->n; i++)
    {
      if (problem->widths[i].artefact != g)
        continue;
      const double r = residual_of (&problem->widths[i], solution), w = weight_of (problem, i);
      chi2 += w * r * r;
      sum_r += w * r;
      sum += w;
      u = problem->widths[i].u_mm * px_per_mm;
    }
    chi2 -= u * u * sum_r * sum_r / (1 + u * u * sum);
  }
  return chi2;
}

/* Chi squared when widths scatter by so much beyond their own u. */
static gboolean
try_extra (Problem *problem, double extra_px, Solution *solution, double *chi2)
{
  problem->extra_px = extra_px;
  if (!solve_widths (problem, solution))
    return FALSE;
  *chi2 = chi_squared (problem, solution);
  return TRUE;
}

/* The scatter beyond their own u that makes chi squared what its degrees of freedom say (Paule &
 * Mandel, J. Res. NBS 87, 1982), by bisection. */
static gboolean
find_extra (Problem *problem, guint freedom, Solution *solution)
{
  double low = 0, high = MOST_EXTRA_PX, chi2;
  for (guint round = 0; round < EXTRA_ROUNDS; round++)
  {
    const double middle = 0.5 * (low + high);
    if (!try_extra (problem, middle, solution, &chi2))
      return FALSE;
    *(chi2 > freedom ? &low : &high) = middle;
  }
  return TRUE;
}

/* Solves with variances that the residuals bear out; (C12). */
static gboolean
solve_spread (Problem *problem, Solution *solution)
{
  double chi2;
  problem->spread = 1;
  if (!try_extra (problem, 0, solution, &chi2))
    return FALSE;
  const guint freedom = freedom_of (problem, solution);
  if (freedom == 0)
    return TRUE;
  const double t = coverage_factor (freedom) / 2;
  problem->spread = MAX (1, MIN (1, chi2 / freedom) * t * t);
  if (chi2 > freedom && !find_extra (problem, freedom, solution))
    return FALSE;
  return solve_widths (problem, solution);
}

/* ---- The fit ----------------------------------------------------------------------------- */

/* How scale and edge shift would answer to K1 when it is held at 0: (C13). */
static gboolean
add_unknown_radial (const Problem *problem, double variance, Solution *solution)
{
  g_autofree double *y = g_new (double, problem->n);
  for (guint i = 0; i < problem->n; i++)
    y[i] = problem->widths[i].radial_gain_px;
  Solution answer;
  if (!solve (problem, y, rough_scale (problem), &answer))
    return FALSE;
  answer.x[2] = 1;
  solution->covariance[2 * UNKNOWNS + 2] = 0;
  for (guint j = 0; j < UNKNOWNS; j++)
    for (guint k = 0; k < UNKNOWNS; k++)
      solution->covariance[j * UNKNOWNS + k] += variance * answer.x[j] * answer.x[k];
  return TRUE;
}

/* From px per mm to mm per px, in the lens' order. */
static void
give (const Solution *solution, WsScaleFit *fit)
{
  static const guint place[UNKNOWNS] = { WS_LENS_T_SCALE, WS_LENS_EDGE_SHIFT, WS_LENS_T_K1 };
  const double s = 1 / solution->x[0];
  const double factor[UNKNOWNS] = { -s * s, 1, 1 };
  for (guint j = 0; j < UNKNOWNS; j++)
  {
    fit->value[place[j]] = j == 0 ? s : solution->x[j];
    for (guint k = 0; k < UNKNOWNS; k++)
      fit->covariance[place[j] * WS_LENS_T_N + place[k]] =
        factor[j] * factor[k] * solution->covariance[j * UNKNOWNS + k];
  }
}

/* RMS with its degrees of freedom; without any, what the widths' own uncertainties say. */
static double
residual_rms (const Problem *problem, const Solution *solution)
{
  const guint freedom = freedom_of (problem, solution);
  double squares = 0, greatest = 0;
  for (guint i = 0; i < problem->n; i++)
  {
    const double r = residual_of (&problem->widths[i], solution);
    squares += problem->weight[i] * r * r;
    greatest = MAX (greatest, problem->weight[i] * problem->widths[i].u_px);
  }
  return freedom > 0 ? sqrt (squares / freedom) : greatest;
}

/* Decides on K1 with the widths that count. */
static gboolean
conclude (Problem *problem, WsScaleFit *fit, Solution *solution)
{
  problem->u_radial = U_RADIAL;
  if (!solve_spread (problem, solution))
    return FALSE;
  const double u = sqrt (solution->covariance[2 * UNKNOWNS + 2]), radial = solution->x[2];
  fit->has_radial = tells (solution, 2, U_RADIAL) && fabs (radial) > SIGNIFICANT * u;
  if (fit->has_radial)
    return TRUE;
  problem->u_radial = 0;
  if (!solve_spread (problem, solution))
    return FALSE;
  solution->x[2] = 0;
  return add_unknown_radial (problem, MIN (u * u + radial * radial, U_RADIAL * U_RADIAL), solution);
}

gboolean
wsi_scale_fit (const WsScaleWidth *widths, guint n, double u_shift_px, WsScaleFit *fit,
               WsScaleResidual *residuals)
{
  memset (fit, 0, sizeof *fit);
  if (n == 0)
    return FALSE;
  g_autofree double *weight = g_new (double, n);
  Problem problem = { widths, n, weight, u_shift_px, U_RADIAL, 0, 1 };
  Solution solution;
  if (!solve_robustly (&problem, weight, &solution))
    return FALSE;
  const gboolean agree = reject (&problem, &solution, weight);
  if (agree && !conclude (&problem, fit, &solution))
    return FALSE;
  for (guint i = 0; i < n; i++)
  {
    residuals[i].rejected = !(weight[i] > 0);
    residuals[i].px = residual_of (&widths[i], &solution);
  }
  if (!agree)
    return FALSE;
  give (&solution, fit);
  fit->has_shift = tells (&solution, 1, u_shift_px);
  fit->usual_u_px = median_u (&problem);
  fit->n_used = n_used (&problem);
  fit->residual_px = residual_rms (&problem, &solution);
  return TRUE;
}

double
wsi_scale_fit_u_shift (double blur_px, gboolean is_clipped)
{
  /* Unclipped: what an unstated tone curve moves an edge by, 0.3 px at usual blurs (edge in
   * sRGB code against light: 0.6 px at s = 1, taken as two standard uncertainties).  Clipped:
   * s Phi^-1 (c / 2) for a ground of 1 / c times full scale; c = 0.3 moves it by s. */
  return is_clipped ? hypot (0.3, blur_px) : 0.3;
}

WsLens
wsi_scale_fit_lens (const WsScaleFit *fit, guint width, guint height)
{
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = width, .height = height };
  memcpy (lens.parameters, fit->value, sizeof fit->value);
  memcpy (lens.covariance, fit->covariance, sizeof fit->covariance);
  /* A width is off by both its edges.  Few widths may agree by chance better than their own
   * uncertainty lets them. */
  lens.residual_px = 0.5 * MAX (fit->residual_px, fit->usual_u_px);
  return lens;
}
