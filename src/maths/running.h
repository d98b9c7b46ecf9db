/*
 * Statistics of values in a ring, each with its neighbours.
 */
#ifndef WS_MATHS_RUNNING_H
#define WS_MATHS_RUNNING_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_RUNNING_MOST 16

/* For each of `n` values in a ring the median of those up to `half` places to either side, its own
 * among them; those that aren't finite are left out, and where fewer than `least` are left, it is
 * NAN.  1 <= half <= WS_RUNNING_MOST, n > 2 half; `medians` has room for n. */
void wsi_running_medians (const double *values, guint n, guint half, guint least, double *medians);

G_END_DECLS

#endif
