/*
 * What a near camera does to a drill, and its undoing.
 *
 * A point nearer to the camera than the measuring plane by h looks moved away from the foot F
 * of the line of sight by h / Z of its distance from there, Z the camera's distance.  The lips
 * lie before and behind the plane of the axis, and so do the flutes' edges: the outline is no
 * longer mirror-symmetric.  But the body is helical: turning it by t about the axis equals moving
 * it by t / rate along the axis.  A silhouette's point at depth h moves across by h for a small
 * turn, so
 *
 *   h = (d|u| / dz) / rate,  rate = tan (helix) / R
 *
 * for a right-hand drill, opposite for a left-hand one, whatever feature makes the silhouette.
 */
#ifndef WS_TOOL_DRILL_PERSPECTIVE_H
#define WS_TOOL_DRILL_PERSPECTIVE_H

#include "tool/drill/lines.h"

#include "base/refusal.h"
#include <whetsight/card.h>
#include <whetsight/optics.h>

G_BEGIN_DECLS

typedef struct
{
  double distance; /* of the camera from the measuring plane, px of the ideal picture */
  WsPoint foot;    /* px */
  double web_px;   /* by the card; NAN when it is silent */
  double hand;     /* of the flutes: +1 right, -1 left; found when the card is silent */
  gboolean hand_stated;

  /* Found by wsi_perspective_undo(). */
  gboolean hand_seen; /* the picture confirms the hand */
  double rate;        /* of the helix, rad per px */
  double depth[2];    /* of lip a and b at the axis, behind (b) and before (a) its plane, px */
  double slope[2];    /* growth of that depth per px of distance from the axis */

  /* Found by wsi_camera_distance_seek(), for a camera that is not calibrated. */
  gboolean in_doubt;      /* the distance is uncertain */
  WsDrillLines otherwise; /* the lines, had the camera stood farther away by its standard
                             uncertainty; or nearer, where none was found */
} WsPerspective;

/* What card and calibration tell: web and hand, distance and foot.  FALSE, without the latter, for
 * a camera that is not calibrated or has no perspective. */
gboolean wsi_perspective_of (const WsOptics *optics, const WsToolCard *card,
                             WsPerspective *perspective);

/* Moves the outline on which `*point` rests to where parallel projection would show it, and
 * locates the point anew (`*point` is replaced).  FALSE, with the reason, when it can't, or when
 * the card's hand is not the picture's; `*point` may be NULL then. */
gboolean wsi_perspective_undo (WsPerspective *perspective, WsDrillPoint **point,
                               WsRefusal *refusal);

/* The same for one distance and hand, from the outline as it was seen: the point, or NULL. */
WsDrillPoint *wsi_perspective_undone (WsPerspective *perspective, WsOutline *outline,
                                      const WsPoint *seen, WsRefusal *refusal);

/*
 * Moves a point and its outline on, from one distance or hand to a near one, nearly to where
 * wsi_perspective_undone() would have put them, in a small part of its time; `settled`: 1 for as
 * near as it goes, more for less.  FALSE when that gets lost; the point is of no use then.
 */
gboolean wsi_perspective_follow (WsPerspective *perspective, WsDrillPoint *point,
                                 const WsPoint *seen, double settled);

/* The outline's points, to be freed with g_free(), and back again. */
WsPoint *wsi_perspective_snapshot (const WsOutline *outline);
void wsi_perspective_restore (WsOutline *outline, const WsPoint *seen);

/* How far the body is from being symmetric, px; heights that the axis leaves out count as 1 px.
 * HUGE_VAL without a point. */
double wsi_perspective_asymmetry (const WsDrillPoint *point);

/* For a card that says the other hand, or none where it can't be told.  Always FALSE. */
gboolean wsi_perspective_refuse_hand (const WsPerspective *perspective, WsRefusal *refusal);

/* Lines as seen when lip k lies `depth` (px) and, at the distance r from the axis, r x `slope`
 * nearer than it was taken for, lip a and b with opposite signs. */
WsDrillLines wsi_perspective_seen (const WsPerspective *perspective, const WsDrillPoint *point,
                                   const WsDrillLines *lines, double depth, double slope);

G_END_DECLS

#endif
