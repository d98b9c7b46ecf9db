/*
 * What to grind off a drill.
 */
#ifndef WS_TOOL_DRILL_SIDE_REGRIND_H
#define WS_TOOL_DRILL_SIDE_REGRIND_H

#include "tool/drill/side/facts.h"

G_BEGIN_DECLS

typedef struct
{
  double half_angle[WS_N_LIPS]; /* to be ground, degrees */
  double turn[WS_N_LIPS];       /* change of half angle, degrees */
  double at_corner[WS_N_LIPS];  /* to take off along the axis, in the lengths' unit */
  double at_centre[WS_N_LIPS];
} WsDrillRegrind;

/* Something is beyond doubt amiss that grinding cures, and enough is known to say how. */
gboolean wsi_drill_needs_grinding (const WsDrillFacts *drill);

/* Axial amount that cleans up chips, a bow and a worn corner of a lip; 0 without. */
double wsi_drill_clean_up (const WsDrillFacts *drill, int lip);

/* The regrind that costs the least metal; only where grinding is needed. */
WsDrillRegrind wsi_drill_plan_regrind (const WsDrillFacts *drill);

/* Whether it takes more off a lip than the heights are uncertain. */
gboolean wsi_drill_is_ground (const WsDrillFacts *drill, const WsDrillRegrind *plan, int lip);

G_END_DECLS

#endif
