/*
 * Symmetric positive definite systems by Cholesky's factorisation.
 */
#ifndef WS_MATHS_SOLVE_H
#define WS_MATHS_SOLVE_H

#include <glib.h>

G_BEGIN_DECLS

#define WS_SOLVE_MAX 8

/* Leaves the factor L of A = L L', n x n of any size, in A's lower triangle, the only part that is
 * read.  FALSE when A is not positive definite (to rounding); A is then of no use. */
gboolean wsi_factor_spd (double *A, guint n);

/*
 * Solves the n x n system A x = b; A row-major, of which only the lower triangle is read,
 * overwritten by the inverse of A when `invert`, else by its factor; b overwritten by x.
 * n <= WS_SOLVE_MAX; nothing is allocated.  FALSE when A is not positive definite (to rounding).
 */
gboolean wsi_solve_spd (double *A, double *b, guint n, gboolean invert);

/* Overwrites A, of any size, by its inverse.  A is scaled to a unit diagonal first, for unknowns
 * whose sizes differ by many powers of ten.  FALSE as above; A is then as it was. */
gboolean wsi_invert_spd (double *A, guint n);

G_END_DECLS

#endif
