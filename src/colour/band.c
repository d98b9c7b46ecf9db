#include "colour/band.h"

#include <math.h>

WsBand *
wsi_band_new (guint length, guint depth)
{
  WsBand *band = g_new0 (WsBand, 1);
  band->length = CLAMP (length, 1, G_MAXINT16);
  band->depth = CLAMP (depth, 1, G_MAXINT16);
  const gsize n = (gsize)3 * band->length * band->depth;
  band->rgb = g_new (float, n);
  for (gsize i = 0; i < n; i++)
    band->rgb[i] = NAN;
  return band;
}

void
wsi_band_free (WsBand *band)
{
  if (band == NULL)
    return;
  g_free (band->rgb);
  g_free (band);
}
