#include "maths/stats.h"

#include <math.h>

static void
swap (double *a, double *b)
{
  const double t = *a;
  *a = *b;
  *b = t;
}

/* Shorter ranges aren't sampled. */
#define SAMPLED 600

/* Where the `wanted`th is all but sure to lie of a sample of the range that stands about it (Floyd
 * & Rivest, CACM 18(3), 1975, algorithm 489). */
static void
sample_about (gssize wanted, gssize *low, gssize *high)
{
  const double n = (double)(*high - *low + 1), i = (double)(wanted - *low + 1), z = log (n);
  const double size = 0.5 * exp (2 * z / 3);
  const double spread = 0.5 * sqrt (z * size * (n - size) / n) * (i < n / 2 ? -1 : 1);
  const gssize from = (gssize)((double)wanted - i * size / n + spread);
  const gssize to = (gssize)((double)wanted + (n - i) * size / n + spread);
  *low = CLAMP (from, *low, wanted);
  *high = CLAMP (to, wanted, *high);
}

/* Hoare's FIND (CACM 4(7), 1961, algorithm 65) by the `wanted`th of a sample: afterwards
 * values[wanted] is the `wanted`th smallest, nothing larger stands before it and nothing smaller
 * behind. */
static void
select_within (double *values, gssize low, gssize high, gssize wanted)
{
  while (low < high)
  {
    if (high - low > SAMPLED)
    {
      gssize from = low, to = high;
      sample_about (wanted, &from, &to);
      select_within (values, from, to, wanted);
    }
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
}

double
wsi_quantile (double *values, gsize n, double q)
{
  const double position = CLAMP (q, 0.0, 1.0) * (double)(n - 1);
  const gsize k = (gsize)position;
  select_within (values, 0, (gssize)n - 1, (gssize)k);
  const double at = values[k];
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
