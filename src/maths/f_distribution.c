#include "maths/f_distribution.h"

#include <math.h>

#define MAX_TERMS 500
#define TINY 1e-300
#define ENOUGH 1e-15

static double
away_from_zero (double value)
{
  return fabs (value) < TINY ? TINY : value;
}

/* Coefficients of DLMF 8.17.22, the continued fraction of the incomplete beta function. */
static double
coefficient (guint n, double a, double b, double x)
{
  const guint half = n / 2;
  const double m = half;
  if (n % 2 == 0)
    return m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
  return -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
}

/* 1 / (1 + k1 / (1 + k2 / (1 + …))), by Lentz's method (W. J. Lentz 1976, as modified by Thompson
 * and Barnett 1986). */
static double
fraction (double a, double b, double x)
{
  double c = 1.0, d = 0.0, f = 1.0;
  for (guint n = 1; n <= MAX_TERMS; n++)
  {
    const double k = coefficient (n, a, b, x);
    d = 1.0 / away_from_zero (1.0 + k * d);
    c = away_from_zero (1.0 + k / c);
    f *= c * d;
    if (fabs (c * d - 1.0) < ENOUGH)
      break;
  }
  return 1.0 / f;
}

/* Regularised incomplete beta function I_x (a, b). */
static double
beta (double a, double b, double x)
{
  if (x <= 0.0)
    return 0.0;
  if (x >= 1.0)
    return 1.0;
  const double front =
    exp (lgamma (a + b) - lgamma (a) - lgamma (b) + a * log (x) + b * log1p (-x));
  /* The fraction converges fast on one side of the mean only. */
  if (x < (a + 1.0) / (a + b + 2.0))
    return front * fraction (a, b, x) / a;
  return 1.0 - front * fraction (b, a, 1.0 - x) / b;
}

double
wsi_f_tail (double f, double d1, double d2)
{
  if (isnan (f) || d1 <= 0.0 || d2 <= 0.0)
    return NAN;
  if (f <= 0.0)
    return 1.0;
  if (isinf (f))
    return 0.0;
  return beta (0.5 * d2, 0.5 * d1, d2 / (d2 + d1 * f));
}
