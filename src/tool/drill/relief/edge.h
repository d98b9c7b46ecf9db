/*
 * The flank's edge from the outer corner across margin and land, and its tangent at the corner.
 */
#ifndef WS_TOOL_DRILL_RELIEF_EDGE_H
#define WS_TOOL_DRILL_RELIEF_EDGE_H

#include "tool/drill/end/picture.h"
#include "tool/drill/relief/corner.h"

G_BEGIN_DECLS

/* Light is averaged over so many px along an edge, to both sides: for clear edges, and for those
 * that streaks nearly hide. */
#define WS_RELIEF_SHORT_REACH 5
#define WS_RELIEF_LONG_REACH 18

/* Over which stretch, to both sides, an edge's points are means then, px. */
static inline gint
ws_relief_smooth (gint reach)
{
  return 4 * reach / 5;
}

typedef struct
{
  WsPoint corner;     /* px */
  WsPoint away, down; /* unit: square to the axis over the flank; and away from the point */
  double radius;      /* px, of the drill, by the body's side */
  GArray *points;     /* of WsPoint: (s, o) from the corner along `away` and `down`, px, s rising */
  GArray *clipped;    /* of guint8, one a point: its lighter side is over-exposed */
  double u_corner;    /* along `away`, px */
  gint reach;         /* px along the edge that points are means over */
  double clarity;     /* steps of light along it, in parts of those beside it */
  double support;     /* step of lightness along the edge, times its length, times the
                         candidate's score: the greatest is the corner */
} WsReliefEdge;

void ws_relief_edge_clear (WsReliefEdge *edge);

/* Follows the edge from a candidate corner.  `plane` has a pitch of 1.  FALSE where there is hardly
 * an edge; else clear with ws_relief_edge_clear(). */
gboolean ws_relief_edge_trace (const WsReliefPlane *plane, const WsEndPicture *picture,
                               const WsReliefAxis *axis, const WsReliefCorner *corner, gint reach,
                               WsReliefEdge *edge);

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
gboolean ws_relief_tangent (const WsReliefEdge *edge, WsReliefTangent *tangent);

G_END_DECLS

#endif
