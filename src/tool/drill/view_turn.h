/*
 * How far a drill's lips are turned out of the picture's plane.
 */
#ifndef WS_TOOL_DRILL_VIEW_TURN_H
#define WS_TOOL_DRILL_VIEW_TURN_H

#include "judge/web.h"
#include "tool/drill/leading_edge.h"
#include "tool/drill/point.h"

G_BEGIN_DECLS

/* What the outline says of the turn, as moments of its distribution; rad.  Positive when the
 * lips' ends are turned farther from the envelope's silhouette. */
typedef struct
{
  double mean;
  double deviation; /* standard deviation */
  double effective; /* fourth root of the mean fourth power: a quadratic effect c x turn^2
                       has the RMS c x effective^2; not below what an unknown web may hide */
} WsViewTurn;

WsViewTurn wsi_view_turn_estimate (const WsDrillPoint *point, const WsWeb *web);

/* The same where the leading edges are traced already; `edge`: NULL where they aren't seen. */
WsViewTurn wsi_view_turn_by (const WsDrillPoint *point, const WsWeb *web,
                             const WsLeadingEdge *edge);

/* Which way to turn a drill whose `view_turn` is above or below 0. */
#define WS_TURN_CLOCKWISE                                                                          \
  "turn a right-hand drill clockwise as you look at its point (a left-hand one the other way)"
#define WS_TURN_COUNTERCLOCKWISE                                                                   \
  "turn a right-hand drill counterclockwise as you look at its point (a left-hand one the other "  \
  "way)"

G_END_DECLS

#endif
