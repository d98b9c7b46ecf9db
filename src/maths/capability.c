#include "maths/capability.h"

#include <float.h>
#include <math.h>

#include "maths/stats.h"

#define MOST_TERMS 10000
#define MOST_HALVINGS 200

/* Regularised lower incomplete gamma function P (a, x): by its series (DLMF 8.11.4), all of whose
 * terms are above 0, so that nothing cancels. */
static double
gamma_below (double a, double x)
{
  double term = 1.0 / a, sum = term;
  if (x <= 0.0)
    return 0.0;
  for (guint i = 1; i < MOST_TERMS && term > sum * DBL_EPSILON; i++)
  {
    term *= x / (a + i);
    sum += term;
  }
  return fmin (sum * exp (a * log (x) - x - lgamma (a)), 1.0);
}

double
wsi_chi_square_quantile (double share, double freedom)
{
  double low = 0.0, high = freedom;
  while (gamma_below (0.5 * freedom, 0.5 * high) < share)
    high *= 2.0;
  for (guint i = 0; i < MOST_HALVINGS && high - low > 1e-14 * high; i++)
  {
    const double middle = 0.5 * (low + high);
    if (gamma_below (0.5 * freedom, 0.5 * middle) < share)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

static void
find_spread (const double *values, gsize n, WsCapability *capability)
{
  double sum = 0.0, squares = 0.0;
  for (gsize i = 0; i < n; i++)
    sum += values[i];
  capability->mean = sum / (double)n;
  for (gsize i = 0; i < n; i++)
    squares += (values[i] - capability->mean) * (values[i] - capability->mean);
  capability->s = sqrt (squares / ((double)n - 1.0));
}

gboolean
wsi_capability (const double *values, gsize n, double lower, double upper, WsCapability *capability)
{
  const double tail = 0.5 * (1.0 - WS_CAPABILITY_CONFIDENCE);
  *capability = (WsCapability){ .n = (guint)n };
  if (n < WS_CAPABILITY_LEAST || !isfinite (lower) || !isfinite (upper) || upper <= lower)
    return FALSE;
  find_spread (values, n, capability);
  /* Rounding of equal values is no spread. */
  if (!(capability->s > 1e-12 * (fabs (capability->mean) + (upper - lower))))
    return FALSE;
  const double freedom = (double)n - 1.0;
  const double nearer = fmin (upper - capability->mean, capability->mean - lower);
  capability->cp = (upper - lower) / (6.0 * capability->s);
  capability->cp_low = capability->cp * sqrt (wsi_chi_square_quantile (tail, freedom) / freedom);
  capability->cp_high =
    capability->cp * sqrt (wsi_chi_square_quantile (1.0 - tail, freedom) / freedom);
  capability->cpk = nearer / (3.0 * capability->s);
  const double reach =
    wsi_normal_quantile (1.0 - tail) *
    sqrt (1.0 / (9.0 * (double)n) + capability->cpk * capability->cpk / (2.0 * freedom));
  capability->cpk_low = capability->cpk - reach;
  capability->cpk_high = capability->cpk + reach;
  return TRUE;
}
