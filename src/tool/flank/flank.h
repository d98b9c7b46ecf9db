/*
 * The flank along one or two cutting edges, lit from the front: its colour and wear land judged,
 * and what all that reports on flanks shares.
 */
#ifndef WS_TOOL_FLANK_FLANK_H
#define WS_TOOL_FLANK_FLANK_H

#include <whetsight/card.h>
#include <whetsight/result.h>

#include "colour/burn.h"
#include "tool/flank/strip.h"
#include "tool/flank/wear_land.h"

G_BEGIN_DECLS

/* The flank behind one cutting edge. */
typedef struct
{
  const char *label;    /* NULL, or "a", "b" where there are two; static */
  const WsStrip *strip; /* borrowed */
  WsBand *band;         /* owned */
  const WsBand *deep; /* borrowed: the same and what lies below it, where all of the flank is known
                         to be seen; NULL */
  double blur_px;     /* the picture's, as a standard deviation; 0 where nobody told */
  double least_depth; /* px of it that must show before "no land" is said: one that covers all that
                         shows has no end; 0 where that doesn't matter */
  WsCoating coating;  /* by the card */
  WsTint tint;        /* as it is seen */
  WsBurn burn;
  WsWearLand land;
} WsFlank;

/* Judges colour and land of `flanks`, whose bands are filled.  `ground`: colour around the tool. */
void wsi_flanks_judge (WsFlank *flanks, guint n_flanks, const WsImage *image,
                       const WsLight *ground);

/* Colour alone. */
void wsi_flanks_judge_colour (WsFlank *flanks, guint n_flanks, const WsImage *image,
                              const WsLight *ground);
void wsi_flanks_clear (WsFlank *flanks, guint n_flanks);

/* Adds the lines that every length has, then U. */
void wsi_flank_finish (WsQuantity *quantity, const WsOptics *optics);

/* From where to where something reaches in a column; FALSE where it is not there. */
typedef gboolean (*WsFlankExtent) (const WsFlank *flank, guint s, guint film, double *from,
                                   double *to);

/* Marks where it is, in as many polygons as there are stretches. */
void wsi_flank_mark_regions (const WsFlank *flank, WsResult *result, WsMarkRole role,
                             const char *label, guint film, WsFlankExtent extent);

G_END_DECLS

#endif
