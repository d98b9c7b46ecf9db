/*
 * Steps of light along a flank's edge, in the edge's own frame: s along it, o away from the point.
 */
#ifndef WS_TOOL_DRILL_RELIEF_FRAME_H
#define WS_TOOL_DRILL_RELIEF_FRAME_H

#include "base/geometry.h"
#include "tool/drill/relief/plane.h"

G_BEGIN_DECLS

typedef struct
{
  const WsReliefPlane *plane;
  WsPoint origin, away, down;
  gint reach; /* px along an edge, to both sides, that are averaged */
} WsReliefFrame;

static inline WsPoint
wsi_relief_frame_place (const WsReliefFrame *frame, double s, double o)
{
  return wsi_point_along (wsi_point_along (frame->origin, s, frame->away), o, frame->down);
}

/* So many places to both sides of the middle are read along the edge. */
#define WS_RELIEF_READ_ALONG 5

/* Light above less light below, means of a few px on either side. */
double wsi_relief_step (const WsReliefFrame *frame, double s, double o, double slope);

/* o = a + b s + c s^2. */
typedef struct
{
  double a, b, c;
} WsReliefCurve;

double wsi_relief_curve_at (const WsReliefCurve *curve, double s);
double wsi_relief_curve_slope (const WsReliefCurve *curve, double s);

/* Mean step along a stretch of the curve, `lift` px above it. */
double wsi_relief_mean_step (const WsReliefFrame *frame, const WsReliefCurve *curve, double from,
                             double to, double lift);

G_END_DECLS

#endif
