/*
 * How straight stretches of an outline are: sums that run along it, from which any stretch's line
 * follows at once.
 */
#ifndef WS_EDGE_RUNS_H
#define WS_EDGE_RUNS_H

#include "edge/outline.h"

G_BEGIN_DECLS

typedef struct
{
  double n, x, y, xx, xy, yy;
} WsRunSums;

/* Over each `stride`-th of `n_points`; `n` is set to how many that are, and there is one sum more:
 * up to before each point.  Free with g_free(). */
WsRunSums *wsi_runs_new (const WsEdgePoint *points, guint n_points, guint stride, guint *n);

/* Sum of squared distances of points from .. to (thinned, `to` not among them) from their own
 * line, px^2. */
double wsi_runs_misfit (const WsRunSums *sums, guint from, guint to);

/* Squares that the best parabola leaves of n points, across the line through the first and the
 * last, px^2; n > 3. */
double wsi_runs_bow_misfit (const WsEdgePoint *points, guint n);

/* A stretch of the outline and its line. */
typedef struct
{
  guint from, to; /* thinned points, `to` not among them */
  WsPoint centre, direction;
} WsRun;

/*
 * The outline in straight stretches: the cut with the least sum of misfits and `price` (px^2) for
 * each stretch, of at least `shortest` points.  Of WsRun; free with g_array_unref().
 */
GArray *wsi_runs_cut (const WsEdgePoint *points, guint n_points, guint stride, guint shortest,
                      double price);

G_END_DECLS

#endif
