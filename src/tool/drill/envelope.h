/*
 * The envelope of a drill's body: the cylinder that its margins lie on.
 */
#ifndef WS_TOOL_DRILL_ENVELOPE_H
#define WS_TOOL_DRILL_ENVELOPE_H

#include "edge/outline.h"

G_BEGIN_DECLS

typedef struct
{
  double radius, u_radius;
  double margin_low; /* z down to which the outline follows the envelope */
  double bump[2];    /* how far something stands out of the body's left, right side; 0: nothing */
} WsEnvelope;

/*
 * The envelope radius.  Below the corners the outline follows the margins, which lie on the
 * envelope, over a short length on both sides; there the distance from the axis is greatest
 * and constant.  Sliding medians find that plateau, its points' mean is the radius.
 *
 * Turned half a turn the body is itself, so what stands out on one side and nowhere on the other
 * is none of it: a drop or a fragment.  It is left out.
 * `uz` are the outline's points in the tool frame, `corners` the rough outer corners.
 */
WsEnvelope wsi_envelope_find (const WsOutline *outline, const WsPoint *uz,
                              const WsPoint corners[2]);

G_END_DECLS

#endif
