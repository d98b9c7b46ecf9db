/*
 * Feed marks: scallops with many harmonics, some of which drown in the streaks of the edge.
 */
#ifndef WS_TOOL_PART_FEED_H
#define WS_TOOL_PART_FEED_H

#include "tool/part/patch.h"

G_BEGIN_DECLS

/* The spectrum's surroundings along the direction across the lay. */
typedef struct
{
  const double *around; /* median power about each frequency */
  guint n;
  double step;      /* between frequencies, cycles a px */
  double direction; /* rad */
} WsRidge;

/* The pitch whose harmonics stand out most, together; FALSE where none do.  `score`: natural
 * logarithms, summed. */
gboolean wsi_feed_find (const WsPatch *patch, const WsRidge *ridge, WsMarkFamily *feed,
                        double *score);

G_END_DECLS

#endif
