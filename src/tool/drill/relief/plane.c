#include "tool/drill/relief/plane.h"

#include "base/geometry.h"
#include "colour/colour.h"
#include "tool/flank/strip.h"

/* Mean light of the pixels in a cell of the ideal picture. */
static double
cell_light (const WsImage *image, const WsOptics *optics, WsPoint middle, double pitch)
{
  const guint n = (guint)ceil (pitch);
  double sum = 0;
  for (guint k = 0; k < n * n; k++)
  {
    const WsPoint off = { pitch * ((k % n + 0.5) / n - 0.5), pitch * ((k / n + 0.5) / n - 0.5) };
    const WsPoint p = wsi_strip_picture (optics, wsi_point_add (middle, off));
    const double x = CLAMP (round (p.x), 0.0, image->width - 1.0),
                 y = CLAMP (round (p.y), 0.0, image->height - 1.0);
    sum += image->linear[(gsize)y * image->width + (gsize)x];
  }
  return sum / (n * n) / WS_IMAGE_FULL_SCALE;
}

WsReliefPlane *
wsi_relief_plane_new (const WsImage *image, const WsOptics *optics, double pitch)
{
  WsReliefPlane *plane = g_new0 (WsReliefPlane, 1);
  plane->pitch = pitch;
  plane->width = MAX (1, (guint)(image->width / pitch));
  plane->height = MAX (1, (guint)(image->height / pitch));
  plane->light = g_new (float, (gsize)plane->width * plane->height);
  for (guint y = 0; y < plane->height; y++)
    for (guint x = 0; x < plane->width; x++)
    {
      const double light = cell_light (image, optics, wsi_relief_place (plane, x, y), pitch);
      plane->light[(gsize)y * plane->width + x] =
        (float)wsi_colour_lab ((WsLight){ light, light, light }).L;
    }
  return plane;
}

void
wsi_relief_plane_free (WsReliefPlane *plane)
{
  if (plane == NULL)
    return;
  g_free (plane->light);
  g_free (plane);
}

double
wsi_relief_light (const WsReliefPlane *plane, double x, double y)
{
  if (!(x >= 0 && y >= 0 && x < plane->width - 1.0 && y < plane->height - 1.0))
    return NAN;
  const guint i = (guint)x, j = (guint)y;
  const double tx = x - i, ty = y - j;
  const float *at = plane->light + (gsize)j * plane->width + i;
  const double above = (double)at[0] * (1 - tx) + (double)at[1] * tx;
  at += plane->width;
  return above * (1 - ty) + ((double)at[0] * (1 - tx) + (double)at[1] * tx) * ty;
}

WsPoint
wsi_relief_place (const WsReliefPlane *plane, double x, double y)
{
  return wsi_point ((x + 0.5) * plane->pitch - 0.5, (y + 0.5) * plane->pitch - 0.5);
}

WsPoint
wsi_relief_cell (const WsReliefPlane *plane, WsPoint place)
{
  return wsi_point ((place.x + 0.5) / plane->pitch - 0.5, (place.y + 0.5) / plane->pitch - 0.5);
}
