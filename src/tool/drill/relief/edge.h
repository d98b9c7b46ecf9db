/*
 * The flank's edge from the outer corner across margin and land.
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
wsi_relief_smooth (gint reach)
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

void wsi_relief_edge_clear (WsReliefEdge *edge);

/* Follows the edge from a candidate corner.  `plane` has a pitch of 1.  FALSE where there is hardly
 * an edge, or none that is clear; else clear with wsi_relief_edge_clear(). */
gboolean wsi_relief_edge_trace (const WsReliefPlane *plane, const WsEndPicture *picture,
                                const WsReliefAxis *axis, const WsReliefCorner *corner, gint reach,
                                WsReliefEdge *edge);

G_END_DECLS

#endif
