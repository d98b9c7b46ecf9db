/*
 * Coordinates along and across a line that is being fitted, and the bowed line in them.  For
 * src/edge/line.c and proud.c only.
 */
#ifndef WS_EDGE_LINE_FRAME_H
#define WS_EDGE_LINE_FRAME_H

#include "edge/line_fit.h"

G_BEGIN_DECLS

/* Legendre terms over the range: place, slope, bow. */
#define WS_LINE_TERMS 3

typedef struct
{
  double *t, *d, *weight; /* along, across; belong to the caller */
  guint n;
} WsLineFrame;

/* What pulls the bow to a value, as so many points would. */
typedef struct
{
  double value, weight;
} WsLineBowPrior;

/* Values of the terms at t. */
void wsi_line_legendre (const WsLineFit *fit, double t, double P[WS_LINE_TERMS]);

/* Coordinates along and across the line; the range is that of all points. */
void wsi_line_frame_read (const WsPoint *points, WsLineFit *fit, WsLineFrame *frame);

/* Weighted least squares without the points from `skip_from` up to `skip_to`; `bow` may be
 * NULL.  FALSE when the points don't determine the terms. */
gboolean wsi_line_frame_solve (const WsLineFrame *frame, const WsLineFit *fit, guint skip_from,
                               guint skip_to, const WsLineBowPrior *bow,
                               double terms[WS_LINE_TERMS]);

double wsi_line_frame_residual (const WsLineFrame *frame, const WsLineFit *fit,
                                const double terms[WS_LINE_TERMS], guint i);

/* Takes the straight part of `terms` into the line. */
void wsi_line_frame_absorb (WsLineFit *fit, const double terms[WS_LINE_TERMS]);

/* Sets u_offset and u_angle by the jackknife over blocks of all points. */
void wsi_line_frame_find_u (const WsLineFrame *frame, WsLineFit *fit, const WsLineBowPrior *bow);

G_END_DECLS

#endif
