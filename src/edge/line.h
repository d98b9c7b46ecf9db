/*
 * Straight lines through a ground edge that may be chipped, dusty and slightly bowed.
 */
#ifndef WS_EDGE_LINE_H
#define WS_EDGE_LINE_H

#include <whetsight/point.h>

G_BEGIN_DECLS

#define WS_LINE_MIN_POINTS 20

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

/*
 * Total least squares over the whole range of the points, damaged stretches left out.
 *
 * Minimum-cost sampling (MSAC: Torr & Zisserman, CVIU 78, 2000) finds the edge among chips
 * and dust; then a bowed line (Legendre terms 0 to 2 over the range) is fitted with Tukey's
 * biweight.  Since the terms are orthogonal over the range, the straight part is the line
 * that total least squares would give on the undamaged edge, also where chips hide some of it.
 *
 * `used[i]` is set to 1 for points that count.  FALSE for fewer than WS_LINE_MIN_POINTS or
 * when less than half of them agree on a line.
 */
gboolean wsi_line_fit (const WsPoint *points, guint n, guint8 *used, WsLineFit *fit);

/* Total least squares of all points, equally weighted: the line that makes the sum of squared
 * distances least (Pearson, Phil. Mag. 2, 1901).  Sets centre and direction; FALSE for fewer than
 * two different points. */
gboolean wsi_line_fit_total (const WsPoint *points, guint n, WsLineFit *fit);

/* Signed distance from the straight line along the normal, px. */
double wsi_line_distance (const WsLineFit *fit, WsPoint p);

/* Signed distance from the bowed line. */
double wsi_line_bowed_distance (const WsLineFit *fit, WsPoint p);

/* Where two lines meet.  FALSE when they are parallel to 1e-6 rad. */
gboolean wsi_line_meet (const WsLineFit *a, const WsLineFit *b, WsPoint *where);

G_END_DECLS

#endif
