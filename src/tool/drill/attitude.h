/*
 * How square a drill was seen: the lean of its axis out of the picture's plane, and a skew of the
 * picture, both of which make the body's outline asymmetric (edge/asymmetry.h).
 */
#ifndef WS_TOOL_DRILL_ATTITUDE_H
#define WS_TOOL_DRILL_ATTITUDE_H

#include "tool/drill/point.h"

G_BEGIN_DECLS

typedef struct
{
  gboolean seen;       /* the outline tells; else all is 0 */
  double lean, u_lean; /* rad; of the axis times the flutes' hand: positive where lip b is seen too
                          far ahead */
  double upright;      /* of that, rad, what values are to be freed of */
  gboolean is_sure;    /* no near camera makes that skew */
  gboolean is_near;    /* only a near camera does */
  double skew_alone;   /* as it would be without any near camera */
  double skew, u_skew; /* growth of z with u: positive where lip b is seen too far ahead */
} WsAttitude;

/*
 * Where parallel projection explains the body's outline, be it with a lean and a skew: makes the
 * outline on which `*point` rests symmetric and replaces `*point`, unless it is symmetric already.
 * FALSE, with the outline left as it was, where a near camera may be the cause.
 */
gboolean wsi_attitude_undo (WsDrillPoint **point, WsAttitude *attitude);

/* What is left of both in an outline whose perspective was undone, by a calibrated camera or one
 * whose distance the drill told. */
void wsi_attitude_left (const WsDrillPoint *point, gboolean calibrated, WsAttitude *attitude);

G_END_DECLS

#endif
