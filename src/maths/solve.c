#include "maths/solve.h"

#include <float.h>
#include <math.h>

static inline gboolean
factor (double *A, guint n)
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

gboolean
wsi_factor_spd (double *A, guint n)
{
  return factor (A, n);
}

static inline void
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

/* Replaces the factor L by the inverse of L L', all of it.  `lower` has room for n x n. */
static void
invert_factor (double *L, double *lower, guint n)
{
  for (guint j = 0; j < n; j++) /* columns of L's inverse */
    for (guint i = j; i < n; i++)
    {
      double sum = i == j ? 1 : 0;
      for (guint k = j; k < i; k++)
        sum -= L[i * n + k] * lower[k * n + j];
      lower[i * n + j] = sum / L[i * n + i];
    }
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j <= i; j++)
    {
      double sum = 0;
      for (guint k = i; k < n; k++)
        sum += lower[k * n + i] * lower[k * n + j];
      L[i * n + j] = L[j * n + i] = sum;
    }
}

static inline gboolean
solve (double *A, double *b, guint n)
{
  if (!factor (A, n))
    return FALSE;
  substitute (A, b, n);
  return TRUE;
}

/* Few unknowns, as most systems have, are told as constants, which compilers unroll. */
static gboolean
factor_and_solve (double *A, double *b, guint n)
{
  return n == 3 ? solve (A, b, 3) : n == 4 ? solve (A, b, 4) : solve (A, b, n);
}

gboolean
wsi_solve_spd (double *A, double *b, guint n, gboolean invert)
{
  g_return_val_if_fail (n >= 1 && n <= WS_SOLVE_MAX, FALSE);

  if (!factor_and_solve (A, b, n))
    return FALSE;
  double lower[WS_SOLVE_MAX * WS_SOLVE_MAX];
  if (invert)
    invert_factor (A, lower, n);
  return TRUE;
}

gboolean
wsi_invert_spd (double *A, guint n)
{
  const gsize n2 = (gsize)n * n;
  g_autofree double *scale = g_new (double, n);
  g_autofree double *L = g_new (double, n2);
  g_autofree double *lower = g_new (double, n2);
  for (guint i = 0; i < n; i++)
  {
    if (!(A[i * n + i] > 0))
      return FALSE;
    scale[i] = 1 / sqrt (A[i * n + i]);
  }
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j <= i; j++)
      L[i * n + j] = A[i * n + j] * scale[i] * scale[j];
  if (!wsi_factor_spd (L, n))
    return FALSE;
  invert_factor (L, lower, n);
  for (guint i = 0; i < n; i++)
    for (guint j = 0; j < n; j++)
      A[i * n + j] = L[i * n + j] * scale[i] * scale[j];
  return TRUE;
}
