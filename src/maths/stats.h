/*
 * Order statistics and distributions.  Nothing here allocates; functions that
 * say "reorders" permute the caller's array.
 */
#ifndef WS_MATHS_STATS_H
#define WS_MATHS_STATS_H

#include <glib.h>

G_BEGIN_DECLS

/* The q-quantile (0 .. 1) of n >= 1 values, linear between order statistics
 * (Hyndman & Fan 1996, definition 7).  Reorders `values`. */
double wsi_quantile (double *values, gsize n, double q);

/* Reorders `values`. */
double wsi_median (double *values, gsize n);

/* Of absolute normal deviations: 1 / Phi^-1 (3/4). */
#define WS_SIGMA_PER_MEDIAN 1.4826

/* 1.4826 x median |v - median|: the standard deviation for normal values.
 * Reorders and overwrites `values`. */
double wsi_mad_sigma (double *values, gsize n);

/* The same of absolute deviations from what is known to be the middle: 1.4826 x their median.
 * Reorders `values`. */
double wsi_absolute_sigma (double *values, gsize n);

/* Standard normal distribution. */
double wsi_normal_cdf (double z);
double wsi_normal_pdf (double z);

/* z below which a share of it lies, 0 < share < 1; beyond 8 deviations 8. */
double wsi_normal_quantile (double share);

G_END_DECLS

#endif
