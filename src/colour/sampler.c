#include "colour/sampler.h"

#include "image/light.h"

#include <math.h>

void
wsi_sampler_init (WsSampler *sampler, const WsImage *image)
{
  sampler->image = image;
  for (guint code = 0; code < 256; code++)
    sampler->light[code] = wsi_colour_from_code (code / 255.0);
}

WsLight
wsi_sampler_pixel (const WsSampler *sampler, guint x, guint y)
{
  const WsImage *image = sampler->image;
  const gsize i = (gsize)y * image->width + x;
  if (image->rgb != NULL)
    return (WsLight){ sampler->light[image->rgb[3 * i]], sampler->light[image->rgb[3 * i + 1]],
                      sampler->light[image->rgb[3 * i + 2]] };
  const double grey = wsi_image_light_at (image, x, y) / (double)WS_IMAGE_FULL_SCALE;
  return (WsLight){ grey, grey, grey };
}

static WsLight
mixed (WsLight p, WsLight q, double t)
{
  return (WsLight){ p.r + t * (q.r - p.r), p.g + t * (q.g - p.g), p.b + t * (q.b - p.b) };
}

gboolean
wsi_sampler_at (const WsSampler *sampler, WsPoint at, WsLight *light)
{
  const WsImage *image = sampler->image;
  if (!(at.x >= 0 && at.y >= 0 && at.x <= image->width - 1.0 && at.y <= image->height - 1.0))
    return FALSE;
  const guint x = (guint)at.x, y = (guint)at.y;
  const guint right = MIN (x + 1, image->width - 1), below = MIN (y + 1, image->height - 1);
  const double tx = at.x - x, ty = at.y - y;
  const WsLight top =
    mixed (wsi_sampler_pixel (sampler, x, y), wsi_sampler_pixel (sampler, right, y), tx);
  const WsLight bottom =
    mixed (wsi_sampler_pixel (sampler, x, below), wsi_sampler_pixel (sampler, right, below), tx);
  *light = mixed (top, bottom, ty);
  return TRUE;
}
