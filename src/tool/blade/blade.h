/*
 * A cutoff blade in silhouette: straight edges in a row and the joints between them.  Mostly two
 * long edges with the front between; a side view may lack one of them or have a top in two
 * parts (side_layout.h).  Pixels and radians, picture coordinates.
 *
 * Edges are walked with the tool on the right-hand side, so that with the front up in the
 * picture the first long edge is the left one.  A line's direction is that of the walk and its
 * distances (ws_line_distance()) are positive inside the tool.
 */
#ifndef WS_TOOL_BLADE_BLADE_H
#define WS_TOOL_BLADE_BLADE_H

#include <whetsight/retake.h>

#include "edge/line.h"
#include "edge/outline.h"

G_BEGIN_DECLS

/* Of the usual three. */
enum
{
  WS_BLADE_LEFT,
  WS_BLADE_FRONT,
  WS_BLADE_RIGHT,
  WS_BLADE_N_EDGES
};

#define WS_BLADE_MAX_EDGES 4

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

/* Where one edge ends and the next begins, as indices in the walk: the same for a corner. */
typedef struct
{
  gboolean is_step; /* no corner of two edges: what lies between belongs to neither */
  guint before, after;
} WsBladeJoint;

typedef struct
{
  const WsOutline *outline; /* borrowed */
  GArray *path;             /* of WsEdgePoint: the outline from frame to frame, walked */
  guint n_edges;            /* <= WS_BLADE_MAX_EDGES */
  double clear_blurs;       /* beyond a corner's rounding, left out for the blur's tail */
  WsBladeEdge edges[WS_BLADE_MAX_EDGES];
  WsBladeJoint joints[WS_BLADE_MAX_EDGES - 1];   /* after each edge but the last */
  WsBladeCorner corners[WS_BLADE_MAX_EDGES - 1]; /* of joints that are no steps */
} WsBlade;

/*
 * Two long edges and the front between them.  NULL with the reason why the outline is not a
 * measurable blade, and, in `detail` (96 bytes), what was seen.  Free with ws_blade_free().
 */
WsBlade *ws_blade_locate (const WsOutline *outline, WsRetake *reason, char detail[96]);

/* The walk alone, for a blade of unusual layout.  NULL as above. */
WsBlade *ws_blade_walk (const WsOutline *outline, WsRetake *reason, char detail[96]);

/* Its edges: one more than there are joints, whose places are known roughly.  Each must be
 * straight, clean and sharp; whether they make a blade is for the caller to say. */
gboolean ws_blade_fit (WsBlade *blade, const WsBladeJoint *joints, guint n_joints, WsRetake *reason,
                       char detail[96]);

/* Median over an edge's scan lines: RMS residual in light, 0 .. 1, and step. */
typedef struct
{
  double residual, step;
} WsBladeScan;

WsBladeScan ws_blade_scan (const WsBlade *blade, guint edge);

void ws_blade_free (WsBlade *blade);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBlade, ws_blade_free)

/* Peak to valley of an edge about its line, damage left out, px.  `noise` is set to the standard
 * deviation of one of the running medians compared; `most`: what of the edge's scatter may be
 * noise at most, the rest is form. */
double ws_blade_straightness (const WsBladeEdge *edge, double most, double *noise);

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
