/*
 * Where a tool's edge lies in a silhouette, and what of its outline grinding the edge doesn't
 * touch.
 */
#ifndef WS_TOOL_SET_OUT_PLACES_H
#define WS_TOOL_SET_OUT_PLACES_H

#include <whetsight/result.h>
#include <whetsight/view.h>

#include "edge/axis.h"
#include "edge/outline.h"

G_BEGIN_DECLS

/* What the view's tool has as its edge. */
typedef enum
{
  WS_EDGE_DRILL,   /* two lips and a point */
  WS_EDGE_FRONT,   /* of a blade from above: its foremost corner */
  WS_EDGE_TIP,     /* from the side: where top and front meet */
  WS_EDGE_PROFILE, /* a form tool's, all of it */
  WS_N_EDGES
} WsEdgeKind;

/* WS_N_EDGES: a view that shows no edge so. */
WsEdgeKind wsi_edge_kind (const WsView *view);

/* A place of the edge, its standard uncertainty along the tool, and how far it moves along it when
 * the whole outline moves outward by 1. */
typedef struct
{
  WsPoint at;
  double u, outward;
} WsEdgePlace;

/* px of the ideal picture. */
typedef struct
{
  WsEdgeKind kind;
  WsOutline *outline;
  WsAxis axis;       /* toward the edge */
  WsEdgePlace edge;  /* a drill's: the middle of the outer corners; unset for a profile */
  WsEdgePlace point; /* a drill's alone: where its lips' lines meet */
  GArray *body;      /* of WsEdgePoint: what grinding doesn't touch */
  GArray *profile;   /* of a form tool, likewise: what cuts */
  double tip_height; /* from the side, over the base; NAN where that isn't seen */
  double u_tip_height;
  double level_u; /* by which the outline as a whole may lie outward */
  double blur;
} WsEdgePlaces;

/* FALSE with `result` a retake. */
gboolean wsi_edge_places_find (WsEdgeKind kind, const WsImage *image, const WsOptics *optics,
                               WsEdgePlaces *places, WsResult *result);
void wsi_edge_places_clear (WsEdgePlaces *places);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsEdgePlaces, wsi_edge_places_clear)

G_END_DECLS

#endif
