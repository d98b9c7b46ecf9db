/*
 * The wear land: a band along the cutting edge, rubbed to another lustre than the flank.
 * Terms of ISO 3685:1993: VB its mean width, VB max its greatest.
 */
#ifndef WS_TOOL_FLANK_WEAR_LAND_H
#define WS_TOOL_FLANK_WEAR_LAND_H

#include "colour/band.h"

G_BEGIN_DECLS

typedef struct
{
  gboolean judged; /* FALSE: too little of the edge could be seen */
  gboolean present;
  gboolean streaky;  /* the flank is ground along the edge: only columns with a clear end count */
  gboolean bordered; /* not judged since a border runs beside the edge deeper than a land's */
  gboolean covered;  /* not judged since it may cover all of the flank that shows */
  gboolean cut_off;  /* the land is over-exposed */
  gboolean lost;     /* not judged since columns side by side show no end of it */
  double *width;     /* px, one a column of the band; NAN where it can't be seen */
  double mean, max;  /* px; 0 without a land */
  double u_mean, u_max;
  double seen_share; /* of the columns */
  double least;      /* px: narrower lands can't be seen here */
  double blur_px;    /* the picture's, as told */
  guint edge_px;     /* that the edge's own blur takes */
} WsWearLand;

/* What a land is looked for on. */
typedef struct
{
  const WsBand *band;
  const guint8 *hidden; /* NULL, or a non-zero value for each column that is burnt: not judged */
  double blur_px;       /* the picture's, as a standard deviation, or 0 where nobody told */
  gboolean paled;       /* colour of heat would not be told, so that any column may be burnt */
  gboolean whole;       /* all of the flank is seen, so that all of the edge has to be clear */
} WsLandSight;

/* Clear with wsi_wear_land_clear().  docs/methods/front-lit.md (L5). */
void wsi_wear_land_find (const WsLandSight *sight, WsWearLand *land);

void wsi_wear_land_clear (WsWearLand *land);

G_END_DECLS

#endif
