#include "maths/least_squares.h"

#include <string.h>

void
wsi_least_squares_add_sums (WsLeastSquares *sums, const WsLeastSquares *other, double factor)
{
  for (guint i = 0; i < sums->n * sums->n; i++)
    sums->A[i] += factor * other->A[i];
  for (guint i = 0; i < sums->n; i++)
    sums->b[i] += factor * other->b[i];
}

void
wsi_least_squares_prior (WsLeastSquares *sums, guint unknown, double value, double weight)
{
  sums->A[unknown * sums->n + unknown] += weight;
  sums->b[unknown] += weight * value;
}

gboolean
wsi_least_squares_solve (const WsLeastSquares *sums, double *x, double *inverse)
{
  const guint n = sums->n;
  double A[WS_LEAST_SQUARES_MAX * WS_LEAST_SQUARES_MAX], b[WS_LEAST_SQUARES_MAX];
  memcpy (A, sums->A, n * n * sizeof *A);
  memcpy (b, sums->b, n * sizeof *b);
  if (!wsi_solve_spd (A, b, n, inverse != NULL))
    return FALSE;
  memcpy (x, b, n * sizeof *x);
  if (inverse != NULL)
    memcpy (inverse, A, n * n * sizeof *A);
  return TRUE;
}
