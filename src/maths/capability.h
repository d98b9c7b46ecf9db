/*
 * Capability of a process against limits on two sides.
 *
 * Cp = (upper - lower) / 6 s, Cpk = the distance from the mean to the nearer limit / 3 s, with the
 * standard deviation s of all n values.  Intervals of two sides: of Cp by the chi-square
 * distribution of s, of Cpk Cpk ± z sqrt (1 / 9n + Cpk² / 2 (n - 1)) (A. F. Bissell, How reliable
 * is your capability index?, Applied Statistics 39 (1990), 331-340; both as in the NIST/SEMATECH
 * e-Handbook of Statistical Methods, 6.1.6; recalled from memory).
 */
#ifndef WS_MATHS_CAPABILITY_H
#define WS_MATHS_CAPABILITY_H

#include <glib.h>

G_BEGIN_DECLS

/* Of the intervals. */
#define WS_CAPABILITY_CONFIDENCE 0.95

/* Fewer values make none. */
#define WS_CAPABILITY_LEAST 5

typedef struct
{
  guint n;
  double mean, s;
  double cp, cp_low, cp_high;
  double cpk, cpk_low, cpk_high;
} WsCapability;

/* FALSE for too few values, values that are all the same, and without two limits. */
gboolean wsi_capability (const double *values, gsize n, double lower, double upper,
                         WsCapability *capability);

/* What chi-square with `freedom` degrees stays below with probability `share`, 0 < share < 1. */
double wsi_chi_square_quantile (double share, double freedom);

G_END_DECLS

#endif
