/*
 * A picture's colour in linear light between its pixels.
 */
#ifndef WS_COLOUR_SAMPLER_H
#define WS_COLOUR_SAMPLER_H

#include <whetsight/image.h>
#include <whetsight/point.h>

#include "colour/colour.h"

G_BEGIN_DECLS

typedef struct
{
  const WsImage *image; /* borrowed */
  double light[256];    /* of each code */
} WsSampler;

void wsi_sampler_init (WsSampler *sampler, const WsImage *image);

/* Of a pixel inside the picture; grey where the picture has no colour. */
WsLight wsi_sampler_pixel (const WsSampler *sampler, guint x, guint y);

/* Bilinear.  FALSE outside the pixels' centres. */
gboolean wsi_sampler_at (const WsSampler *sampler, WsPoint at, WsLight *light);

G_END_DECLS

#endif
