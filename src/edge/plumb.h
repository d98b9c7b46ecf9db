/*
 * How much a lens bends the straight edges that a picture shows.
 */
#ifndef WS_EDGE_PLUMB_H
#define WS_EDGE_PLUMB_H

#include "edge/outline.h"

G_BEGIN_DECLS

typedef struct
{
  double distortion; /* shift of the picture's corner outward, as a part of its distance from the
                        middle */
  double u;          /* its standard uncertainty, from how the lines agree */
  guint lines;       /* with fewer than two nothing is known and u is infinite */
} WsPlumb;

/*
 * Straight lines that don't go through the picture's middle are bowed by radial distortion (Brown,
 * "Close-range camera calibration", Photogrammetric Engineering 37(8), 1971); one amount, about the
 * middle, has to explain the bows of all straight stretches of the outline.  A tool's own bows and
 * what isn't straight disagree, which shows in `u`.
 */
WsPlumb wsi_plumb_find (const WsOutline *outline, guint width, guint height);

G_END_DECLS

#endif
