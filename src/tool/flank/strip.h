/*
 * Sampling the strip of flank along a cutting edge.
 */
#ifndef WS_TOOL_FLANK_STRIP_H
#define WS_TOOL_FLANK_STRIP_H

#include "colour/band.h"
#include "colour/sampler.h"

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* In the ideal picture, px: s along `along` from `origin`, d along `inward`. */
typedef struct
{
  WsPoint origin, along, inward;
  guint length, depth;
  double *lift; /* NULL, or `length` values: where the edge really is, added to d */

  /* Of an edge that isn't straight, `length` each, instead of the three above and `lift`. */
  const WsPoint *places, *inwards;
} WsStrip;

/* Is this place in the picture part of the flank?  NULL: all are. */
typedef gboolean (*WsStripInside) (WsPoint picture, gpointer data);

WsPoint wsi_strip_place (const WsStrip *strip, double s, double d);

/* In the real picture.  Without a lens both are the same. */
WsPoint wsi_strip_picture (const WsOptics *optics, WsPoint ideal);

/* Free with wsi_band_free(). */
WsBand *wsi_strip_sample (const WsStrip *strip, const WsSampler *sampler, const WsOptics *optics,
                          WsStripInside inside, gpointer data);

G_END_DECLS

#endif
