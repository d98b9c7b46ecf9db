/*
 * What front-lit views share: burn and wear land of the flanks along one or two cutting edges,
 * as quantities, marks, findings and advice.
 */
#ifndef WS_TOOL_FLANK_FRONT_LIT_H
#define WS_TOOL_FLANK_FRONT_LIT_H

#include "colour/burn.h"
#include "tool/flank/strip.h"
#include "tool/flank/wear_land.h"

#include <whetsight/card.h>
#include <whetsight/result.h>

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

/* The flank behind one cutting edge. */
typedef struct
{
  const char *label;    /* NULL, or "a", "b" where there are two; static */
  const WsStrip *strip; /* borrowed */
  WsBand *band;         /* owned */
  WsBurn burn;
  WsWearLand land;
} WsFlank;

/* Judges colour and land of `flanks`, whose bands are filled.  `ground`: colour around the tool. */
void ws_flanks_judge (WsFlank *flanks, guint n_flanks, const WsImage *image, const WsLight *ground);

/* Colour alone. */
void ws_flanks_judge_colour (WsFlank *flanks, guint n_flanks, const WsImage *image,
                             const WsLight *ground);
void ws_flanks_clear (WsFlank *flanks, guint n_flanks);

/* Adds the quantities above, from the worse of the flanks (means: over both), findings about
 * colour, and marks. */
void ws_front_lit_add (const WsFlank *flanks, guint n_flanks, const WsOptics *optics,
                       WsResult *result);

/* ---- For what else reports on flanks ---- */

/* Adds the lines that every length has, then U. */
void ws_flank_finish (WsQuantity *quantity, const WsOptics *optics);

/* From where to where something reaches in a column; FALSE where it is not there. */
typedef gboolean (*WsFlankExtent) (const WsFlank *flank, guint s, guint film, double *from,
                                   double *to);

/* Marks where it is, in as many polygons as there are stretches. */
void ws_flank_mark_regions (const WsFlank *flank, WsResult *result, WsMarkRole role,
                            const char *label, guint film, WsFlankExtent extent);

/* Findings and advice on burn and wear, once verdicts are in. */
void ws_front_lit_advise (WsResult *result);

G_END_DECLS

#endif
