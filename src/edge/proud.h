/*
 * The line of a ground edge that a wire edge, a drop or other things stand proud of.
 *
 * Grinding leaves metal only outside of the edge, never inside: what stands proud of the longest
 * straight stretches is not the edge (docs/methods/drill.md, (35)).
 */
#ifndef WS_EDGE_PROUD_H
#define WS_EDGE_PROUD_H

#include "edge/line.h"

G_BEGIN_DECLS

typedef struct
{
  double height;    /* greatest, above the line, px; 0: nothing stands proud */
  WsPoint where;    /* there */
  double share;     /* of the points that are left out for it */
  double u_offset;  /* what hardly shows beside it makes of the line: standard uncertainties of its
                       place, px, */
  double u_angle;   /* and of its direction, rad */
  gboolean unclear; /* too little of the edge is left, or another line is as likely */
} WsProud;

/* What is known of the edge's bow beforehand: the fit's `bow`, positive when its ends stand out,
 * and its standard deviation, px. */
typedef struct
{
  double outward, sigma;
} WsBow;

/* As wsi_line_fit(), which it starts from, and the same line where nothing stands proud of that;
 * `outward` points away from the tool, `bow` may be NULL.  `points` come in order along the edge.
 */
gboolean wsi_line_fit_under (const WsPoint *points, guint n, WsPoint outward, const WsBow *bow,
                             guint8 *used, WsLineFit *fit, WsProud *proud);

G_END_DECLS

#endif
