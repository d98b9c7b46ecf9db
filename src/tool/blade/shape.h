/*
 * A cutoff blade in silhouette: straight edges in a row and the joints between them.  Pixels and
 * radians, picture coordinates.
 *
 * Edges are walked with the tool on the right-hand side, so that with the front up in the
 * picture the first long edge is the left one.  A line's direction is that of the walk and its
 * distances (wsi_line_distance()) are positive inside the tool.
 */
#ifndef WS_TOOL_BLADE_SHAPE_H
#define WS_TOOL_BLADE_SHAPE_H

#include "edge/line.h"
#include "edge/outline.h"
#include "edge/proud.h"

G_BEGIN_DECLS

/* Of the usual three. */
enum
{
  WS_BLADE_LEFT,
  WS_BLADE_FRONT,
  WS_BLADE_RIGHT,
  WS_BLADE_N_EDGES
};

/* Top in two parts, front in two, base. */
#define WS_BLADE_MAX_EDGES 5

typedef struct
{
  WsLineFit line;
  WsProud proud;  /* what the line leaves out outside of it */
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
  double most_bow;          /* of an edge, as a part of its length; more belongs to no blade */
  double clear_blurs;       /* beyond a corner's rounding, left out for the blur's tail */
  WsBladeEdge edges[WS_BLADE_MAX_EDGES];
  WsBladeJoint joints[WS_BLADE_MAX_EDGES - 1];   /* after each edge but the last */
  WsBladeCorner corners[WS_BLADE_MAX_EDGES - 1]; /* of joints that are no steps */
} WsBlade;

/* The walk, and the place of one of its points. */
const WsEdgePoint *wsi_blade_points (const WsBlade *blade);
WsPoint wsi_blade_place (const WsEdgePoint *p);

/* Where edge `e` lies in the walk: its first point, and the one behind its last. */
guint wsi_blade_begin (const WsBlade *blade, guint e);
guint wsi_blade_end (const WsBlade *blade, guint e);

/* Is a point of edge `e` clear of what spoils its ends? */
gboolean wsi_blade_is_clear (const WsBlade *blade, guint e, WsPoint p);

/* A pixel, and so much of its length, own choice: of edges that are to be straight, and of faces
 * that the rim of a wheel of 3 times their height left hollow. */
#define WS_BLADE_STRAIGHT 0.01
#define WS_BLADE_HOLLOW 0.04

/* Is the edge's bow greater than a pixel and that part of its length? */
gboolean wsi_blade_is_bowed (const WsBladeEdge *edge, double share);

/* Of the stretch that the line rests on, px. */
double wsi_blade_edge_length (const WsBladeEdge *edge);

G_END_DECLS

#endif
