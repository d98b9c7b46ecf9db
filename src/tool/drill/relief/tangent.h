/*
 * The tangent of a flank's edge at the outer corner: the relief.
 */
#ifndef WS_TOOL_DRILL_RELIEF_TANGENT_H
#define WS_TOOL_DRILL_RELIEF_TANGENT_H

#include "tool/drill/relief/edge.h"

G_BEGIN_DECLS

typedef struct
{
  double angle;    /* rad: the relief */
  double u;        /* standard uncertainty by edge noise and model, rad */
  double u_corner; /* by the corner's place, rad */
  double bend;     /* of the edge, per radius */
  double step_at;  /* s of the margin's step, px; NAN when none was seen */
  double lift;     /* px that the land's edge lies above the margin's */
  double length;   /* s of the last point, px */
  double scatter;  /* px */
} WsReliefTangent;

/*
 * o = a + b psi + c psi^2 + e psi^3 in radii, psi = asin (s / radius), less a lift over the land
 * and with a shift where light is clipped; b is the tangent's slope at the corner
 * (docs/methods/front-lit.md, (L11)).  FALSE for too few points.
 */
gboolean wsi_relief_tangent (const WsReliefEdge *edge, WsReliefTangent *tangent);

/* The same by points from `from` px on alone. */
gboolean wsi_relief_tangent_beyond (const WsReliefEdge *edge, double from,
                                    WsReliefTangent *tangent);

G_END_DECLS

#endif
