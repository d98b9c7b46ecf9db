#include "tool/flank/strip.h"

#include "base/geometry.h"

WsPoint
wsi_strip_place (const WsStrip *strip, double s, double d)
{
  const guint column = (guint)CLAMP (s, 0, strip->length - 1.0);
  if (strip->places != NULL)
    return wsi_point_along (strip->places[column], d, strip->inwards[column]);
  const double lift = strip->lift != NULL ? strip->lift[column] : 0;
  return wsi_point_along (wsi_point_along (strip->origin, s, strip->along), d + lift,
                          strip->inward);
}

WsPoint
wsi_strip_picture (const WsOptics *optics, WsPoint ideal)
{
  return optics->lens != NULL ? ws_lens_to_picture (optics->lens, ideal) : ideal;
}

WsBand *
wsi_strip_sample (const WsStrip *strip, const WsSampler *sampler, const WsOptics *optics,
                  WsStripInside inside, gpointer data)
{
  WsBand *band = wsi_band_new (strip->length, strip->depth);
  for (guint d = 0; d < band->depth; d++)
    for (guint s = 0; s < band->length; s++)
    {
      WsLight light;
      float *cell = wsi_band_cell (band, s, d);
      const WsPoint at = wsi_strip_picture (optics, wsi_strip_place (strip, s + 0.5, d + 0.5));
      if ((inside != NULL && !inside (at, data)) || !wsi_sampler_at (sampler, at, &light))
        continue;
      cell[0] = (float)light.r;
      cell[1] = (float)light.g;
      cell[2] = (float)light.b;
    }
  return band;
}
