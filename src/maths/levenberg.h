/*
 * Non-linear least squares by Levenberg's and Marquardt's damped steps.
 */
#ifndef WS_MATHS_LEVENBERG_H
#define WS_MATHS_LEVENBERG_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  guint n; /* unknowns */
  guint most_rounds;
  double rest; /* a step that promises to take less than this off the squares is none */

  /* Sum of squared residuals at x; not finite where there is no model. */
  double (*squares) (gconstpointer data, const double *x);

  /* Adds J'J, n x n, of which only the lower triangle is read, and J'r, for residuals r at x and
   * the slopes J of what the model says. */
  void (*equations) (gconstpointer data, const double *x, double *JJ, double *Jr);
} WsLevenberg;

/*
 * From x on, downhill (Marquardt, J. SIAM 11, 1963): plain Gauss-Newton steps for as long as they
 * help, damped ones else.  Sets x, the sum of squares and, unless NULL, the inverse of J'J there,
 * n x n.  FALSE when the equations don't determine the unknowns or no rest is found.
 */
gboolean wsi_levenberg_fit (const WsLevenberg *problem, gconstpointer data, double *x,
                            double *squares, double *inverse);

G_END_DECLS

#endif
