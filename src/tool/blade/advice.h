/*
 * What a cutoff blade's faults do to the work, and what to grind, in the shop's words.
 */
#ifndef WS_TOOL_BLADE_ADVICE_H
#define WS_TOOL_BLADE_ADVICE_H

#include <whetsight/card.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* Add findings, advice and cautions to a judged result.  They claim nothing that doesn't exceed
 * its uncertainty.  Lengths without a scale are told in mm by the card's width, else in px.  A chip
 * is placed by its WS_MARK_CHIP mark (the second point at the bottom of the notch). */
void wsi_blade_plan_advise (const WsToolCard *card, WsResult *result);
void wsi_blade_side_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
