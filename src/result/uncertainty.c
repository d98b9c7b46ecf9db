#include "result/uncertainty.h"

#include <math.h>
#include <stdlib.h>

#include "maths/solve.h"

/* ---- First order ------------------------------------------------------------------ */

static double
correlation_of (const WsUncertain *uncertain, guint i, guint j)
{
  if (i == j)
    return 1;
  return uncertain->correlation != NULL ? uncertain->correlation[i * uncertain->n + j] : 0;
}

static double
value_at (const WsUncertain *uncertain, guint moved, double by)
{
  double inputs[WS_INPUTS_MAX];
  for (guint i = 0; i < uncertain->n; i++)
    inputs[i] = uncertain->inputs[i].value + (i == moved ? by : 0);
  return uncertain->model (inputs, uncertain->data);
}

double
wsi_covariance (const WsUncertain *uncertain, const WsFirstOrder *a, const WsFirstOrder *b)
{
  double sum = 0;
  for (guint i = 0; i < uncertain->n; i++)
    for (guint j = 0; j < uncertain->n; j++)
      sum += a->sensitivity[i] * b->sensitivity[j] * correlation_of (uncertain, i, j) *
             uncertain->inputs[i].u * uncertain->inputs[j].u;
  return sum;
}

static double
effective_dof (const WsUncertain *uncertain, const WsFirstOrder *result)
{
  double sum = 0;
  if (uncertain->correlation != NULL)
    return NAN;
  for (guint i = 0; i < uncertain->n; i++)
    sum += pow (result->sensitivity[i] * uncertain->inputs[i].u, 4) / uncertain->inputs[i].dof;
  return sum > 0 ? pow (result->u, 4) / sum : (double)INFINITY;
}

gboolean
wsi_first_order (const WsUncertain *uncertain, WsFirstOrder *result)
{
  *result = (WsFirstOrder){ .value = value_at (uncertain, 0, 0) };
  for (guint i = 0; i < uncertain->n; i++)
  {
    const double step = uncertain->inputs[i].u;
    if (step > 0)
      result->sensitivity[i] =
        (value_at (uncertain, i, step) - value_at (uncertain, i, -step)) / (2 * step);
  }
  result->u = sqrt (fmax (wsi_covariance (uncertain, result, result), 0));
  result->dof = effective_dof (uncertain, result);
  return isfinite (result->value) && isfinite (result->u);
}

/* ---- Student's t ------------------------------------------------------------------ */

/* Probability that |t| < `t`, by the finite series for whole degrees of freedom (Abramowitz &
 * Stegun 1964, 26.7.3 and 26.7.4). */
static double
student_within (double t, guint dof)
{
  const double angle = atan (t / sqrt (dof)), c = cos (angle), c2 = c * c;
  double term = dof % 2 ? c : 1, sum = dof > 1 ? term : 0;
  for (guint k = dof % 2 ? 3 : 2; k + 2 <= dof; k += 2)
  {
    term *= c2 * (k - 1) / k;
    sum += term;
  }
  return dof % 2 ? 2 / G_PI * (angle + sin (angle) * sum) : sin (angle) * sum;
}

/* Degrees of freedom from which the normal distribution is as good as Student's, to 1e-5. */
#define MANY_DOF 100000.0

/* t for p = 0.9999 and one degree of freedom is 6366. */
#define GREATEST_T 1e6
#define BISECTIONS 80

