/*
 * Light about a drill's point seen from the end, and the steps in it.  Places are in the ideal
 * picture, px.
 */
#ifndef WS_TOOL_DRILL_END_PICTURE_H
#define WS_TOOL_DRILL_END_PICTURE_H

#include "base/geometry.h"
#include "colour/sampler.h"

#include <whetsight/optics.h>

G_BEGIN_DECLS

typedef struct
{
  const WsSampler *sampler;
  const WsOptics *optics;
  WsLight steel; /* the tool's mean colour at luminance 1: chroma is counted from it */
} WsEndPicture;

static inline WsPoint
wsi_end_scaled (WsPoint p, double by)
{
  return wsi_point (by * p.x, by * p.y);
}

/* CIELAB of light relative to the tool's own colour. */
WsLab wsi_end_lab (const WsEndPicture *picture, WsLight light);

/* Lightness plus chroma, some 0 .. 100, NAN outside: ground flanks are light, and where heat has
 * darkened them they are vivid; flutes are neither. */
double wsi_end_lightness (const WsEndPicture *picture, WsPoint at);

/* Least fall of lightness where a flank ends. */
#define WS_END_LEAST_FALL 3.0

#define WS_END_MAX_WINDOW 1025

/* Where lightness falls most along a line from `from` over `reach` px (at most WS_END_MAX_WINDOW):
 * the greatest difference of means over `arm` px, which `drop` gets, then half way in linear light.
 * Each sample is the mean over `smooth` px to both sides along `along`.  Distance from `from`, px;
 * NAN without. */
double wsi_end_steepest_fall (const WsEndPicture *picture, WsPoint from, WsPoint direction,
                              WsPoint along, double reach, guint arm, gint smooth, double *drop);

/* The same, with the end of the search where light falls most there, and more beyond: no edge's
 * place, but who asks whether places scatter has to see it. */
double wsi_end_steepest_place (const WsEndPicture *picture, WsPoint from, WsPoint direction,
                               WsPoint along, double reach, guint arm, gint smooth, double *drop,
                               gboolean *at_end);

G_END_DECLS

#endif
