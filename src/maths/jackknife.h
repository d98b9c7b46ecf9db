/*
 * Standard uncertainties of what is fitted to correlated points: the points are cut into blocks,
 * longer than their correlation, and the fit is made again without each in turn (delete-one-block
 * jackknife; Efron & Tibshirani, An Introduction to the Bootstrap, 1993, 11.5).
 */
#ifndef WS_MATHS_JACKKNIFE_H
#define WS_MATHS_JACKKNIFE_H

#include <glib.h>

G_BEGIN_DECLS

/* Blocks of an edge: enough to tell their scatter (coverage of t intervals 85 to 89 %, own
 * trials). */
#define WS_JACKKNIFE_BLOCKS 10

/* First point of block b of n points; of b + 1: the end of b. */
guint wsi_jackknife_from (guint n, guint b);

/* From what was found without each of the blocks, WS_JACKKNIFE_BLOCKS values. */
double wsi_jackknife_u (const double *without);

G_END_DECLS

#endif
