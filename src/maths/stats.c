#include "maths/stats.h"

#include <math.h>

static void
swap (double *a, double *b)
{
  const double t = *a;
  *a = *b;
  *b = t;
}

/* Hoare's FIND (CACM 4(7), 1961, algorithm 65): afterwards values[k] is the k-th smallest,
 * nothing larger stands before it and nothing smaller behind. */
static double
select_kth (double *values, gsize n, gsize k)
{
  gssize low = 0, high = (gssize)n - 1;
  const gssize wanted = (gssize)k;
  while (low < high)
  {
    const double pivot = values[wanted];
    gssize i = low, j = high;
    do
    {
      while (values[i] < pivot)
        i++;
      while (pivot < values[j])
        j--;
      if (i <= j)
        swap (&values[i++], &values[j--]);
    } while (i <= j);
    if (j < wanted)
      low = i;
    if (wanted < i)
      high = j;
  }
  return values[k];
}

double
wsi_quantile (double *values, gsize n, double q)
{
  const double position = CLAMP (q, 0.0, 1.0) * (double)(n - 1);
  const gsize k = (gsize)position;
  const double at = select_kth (values, n, k);
  if (k + 1 >= n)
    return at;

  double next = values[k + 1];
  for (gsize i = k + 2; i < n; i++)
    next = MIN (next, values[i]);
  return at + (position - (double)k) * (next - at);
}

double
wsi_median (double *values, gsize n)
{
  return wsi_quantile (values, n, 0.5);
}

double
wsi_mad_sigma (double *values, gsize n)
{
  const double middle = wsi_median (values, n);
  for (gsize i = 0; i < n; i++)
    values[i] = fabs (values[i] - middle);
  return wsi_absolute_sigma (values, n);
}

double
wsi_absolute_sigma (double *values, gsize n)
{
  return WS_SIGMA_PER_MEDIAN * wsi_median (values, n);
}

double
wsi_normal_cdf (double z)
{
  return 0.5 * erfc (-z * G_SQRT2 / 2.0);
}

double
wsi_normal_pdf (double z)
{
  return exp (-0.5 * z * z) / sqrt (2.0 * G_PI);
}

#define QUANTILE_REACH 8.0
#define QUANTILE_HALVINGS 50

double
wsi_normal_quantile (double share)
{
  double low = -QUANTILE_REACH, high = QUANTILE_REACH;
  for (guint i = 0; i < QUANTILE_HALVINGS; i++)
  {
    const double middle = (low + high) / 2;
    if (wsi_normal_cdf (middle) < share)
      low = middle;
    else
      high = middle;
  }
  return (low + high) / 2;
}
