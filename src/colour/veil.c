#include "colour/veil.h"

/* So much of a picture may be darker than it was: dead rows, a frame drawn around it. */
#define DARK_SHARE 0.01

#define N_CODES 256

double
wsi_veil_most (const WsImage *image, WsLight steel)
{
  if (image->rgb == NULL || !(steel.g > 0))
    return 0;
  const gsize n = (gsize)image->width * image->height;
  gsize counts[N_CODES] = { 0 }, below = 0;
  for (gsize i = 0; i < n; i++)
    counts[image->rgb[3 * i + 1]]++;
  guint code = 0;
  while (code + 1 < N_CODES && (below += counts[code]) < DARK_SHARE * (double)n)
    code++;
  return MIN (wsi_colour_from_code (code / 255.0) / steel.g, 1);
}
