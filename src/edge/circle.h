/*
 * Circles through outline points.
 */
#ifndef WS_EDGE_CIRCLE_H
#define WS_EDGE_CIRCLE_H

#include <whetsight/point.h>

G_BEGIN_DECLS

typedef struct
{
  WsPoint centre;
  double radius;
  double squares; /* sum of squared distances of the points from the circle */
} WsCircle;

/* Kasa's circle: linear least squares of x^2 + y^2 (IEEE Trans. Instrum. Meas. 25, 1976).
 * Biased toward small radii on short arcs: a start, not a result.  FALSE for fewer than three
 * points or points on a line. */
gboolean wsi_circle_fit_linear (const WsPoint *points, guint n, WsCircle *circle);

/*
 * The geometric circle: least squares of the distances from it, by Gauss and Newton with
 * damping (Gander, Golub & Strebel, BIT 34, 1994, section 4) from Kasa's.  FALSE as above or when
 * it does not converge.
 */
gboolean wsi_circle_fit (const WsPoint *points, guint n, WsCircle *circle);

G_END_DECLS

#endif
