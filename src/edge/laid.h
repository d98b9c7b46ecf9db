/*
 * Edge points of one picture laid on those of another by the best rigid motion.
 *
 * The motion is looked for among turns and shifts by how many points come to lie near others, then
 * refined by Gauss and Newton on the distances along the normals (Chen & Medioni, Image Vis.
 * Comput. 10, 1992), weighted by Tukey's biweight: what moved otherwise, or isn't there any more,
 * doesn't pull.
 */
#ifndef WS_EDGE_LAID_H
#define WS_EDGE_LAID_H

#include <whetsight/point.h>

#include <glib.h>

G_BEGIN_DECLS

/* A place p comes to lie at  to + scale R(turn) (p - from),  px. */
typedef struct
{
  WsPoint from, to;
  double turn, scale; /* rad from x toward y */
} WsMotion;

WsPoint wsi_motion_of (const WsMotion *motion, WsPoint p);

/* Of a direction, or a normal. */
WsPoint wsi_motion_turn (const WsMotion *motion, WsPoint d);

typedef struct
{
  const GArray *points, *onto; /* of WsEdgePoint: place and normal count */
  WsMotion start;
  WsPoint along; /* unit: how the tool is set out, in the picture of `onto` */
  double reach_along, reach_across, reach_turn; /* of the search about the start, px and rad */
  gboolean only_along;                          /* nothing else is free */

  /* Sides that run along tell nothing of the shift that way, however rough they look by noise. */
  gboolean sides_are_blind;
  double alike; /* how many neighbouring points say the same */
} WsLaying;

typedef struct
{
  WsMotion motion;
  WsPoint about;        /* in the picture of `onto`: what the covariance is of */
  double covariance[9]; /* of a shift (x, y) and a turn about it, px and rad */
  double scatter;       /* robust standard deviation of the distances, px */
  double share;         /* of the points that found one to lie on */
  guint n;
} WsLaid;

/* FALSE when nothing comes to lie on anything. */
gboolean wsi_lay (const WsLaying *laying, WsLaid *laid);

/* Those of `points` that are farther than `distance` px from all of `from`.  Free with
 * g_array_unref(). */
GArray *wsi_laid_away_from (const GArray *points, const GArray *from, double distance);

/* Standard uncertainty, px, along unit `d` of a place of the picture of `onto` that the motion
 * brought there. */
double wsi_laid_u (const WsLaid *laid, WsPoint at, WsPoint d);

G_END_DECLS

#endif
