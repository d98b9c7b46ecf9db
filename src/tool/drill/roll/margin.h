/*
 * The margins by the body's profile: where they are the outline, and where their edges are.
 * docs/methods/drill-roll.md, (R47) to (R50).
 */
#ifndef WS_TOOL_DRILL_ROLL_MARGIN_H
#define WS_TOOL_DRILL_ROLL_MARGIN_H

#include "tool/drill/roll/series.h"

G_BEGIN_DECLS

typedef struct
{
  double angle;     /* between a margin's edges about the axis, mean of both margins, rad */
  double u_angle;   /* by the scatter of the samples */
  double turn;      /* mean angle off an edge of the samples that tell it, rad */
  double clearance; /* of the body behind, px */
} WsRollMargin;

/* FALSE with the reason where no step is seen behind the margins. */
gboolean wsi_roll_find_margin (const WsRoll *roll, WsRollMargin *margin, WsRefusal *refusal);

G_END_DECLS

#endif
