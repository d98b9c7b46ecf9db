/*
 * A cutoff blade in silhouette: two long edges and the front between them, each a straight
 * line, and the two corners where they meet.  Pixels and radians, picture coordinates.
 *
 * Edges are walked with the tool on the right-hand side, so that with the front up in the
 * picture the first long edge is the left one.  A line's direction is that of the walk and its
 * distances (ws_line_distance()) are positive inside the tool.
 */
#ifndef WS_TOOL_BLADE_H
#define WS_TOOL_BLADE_H

#include "edge/line.h"
#include "edge/outline.h"

G_BEGIN_DECLS

enum
{
  WS_BLADE_LEFT,
  WS_BLADE_FRONT,
  WS_BLADE_RIGHT,
  WS_BLADE_N_EDGES
};

typedef struct
{
  WsLineFit line;
  double u_place; /* standard uncertainty of the line at its centre, px, and of its */
  double u_angle; /* direction, rad; noise and form with their correlation along the edge */
  GArray *points; /* of WsPoint: the outline that the line was sought in, in order */
  guint8 *used;   /* for each point, 1 when the line rests on it */
} WsBladeEdge;

typedef struct
{
  WsPoint place;   /* where the two lines meet */
  WsPoint inward;  /* unit bisector, into the tool */
  double interior; /* angle inside the tool, rad */
  double gap;      /* from `place` along the bisector to the outline, px, >= 0 */
  double radius;   /* of the arc that touches both lines and, blurred, has that gap, px */
  double reach[2]; /* how far from `place` it spoils each edge, px: before, after */
} WsBladeCorner;

typedef struct
{
  const WsOutline *outline; /* borrowed */
  GArray *path;             /* of WsEdgePoint: the outline from frame to frame, walked */
  guint at[2];              /* index in `path` nearest each corner */
  WsBladeEdge edges[WS_BLADE_N_EDGES];
  WsBladeCorner corners[2]; /* left and right of the front */
} WsBlade;

/* NULL with the reason why the outline is not a measurable blade, and, in `detail` (96 bytes),
 * what was seen.  Free with ws_blade_free(). */
WsBlade *ws_blade_locate (const WsOutline *outline, WsRetake *reason, char detail[96]);

void ws_blade_free (WsBlade *blade);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBlade, ws_blade_free)

/* Peak to valley of an edge about its line, damage left out, px.  `point_u`: standard deviation of
 * one outline point; `noise` is set to that of one of the running medians compared. */
double ws_blade_straightness (const WsBladeEdge *edge, double point_u, double *noise);

/* The deepest notch in an edge. */
typedef struct
{
  double depth;    /* px below the line, blur's lift not added; 0: no notch */
  double lift;     /* what the blur takes from it, px */
  WsPoint on_line; /* above the bottom */
  WsPoint bottom;
} WsBladeNotch;

/* Of the front, if deeper than `least`. */
WsBladeNotch ws_blade_notch (const WsBlade *blade, double least);

/*
 * How far the half-level outline of a corner with this interior angle, rounded to `radius` and
 * blurred by `blur`, stays from where its lines meet, along the bisector; px.
 */
double ws_blade_corner_gap (double interior, double radius, double blur);

/* Standard deviation of a corner's radius when its gap has `u_gap`, px. */
double ws_blade_corner_spread (const WsBladeCorner *corner, double blur, double u_gap);

G_END_DECLS

#endif
