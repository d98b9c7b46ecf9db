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
#ifndef WS_TOOL_PERSPECTIVE_H
#define WS_TOOL_PERSPECTIVE_H

#include "tool/drill_lines.h"

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

  /* Found by ws_perspective_undo(). */
  gboolean hand_seen; /* the picture confirms the hand */
  double rate;        /* of the helix, rad per px */
  double depth[2];    /* of lip a and b at the axis, behind (b) and before (a) its plane, px */
  double slope[2];    /* growth of that depth per px of distance from the axis */
} WsPerspective;

/* FALSE for a lens without perspective.  Card and optics tell web and scale. */
gboolean ws_perspective_of (const WsOptics *optics, const WsToolCard *card,
                            WsPerspective *perspective);

/* Moves the outline on which `*point` rests to where parallel projection would show it, and
 * locates the point anew (`*point` is replaced).  FALSE, with the reason, when it can't, or when
 * the card's hand is not the picture's; `*point` may be NULL then. */
gboolean ws_perspective_undo (WsPerspective *perspective, WsDrillPoint **point, WsRetake *reason,
                              char detail[96]);

/* Lines as seen when lip k lies `depth` (px) and, at the distance r from the axis, r x `slope`
 * nearer than it was taken for, lip a and b with opposite signs. */
WsDrillLines ws_perspective_seen (const WsPerspective *perspective, const WsDrillPoint *point,
                                  const WsDrillLines *lines, double depth, double slope);

G_END_DECLS

#endif
