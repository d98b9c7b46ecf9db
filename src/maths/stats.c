#include "maths/stats.h"

#include <float.h>
#include <math.h>

#define MAX_UNKNOWNS 8

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
ws_quantile (double *values, gsize n, double q)
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
ws_median (double *values, gsize n)
{
  return ws_quantile (values, n, 0.5);
}

double
ws_mad_sigma (double *values, gsize n)
{
  const double middle = ws_median (values, n);
  for (gsize i = 0; i < n; i++)
    values[i] = fabs (values[i] - middle);
  return 1.4826 * ws_median (values, n);
}

double
ws_normal_cdf (double z)
{
  return 0.5 * erfc (-z * G_SQRT2 / 2.0);
}

double
ws_normal_pdf (double z)
{
  return exp (-0.5 * z * z) / sqrt (2.0 * G_PI);
}

static gboolean
factorise (double *A, guint n)
{
  for (guint j = 0; j < n; j++)
  {
    const double diagonal = A[j * n + j];
    double pivot = diagonal;
    for (guint k = 0; k < j; k++)
      pivot -= A[j * n + k] * A[j * n + k];
    if (!(pivot > diagonal * (double)n * DBL_EPSILON))
      return FALSE;
    A[j * n + j] = sqrt (pivot);
    for (guint i = j + 1; i < n; i++)
    {
      double sum = A[i * n + j];
      for (guint k = 0; k < j; k++)
        sum -= A[i * n + k] * A[j * n + k];
      A[i * n + j] = sum / A[j * n + j];
    }
  }
  return TRUE;
}

static void
substitute (const double *L, double *b, guint n)
{
  for (guint i = 0; i < n; i++)
  {
    for (guint k = 0; k < i; k++)
      b[i] -= L[i * n + k] * b[k];
    b[i] /= L[i * n + i];
  }
  for (guint i = n; i-- > 0;)
  {
    for (guint k = i + 1; k < n; k++)
      b[i] -= L[k * n + i] * b[k];
    b[i] /= L[i * n + i];
  }
}

gboolean
ws_solve_spd (double *A, double *b, guint n, gboolean invert)
{
  g_return_val_if_fail (n >= 1 && n <= MAX_UNKNOWNS, FALSE);

  if (!factorise (A, n))
    return FALSE;
  substitute (A, b, n);
  if (!invert)
    return TRUE;

  double inverse[MAX_UNKNOWNS * MAX_UNKNOWNS];
  for (guint j = 0; j < n; j++)
  {
    double column[MAX_UNKNOWNS] = { 0 };
    column[j] = 1.0;
    substitute (A, column, n);
    for (guint i = 0; i < n; i++)
      inverse[i * n + j] = column[i];
  }
  for (guint i = 0; i < n * n; i++)
    A[i] = inverse[i];
  return TRUE;
}
