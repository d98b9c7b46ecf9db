#include "tool/drill/relief/plane.h"

#include "base/geometry.h"
#include "colour/colour.h"
#include "tool/flank/strip.h"

static float
lightness (double light)
{
  return (float)wsi_colour_lab ((WsLight){ light, light, light }).L;
}

/* Index of the pixel of `n` in a row that a place lies in, or the nearest. */
static gsize
pixel_at (double place, guint n)
{
  return (gsize)(CLAMP (place, 0.0, n - 1.0) + 0.5);
}

/* Mean light of the pixels in a cell of the ideal picture. */
static double
cell_light (const WsImage *image, const WsOptics *optics, WsPoint middle, double pitch)
{
  const guint n = (guint)ceil (pitch);
  double sum = 0;
  for (guint k = 0; k < n * n; k++)
  {
    const guint row = k / n;
    const WsPoint off = { pitch * ((k % n + 0.5) / n - 0.5), pitch * ((row + 0.5) / n - 0.5) };
    const WsPoint p = wsi_strip_picture (optics, wsi_point_add (middle, off));
    sum +=
      image->linear[pixel_at (p.y, image->height) * image->width + pixel_at (p.x, image->width)];
  }
  return sum / (n * n) / WS_IMAGE_FULL_SCALE;
}

/* Of each pixel by itself; cube roots of millions take a second. */
static void
fill_by_pixels (const WsImage *image, WsReliefPlane *plane)
{
  g_autofree float *table = g_new (float, G_MAXUINT16 + 1);
  for (guint i = 0; i <= G_MAXUINT16; i++)
    table[i] = lightness (i / (double)WS_IMAGE_FULL_SCALE);
  for (gsize i = 0; i < (gsize)plane->width * plane->height; i++)
    plane->light[i] = table[image->linear[i]];
}

static void
fill_by_cells (const WsImage *image, const WsOptics *optics, WsReliefPlane *plane)
{
  for (guint y = 0; y < plane->height; y++)
    for (guint x = 0; x < plane->width; x++)
      plane->light[(gsize)y * plane->width + x] =
        lightness (cell_light (image, optics, wsi_relief_place (plane, x, y), plane->pitch));
}

WsReliefPlane *
wsi_relief_plane_new (const WsImage *image, const WsOptics *optics, double pitch)
{
  WsReliefPlane *plane = g_new0 (WsReliefPlane, 1);
  plane->pitch = pitch;
  plane->width = MAX (1, (guint)(image->width / pitch));
  plane->height = MAX (1, (guint)(image->height / pitch));
  plane->light = g_new (float, (gsize)plane->width * plane->height);
  if (optics->lens == NULL && plane->width == image->width && plane->height == image->height)
    fill_by_pixels (image, plane);
  else
    fill_by_cells (image, optics, plane);
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