double
wsi_coverage_factor (double p, double dof)
{
  const guint whole = (guint)CLAMP (floor (dof), 1, MANY_DOF);
  double low = 0, high = GREATEST_T;
  for (guint i = 0; i < BISECTIONS; i++)
  {
    const double middle = 0.5 * (low + high);
    if (student_within (middle, whole) < p)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* ---- Monte Carlo ------------------------------------------------------------------ */

/* Box & Muller (1958), one of the pair. */
static double
draw_normal (GRand *random)
{
  const double radius = sqrt (-2 * log (1 - g_rand_double (random)));
  return radius * cos (2 * G_PI * g_rand_double (random));
}

/* JCGM 101:2008, 6.4.9.4: a normal value over the root of a chi-squared one by its degrees of
 * freedom. */
static double
draw_student (GRand *random, double dof)
{
  double squares = 0;
  const guint n = (guint)floor (dof);
  const double z = draw_normal (random);
  for (guint i = 0; i < n; i++)
  {
    const double w = draw_normal (random);
    squares += w * w;
  }
  return z / sqrt (squares / n);
}

/* Degrees of freedom beyond which a Student's t is drawn as normal. */
#define DOF_DRAWN 1000.0

/* Of the input's deviation in units of its u. */
static double
draw (GRand *random, const WsInput *input)
{
  switch (input->distribution)
  {
  case WS_DISTRIBUTION_RECTANGULAR:
    return sqrt (3) * (2 * g_rand_double (random) - 1);
  case WS_DISTRIBUTION_STUDENT:
    return input->dof >= 1 && input->dof < DOF_DRAWN ? draw_student (random, input->dof)
                                                     : draw_normal (random);
  case WS_DISTRIBUTION_ONE_SIDED:
    return fabs (draw_normal (random));
  case WS_DISTRIBUTION_NORMAL:
    break;
  }
  return draw_normal (random);
}

/* Lower factor L of the correlations, L L'; FALSE when they are impossible. */
static gboolean
factor (const WsUncertain *uncertain, double *L)
{
  const guint n = uncertain->n;
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j <= i; j++)
      L[i * n + j] = correlation_of (uncertain, i, j);
  return wsi_factor_spd (L, n);
}

static gboolean
may_be_drawn (const WsUncertain *uncertain)
{
  for (guint i = 0; uncertain->correlation != NULL && i < uncertain->n; i++)
    if (uncertain->inputs[i].distribution != WS_DISTRIBUTION_NORMAL)
      return FALSE;
  return TRUE;
}

static double
trial (const WsUncertain *uncertain, const double *L, GRand *random)
{
  const guint n = uncertain->n;
  double drawn[WS_INPUTS_MAX], inputs[WS_INPUTS_MAX];
  for (guint i = 0; i < n; i++)
    drawn[i] = draw (random, &uncertain->inputs[i]);
  for (guint i = 0; i < n; i++)
  {
    double deviation = 0;
    for (guint j = 0; j <= i; j++)
      deviation += L[i * n + j] * drawn[j];
    inputs[i] = uncertain->inputs[i].value + uncertain->inputs[i].u * deviation;
  }
  return uncertain->model (inputs, uncertain->data);
}

static int
compare (const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* JCGM 101:2008, 7.6 and 7.7; `values` are sorted. */
static void
summarise (const double *values, guint n, double p, WsMonteCarlo *result)
{
  double mean = 0, squares = 0;
  for (guint i = 0; i < n; i++)
  {
    const double off = values[i] - mean;
    mean += off / (i + 1);
    squares += off * (values[i] - mean);
  }
  result->value = mean;
  result->u = n > 1 ? sqrt (squares / (n - 1)) : 0;

  const guint q = (guint)CLAMP (floor (p * n + 0.5), 0, n - 1.0), r = (n - q) / 2;
  guint shortest = 0;
  for (guint i = 0; i + q < n; i++)
    if (values[i + q] - values[i] < values[shortest + q] - values[shortest])
      shortest = i;
  result->low = values[r];
  result->high = values[MIN (r + q, n - 1)];
  result->shortest_low = values[shortest];
  result->shortest_high = values[shortest + q];
}

gboolean
wsi_monte_carlo (const WsUncertain *uncertain, guint trials, guint32 seed, double p,
                 WsMonteCarlo *result)
{
  double L[WS_INPUTS_MAX * WS_INPUTS_MAX] = { 0 };
  if (trials == 0 || !may_be_drawn (uncertain) || !factor (uncertain, L))
    return FALSE;
  g_autoptr (GRand) random = g_rand_new_with_seed (seed);
  g_autofree double *values = g_new (double, trials);
  for (guint i = 0; i < trials; i++)
  {
    values[i] = trial (uncertain, L, random);
    if (!isfinite (values[i]))
      return FALSE;
  }
  qsort (values, trials, sizeof *values, compare);
  summarise (values, trials, p, result);
  return TRUE;
}
