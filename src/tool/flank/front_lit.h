/*
 * What front-lit views share: burn and wear land of the flanks along one or two cutting edges,
 * as quantities, marks, findings and advice.
 */
#ifndef WS_TOOL_FLANK_FRONT_LIT_H
#define WS_TOOL_FLANK_FRONT_LIT_H

#include "tool/flank/burn_report.h"
#include "tool/flank/flank.h"

G_BEGIN_DECLS

enum
{
  WS_FRONT_LIT_LAND_MEAN,
  WS_FRONT_LIT_LAND_MAX,
  WS_FRONT_LIT_BURN_AREA,
  WS_FRONT_LIT_BURN_DEPTH,
  WS_FRONT_LIT_BURN_LENGTH,
  WS_FRONT_LIT_N
};

/* In that order; for the list that a view declares. */
#define WS_FRONT_LIT_QUANTITIES                                                                    \
  { "wear_land_mean", WS_UNIT_LENGTH, NULL, "Wear land, mean VB",                                  \
    "Mean width of the wear land along the edge; 0 without one." },                                \
    { "wear_land_max", WS_UNIT_LENGTH, NULL, "Wear land, max VB",                                  \
      "Greatest width of the wear land; 0 without one." },                                         \
    WS_BURN_QUANTITIES

/* Adds the quantities above, from the worse of the flanks (means: over both), findings about
 * colour, and marks. */
void wsi_front_lit_add (const WsFlank *flanks, guint n_flanks, const WsToolCard *card,
                        const WsOptics *optics, WsResult *result);

/* The same quantities, all unknown: of a flank that can't be told to be one. */
void wsi_front_lit_add_unknown (const WsOptics *optics, WsResult *result);

/* Findings and advice on burn and wear, once verdicts are in. */
void wsi_front_lit_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
