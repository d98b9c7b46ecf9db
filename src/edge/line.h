/*
 * Straight lines through a ground edge that may be chipped, dusty and slightly bowed.
 */
#ifndef WS_EDGE_LINE_H
#define WS_EDGE_LINE_H

#include "edge/line_fit.h"

G_BEGIN_DECLS

#define WS_LINE_MIN_POINTS 20

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
