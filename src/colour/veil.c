#include "colour/veil.h"

/* So much of a picture may be darker, or lighter, than it was: dead rows, a frame drawn around it.
 */
#define EXTREME_SHARE 0.01

/* Of what is bright in a picture: where something is darker it has black in it, but for a faint
 * veil. Own trials on rendered pictures. */
#define LITTLE_CONTRAST 0.5

#define N_CODES 256

/* The light that so much of the picture is darker than. */
static double
light_above (const gsize counts[N_CODES], double wanted)
{
  double below = 0;
  guint code = 0;
  while (code + 1 < N_CODES && (below += (double)counts[code]) < wanted)
    code++;
  return wsi_colour_from_code (code / 255.0);
}

double
wsi_veil_most (const WsImage *image, WsLight steel)
{
  if (image->rgb == NULL || !(steel.g > 0))
    return 0;
  const gsize n = (gsize)image->width * image->height;
  gsize counts[N_CODES] = { 0 };
  for (gsize i = 0; i < n; i++)
    counts[image->rgb[3 * i + 1]]++;
  const double dark = light_above (counts, EXTREME_SHARE * (double)n),
               bright = light_above (counts, (1 - EXTREME_SHARE) * (double)n);
  return dark > LITTLE_CONTRAST * bright ? MIN (dark / steel.g, 1) : 0;
}
