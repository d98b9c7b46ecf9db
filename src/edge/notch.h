/*
 * What blur takes from a notch in an edge (docs/methods/drill.md, (12a)).
 */
#ifndef WS_EDGE_NOTCH_H
#define WS_EDGE_NOTCH_H

#include "maths/least_squares.h"

G_BEGIN_DECLS

typedef struct
{
  double blur, depth;   /* of the notch; px */
  double before, after; /* the bottom, where it is half as deep; px */
  WsLeastSquares sums;
} WsNotch;

/* A notch so deep in an outline blurred by `blur`, px. */
void wsi_notch_begin (WsNotch *notch, double depth, double blur);

/* Any point of the outline, so far along the edge from the deepest one and so deep, px. */
void wsi_notch_add (WsNotch *notch, double along, double depth);

/* How far blur lifted the bottom, px; 0 where nothing tells. */
double wsi_notch_lift (const WsNotch *notch);

G_END_DECLS

#endif
