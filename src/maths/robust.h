/*
 * Fits that a minority of wrong points doesn't move.
 */
#ifndef WS_MATHS_ROBUST_H
#define WS_MATHS_ROBUST_H

#include "maths/least_squares.h"

G_BEGIN_DECLS

/* Standard deviations beyond which Tukey's biweight leaves a point out: 95 % efficient for normal
 * errors (Holland & Welsch, Commun. Stat. A6, 1977). */
#define WS_TUKEY_REACH 4.685

/* Tukey's biweight of a residual in parts of the reach (Beaton & Tukey, Technometrics 16, 1974). */
static inline double
wsi_tukey_weight (double part)
{
  const double rest = 1 - part * part;
  return part > -1 && part < 1 ? rest * rest : 0;
}

/* A linear model whose points may be wrong. */
typedef struct
{
  guint n_points, n_unknowns;
  guint n_rounds;
  double least_sigma; /* exact data would leave out everything but themselves */

  /* A point's row and value; FALSE leaves it out.  `x` is the solution of the round before, zeros
   * at first, for models that aren't quite linear. */
  gboolean (*row) (gconstpointer data, guint i, const double *x, double *row, double *value);

  /* Adds to the sums what is known beforehand, when a point's standard deviation is `sigma`, 0 in
   * the first round.  NULL: nothing. */
  void (*prior) (gconstpointer data, double sigma, WsLeastSquares *sums);
} WsRobustModel;

typedef struct
{
  double x[WS_LEAST_SQUARES_MAX];
  double inverse[WS_LEAST_SQUARES_MAX * WS_LEAST_SQUARES_MAX]; /* of the last sums */
  double sigma; /* robust standard deviation of the residuals */
  guint n_left; /* points that weren't left out by the model; the number of residuals */
} WsRobustSolution;

/*
 * Iteratively re-weighted least squares with Tukey's biweight, from equal weights; the scale is the
 * median absolute deviation's (Huber, Robust Statistics, 1981, 7.8).  `residuals` has room for one
 * a point; in the points' order, without those left out.  FALSE when a round can't be solved.
 */
gboolean wsi_robust_fit (const WsRobustModel *model, gconstpointer data, double *residuals,
                         WsRobustSolution *solution);

G_END_DECLS

#endif
