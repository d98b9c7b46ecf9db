/*
 * The point of a two-flute drill in silhouette: axis, envelope, lips, corners.
 * Pixels and radians; the frame is that of the axis (edge/mirror.h): u across, z toward
 * the point.
 */
#ifndef WS_TOOL_DRILL_POINT_H
#define WS_TOOL_DRILL_POINT_H

#include "base/refusal.h"
#include "edge/mirror.h"
#include "edge/outline.h"
#include "tool/drill/lip.h"

G_BEGIN_DECLS

typedef struct
{
  WsOutline *outline; /* borrowed */
  WsPoint *uz;        /* every outline point in the tool frame */
  WsMirror mirror;
  double radius; /* of the envelope */
  double u_radius;
  double bump[2];     /* what stands out of the envelope on lip a's side, lip b's; px */
  WsPoint tip;        /* foremost point of the outline */
  WsPoint apex;       /* where the lip lines meet */
  WsDrillLip lips[2]; /* a, b */
} WsDrillPoint;

/* NULL with the reason when the outline is not a measurable drill point.  Free with
 * wsi_drill_point_free(). */
WsDrillPoint *wsi_drill_point_locate (WsOutline *outline, WsRefusal *refusal);

/* Moves a located point on after its outline was moved a little: axis, radius, body, and the lips
 * as lines; what sticks out of them and all else stays as it was.  FALSE when it gets lost. */
gboolean wsi_drill_point_follow (WsDrillPoint *point);

/* Turns lip k's line about its centre by `turn`, and moves what follows from it. */
void wsi_drill_point_turn_lip (WsDrillPoint *point, guint k, double turn);

/* How far both lips' bows are from being those of lips ground alike, px; `unsure`: the standard
 * uncertainty of what lips at different half angles are expected to differ by. */
double wsi_drill_bows_apart (const WsDrillPoint *point, double *unsure);

/* Height of the foremost point in the tool frame, px: the mean of its near neighbours, against
 * noise. */
double wsi_drill_point_tip_height (const WsDrillPoint *point);

void wsi_drill_point_free (WsDrillPoint *point);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsDrillPoint, wsi_drill_point_free)

G_END_DECLS

#endif
