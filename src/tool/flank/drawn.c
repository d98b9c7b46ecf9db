#include "tool/flank/drawn.h"

/* Of neighbouring pixels at most so many have the very same light on ground metal (own trials: 0 to
 * 0.53 of rendered flanks, JPEG among them; 0.85 to 1 of drawings and a menu). */
#define MOST_EVEN 0.8
#define CLIPPED 0.97

void
wsi_drawn_look (WsDrawn *drawn, const WsImage *image, WsPoint at)
{
  if (!(at.x >= 0 && at.y >= 0 && at.x < image->width - 1.0 && at.y < image->height))
    return;
  const guint16 *light = image->linear + (gsize)at.y * image->width + (gsize)at.x;
  if (light[0] > CLIPPED * WS_IMAGE_FULL_SCALE)
    return;
  drawn->n++;
  drawn->even += light[0] == light[1] ? 1 : 0;
}

gboolean
wsi_is_drawn (const WsDrawn *drawn)
{
  return drawn->even > MOST_EVEN * drawn->n;
}
