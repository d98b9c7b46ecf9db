/*
 * Axis and lips of a drill's point seen from the end, to about a cell of a reduced picture.
 */
#ifndef WS_TOOL_DRILL_END_GUESS_H
#define WS_TOOL_DRILL_END_GUESS_H

#include "tool/drill/end/picture.h"

G_BEGIN_DECLS

/* Lightness about the drill on a grid of some hundred cells. */
#define WS_END_GRID 256

typedef struct
{
  WsPoint origin; /* ideal px of cell (0, 0) */
  double pitch;   /* px a cell */
  float light[WS_END_GRID * WS_END_GRID];
  float gx[WS_END_GRID * WS_END_GRID], gy[WS_END_GRID * WS_END_GRID];
} WsEndGrid;

void wsi_end_grid_fill (const WsEndPicture *picture, WsPoint centre, double radius,
                        WsEndGrid *grid);

/* The centre about which half a turn maps edges onto edges: docs/methods/front-lit.md, the point
 * from the end. */
WsPoint wsi_end_grid_centre (const WsEndGrid *grid);

typedef struct
{
  double angle; /* of e, rad */
  double rho;   /* px, signed: on which side of e's line through the axis lip a lies */
  double score;
} WsEndGuess;

/* The two lines, half a turn apart, along which lightness falls most outward; lip a lies on the
 * side of `side`, 1 or -1. */
WsEndGuess wsi_end_guess_lips (const WsEndGrid *grid, WsPoint centre, double radius, gint side);

/* Mean darkening outward along one lip of a guess, lightness a cell; `side` 1: lip a, -1: b. */
double wsi_end_lip_darkening (const WsEndGrid *grid, WsPoint centre, double radius, WsPoint e,
                              double rho, double side);

/* Web over radius of drills, wide (common practice, no source). */
#define WS_END_WEB_LEAST 0.05
#define WS_END_WEB_MOST 0.3

/* Lips are straight from here to there, in radii. */
#define WS_END_LIP_FROM 0.3
#define WS_END_LIP_TO 0.92

G_END_DECLS

#endif
