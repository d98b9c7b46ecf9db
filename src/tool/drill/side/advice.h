/*
 * What a drill point's faults do to the work, and what to grind, in the shop's words.
 */
#ifndef WS_TOOL_DRILL_SIDE_ADVICE_H
#define WS_TOOL_DRILL_SIDE_ADVICE_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/*
 * Adds findings, advice and cautions to a judged `drill-side` result.  Claims nothing
 * that doesn't exceed its uncertainty.  Lengths without a scale are told in mm by the
 * card's diameter, or as parts of the diameter.  Chips are placed by their WS_MARK_CHIP marks
 * (label "a" or "b", the second point at the bottom of the notch).
 */
void wsi_drill_side_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
