/*
 * Fisher's F distribution.
 */
#ifndef WS_MATHS_F_DISTRIBUTION_H
#define WS_MATHS_F_DISTRIBUTION_H

#include <glib.h>

G_BEGIN_DECLS

/* How probable a ratio of variances above `f` is by chance, with d1 and d2 degrees of freedom
 * (above 0): the upper tail of F (DLMF 8.17(ii)).  Relative error below 1e-10 for tails above
 * 1e-300, by the check values of the test.  NAN for what can't be. */
double wsi_f_tail (double f, double d1, double d2);

G_END_DECLS

#endif
