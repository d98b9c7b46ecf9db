/*
 * Uncertainty of a quantity that follows from others: first order (JCGM 100:2008, clause 5) and
 * by Monte Carlo (JCGM 101:2008).  Views keep budgets of their own (wsi_quantity_add_line()); this
 * is what those are checked by, and for whatever has inputs that are correlated.
 */
#ifndef WS_RESULT_UNCERTAINTY_H
#define WS_RESULT_UNCERTAINTY_H

#include <whetsight/result.h>

G_BEGIN_DECLS

#define WS_INPUTS_MAX 16

typedef double (*WsModel) (const double *inputs, gconstpointer data);

typedef struct
{
  double value;
  double u;   /* standard uncertainty, >= 0 */
  double dof; /* degrees of freedom; INFINITY when u is well known */
  WsDistribution distribution;
} WsInput;

typedef struct
{
  WsModel model;
  gconstpointer data; /* for the model; borrowed */
  guint n;            /* of inputs, 1 .. WS_INPUTS_MAX */
  WsInput inputs[WS_INPUTS_MAX];
  const double *correlation; /* n x n, or NULL when there is none; only normal inputs may be
                                correlated */
} WsUncertain;

/* ---- First order ------------------------------------------------------------------ */

typedef struct
{
  double value, u;
  double dof; /* effective, Welch-Satterthwaite: JCGM 100:2008, (G.2b); NAN with correlation */
  double sensitivity[WS_INPUTS_MAX];
} WsFirstOrder;

/* JCGM 100:2008, (10) and (16), slopes by central differences over each u (5.1.3, note 2).
 * FALSE when the model gives no number there. */
gboolean wsi_first_order (const WsUncertain *uncertain, WsFirstOrder *result);

/* Covariance of two results of the same inputs: c' V d (JCGM 100:2008, H.2.3, (H.9)). */
double wsi_covariance (const WsUncertain *uncertain, const WsFirstOrder *a, const WsFirstOrder *b);

/* Student's t for a level of confidence p, 0 .. 1, two-sided; degrees of freedom are cut down to a
 * whole number first (JCGM 100:2008, G.4.1), at least 1. */
double wsi_coverage_factor (double p, double dof);

/* ---- Monte Carlo ------------------------------------------------------------------ */

typedef struct
{
  double value, u;                    /* mean and standard deviation of the trials */
  double low, high;                   /* probabilistically symmetric coverage interval */
  double shortest_low, shortest_high; /* shortest one */
} WsMonteCarlo;

/* JCGM 101:2008, clause 7, with inputs drawn as in its 6.4: normal, rectangular, scaled and shifted
 * t (6.4.9: its standard deviation is greater than u), half normal for one-sided ones.  p is the
 * coverage probability.  The same seed gives the same result.  FALSE when the model gives no number
 * in some trial, or correlated inputs aren't normal or their correlations impossible. */
gboolean wsi_monte_carlo (const WsUncertain *uncertain, guint trials, guint32 seed, double p,
                          WsMonteCarlo *result);

G_END_DECLS

#endif
