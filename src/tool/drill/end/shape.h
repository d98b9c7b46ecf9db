/*
 * A two-flute drill's point seen along its axis in front light: axis, lips, chisel edge, margins.
 *
 * Everything is in the ideal picture, px.  Frame: e along lip a from the axis outward, n square
 * to it on the lip's own side, so that lip a is the line n = rho, and lip b, half a turn on,
 * n = -rho.
 */
#ifndef WS_TOOL_DRILL_END_SHAPE_H
#define WS_TOOL_DRILL_END_SHAPE_H

#include "base/geometry.h"
#include "edge/line.h"

G_BEGIN_DECLS

typedef struct
{
  gboolean coloured; /* by heat, over so much of it that the line rests on it */
  double contrast;   /* median fall of lightness at it */
  WsLineFit line;    /* of the lip, in the ideal picture */
  double stray;      /* px: what was found beside the line leaves its place open by so much */
  double bow;        /* how far its middle lies off its ends, px */
  WsPoint outward;   /* unit, along the lip away from the axis */
  WsPoint inward;    /* unit, square to it, into its flank */
  WsPoint corner;    /* outer corner */
  WsPoint inner;     /* where the chisel edge begins */
  double margin;     /* margin's width along the periphery, px; NAN when not seen */
  double rim_step;   /* the same by where the rim falls back; NAN when it doesn't */
  double clearance;  /* how far the rim falls back behind the margin, radii; NAN when not seen */
} WsEndLip;

typedef struct
{
  WsPoint centre; /* of the margins' circle: the drill's axis */
  double u_centre;
  double radius;
  WsEndLip lips[2];
  gboolean right_hand;

  gboolean has_chisel; /* its edge stands out from the two flanks */
  double u_chisel_rad; /* of its direction */
} WsEndPoint;

/* Point of a lip's line nearest to the axis. */
static inline WsPoint
wsi_end_lip_foot (const WsEndLip *lip, WsPoint centre)
{
  const double t = wsi_point_dot (wsi_point_sub (centre, lip->line.centre), lip->outward);
  return wsi_point_along (lip->line.centre, t, lip->outward);
}

G_END_DECLS

#endif
