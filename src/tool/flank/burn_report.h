/*
 * Burn of the flanks along one or two cutting edges, as quantities, marks, findings and advice.
 */
#ifndef WS_TOOL_FLANK_BURN_REPORT_H
#define WS_TOOL_FLANK_BURN_REPORT_H

#include <whetsight/card.h>
#include <whetsight/result.h>

#include "tool/flank/flank.h"

G_BEGIN_DECLS

enum
{
  WS_BURN_AREA,
  WS_BURN_DEPTH,
  WS_BURN_LENGTH,
  WS_BURN_N
};

#define WS_BURN_AREA_QUANTITY                                                                      \
  {                                                                                                \
    "burn_area", WS_UNIT_SHARE, NULL, "Burnt share",                                               \
      "Share of the flank within a quarter of the edge's length that heat coloured."               \
  }
#define WS_BURN_DEPTH_QUANTITY                                                                     \
  {                                                                                                \
    "burn_depth_max", WS_UNIT_LENGTH, NULL, "Burn depth",                                          \
      "Greatest distance from the edge at which heat's colour ends."                               \
  }
#define WS_BURN_LENGTH_QUANTITY                                                                    \
  {                                                                                                \
    "burn_length", WS_UNIT_LENGTH, NULL, "Burnt edge", "Length of edge that heat coloured."        \
  }
#define WS_BURN_QUANTITIES WS_BURN_AREA_QUANTITY, WS_BURN_DEPTH_QUANTITY, WS_BURN_LENGTH_QUANTITY

typedef struct
{
  WsQuantity *area, *depth, *length; /* depth: NULL in views that see flanks foreshortened */
} WsBurnQuantities;

/* Over all flanks, depth of the deepest.  Leaves the quantities unknown, and says why, where colour
 * can't be judged. */
void wsi_burn_report (const WsFlank *flanks, guint n_flanks, const WsToolCard *card,
                      const WsOptics *optics, const WsBurnQuantities *quantities, WsResult *result);

/* Once verdicts are in. */
void wsi_burn_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
