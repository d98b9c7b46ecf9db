/*
 * Is what was found a drill's point at all?  Slots, squares, knobs and fans have parallel edges
 * about a middle, too.
 */
#ifndef WS_TOOL_DRILL_END_LIKENESS_H
#define WS_TOOL_DRILL_END_LIKENESS_H

#include "base/refusal.h"
#include "tool/drill/end/guess.h"
#include "tool/drill/end/shape.h"

G_BEGIN_DECLS

/* How much of it is so, 1 for all and 0 for what is there by chance. */
typedef struct
{
  double clear;    /* light's fall along the clearer lip, lightness a cell of the grid */
  double goes_on;  /* of it beyond the web, on the same lines */
  double mirrored; /* edges that a mirror along or across the lips maps onto edges */
  double turned;   /* directions of edges that half a turn maps onto each other */
} WsEndLikeness;

WsEndLikeness wsi_end_likeness (const WsEndGrid *grid, const WsEndPoint *point);

/* FALSE with the reason when lips, web, rim or symmetry are none of a drill's. */
gboolean wsi_end_is_drill (const WsEndGrid *grid, const WsEndPoint *point, WsRefusal *refusal);

/* Ground flanks have a grain, and cameras noise: FALSE for what is painted evenly. */
gboolean wsi_end_has_grain (const WsEndPicture *picture, const WsEndPoint *point);

G_END_DECLS

#endif
