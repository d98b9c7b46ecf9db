/*
 * How far the edges of a boundary are spread.
 */
#ifndef WS_EDGE_EDGE_BLUR_H
#define WS_EDGE_EDGE_BLUR_H

#include "edge/scan.h"

G_BEGIN_DECLS

/* A first guess, px; 0: too few edges tell. */
double wsi_edge_blur_rough (const WsScanFitter *fitter, const GArray *cracks);

typedef struct
{
  double median;      /* standard deviation of the edge spread, along the normal, px */
  double least, most; /* over directions of the normal */
} WsEdgeBlur;

/* Refits a thin sample of points with free blur, sorted by the normal's direction (mod 180
 * degrees): motion blurs one direction only. */
WsEdgeBlur wsi_edge_blur_measure (const WsScanFitter *fitter, const GArray *cracks, double rough);

G_END_DECLS

#endif
