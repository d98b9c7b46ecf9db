/*
 * Linear least squares of few unknowns: sums of the normal equations (Gauss), to which points are
 * added one by one, and taken away again.
 */
#ifndef WS_MATHS_LEAST_SQUARES_H
#define WS_MATHS_LEAST_SQUARES_H

#include "maths/solve.h"

G_BEGIN_DECLS

#define WS_LEAST_SQUARES_MAX WS_SOLVE_MAX

typedef struct
{
  guint n;                                               /* unknowns */
  double A[WS_LEAST_SQUARES_MAX * WS_LEAST_SQUARES_MAX]; /* n x n; lower triangle only */
  double b[WS_LEAST_SQUARES_MAX];
} WsLeastSquares;

/* Adds one equation row . x = value to an n x n matrix, its lower triangle only, and right-hand
 * side.  In the header, since outlines add millions. */
static inline void
wsi_normal_add (double *A, double *b, guint n, const double *row, double value, double weight)
{
  for (guint j = 0; j < n; j++)
  {
    const double part = weight * row[j];
    for (guint k = 0; k <= j; k++)
      A[j * n + k] += part * row[k];
    b[j] += part * value;
  }
}

static inline void
wsi_least_squares_init (WsLeastSquares *sums, guint n)
{
  sums->n = n;
  for (guint i = 0; i < n * n; i++)
    sums->A[i] = 0;
  for (guint i = 0; i < n; i++)
    sums->b[i] = 0;
}

static inline void
wsi_least_squares_add (WsLeastSquares *sums, const double *row, double value, double weight)
{
  wsi_normal_add (sums->A, sums->b, sums->n, row, value, weight);
}

/* Adds `factor` times the equations of `other`: -1 takes a part away again. */
void wsi_least_squares_add_sums (WsLeastSquares *sums, const WsLeastSquares *other, double factor);

/* What is known of one unknown beforehand: its value, with the weight 1 / u^2. */
void wsi_least_squares_prior (WsLeastSquares *sums, guint unknown, double value, double weight);

/* The unknowns, and, unless `inverse` is NULL, the inverse of the sums' matrix, n x n: their
 * covariance when weights are 1 / u^2.  FALSE when the equations don't determine them. */
gboolean wsi_least_squares_solve (const WsLeastSquares *sums, double *x, double *inverse);

G_END_DECLS

#endif
