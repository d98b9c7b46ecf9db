/*
 * The form of a blade's edges: how clear, how straight, and notched how deep.
 */
#ifndef WS_TOOL_BLADE_EDGE_FORM_H
#define WS_TOOL_BLADE_EDGE_FORM_H

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Median RMS residual over step of an edge's scan lines. */
double wsi_blade_edge_noise (const WsBlade *blade, guint e);

/* Median over an edge's scan lines: RMS residual in light, 0 .. 1, and step. */
typedef struct
{
  double residual, step;
} WsBladeScan;

WsBladeScan wsi_blade_scan (const WsBlade *blade, guint edge);

/* Peak to valley of an edge about its line, damage left out, px.  `noise` is set to the standard
 * deviation of one of the running medians compared; `most`: what of the edge's scatter may be
 * noise at most, the rest is form. */
double wsi_blade_straightness (const WsBladeEdge *edge, double most, double *noise);

/* How much more its single points show, from peak to valley, than their medians do, beyond what
 * noise of that standard deviation makes, px: waves as short as a median. */
double wsi_blade_short_waves (const WsBladeEdge *edge, double noise);

/* What of that peak to valley goes when the edge is smoothed once more, as blur (`blur` px) and
 * medians have smoothed it already: about what they took, px. */
double wsi_blade_softened (const WsBladeEdge *edge, double blur);

/* The deepest notch in an edge. */
typedef struct
{
  double depth;    /* px below the line, blur's lift not added; 0: no notch */
  double lift;     /* what the blur takes from it, px */
  WsPoint on_line; /* above the bottom */
  WsPoint bottom;
} WsBladeNotch;

/* Of the front, if deeper than `least`. */
WsBladeNotch wsi_blade_notch (const WsBlade *blade, double least);

G_END_DECLS

#endif
