/*
 * A straight line that was fitted, and how well.
 */
#ifndef WS_EDGE_LINE_FIT_H
#define WS_EDGE_LINE_FIT_H

#include <whetsight/point.h>

G_BEGIN_DECLS

/*
 * The line through `centre` along unit `direction`; `t` counts along it from the centre,
 * from t_low to t_high, `normal` is the direction turned from x toward y.
 */
typedef struct
{
  WsPoint centre;
  WsPoint direction;
  double t_low, t_high;
  double bow;      /* coefficient of (3 s^2 - 1) / 2, s = -1 .. 1 over the range, px along
                      the normal; the ends stand off the middle by 1.5 x |bow| */
  double scatter;  /* robust standard deviation of the points about the bowed line, px */
  double u_offset; /* standard uncertainty of the line at its centre, px */
  double u_angle;  /* and of its direction, rad; block jackknife, so the residuals'
                      correlation along the edge is in it */
  guint n, n_used;
} WsLineFit;

G_END_DECLS

#endif
