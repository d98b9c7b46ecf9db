/*
 * Lightness of a picture for the search of edges in `drill-relief`; places are in the ideal
 * picture.
 */
#ifndef WS_TOOL_DRILL_RELIEF_PLANE_H
#define WS_TOOL_DRILL_RELIEF_PLANE_H

#include <whetsight/image.h>
#include <whetsight/optics.h>

#include <math.h>

G_BEGIN_DECLS

typedef struct
{
  guint width, height;
  double pitch; /* px a cell */
  float *light; /* CIELAB lightness, 0 .. 100, of luminance; row by row */
} WsReliefPlane;

/* Means over cells of `pitch` >= 1 px.  Free with wsi_relief_plane_free(). */
WsReliefPlane *wsi_relief_plane_new (const WsImage *image, const WsOptics *optics, double pitch);
void wsi_relief_plane_free (WsReliefPlane *plane);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsReliefPlane, wsi_relief_plane_free)

/* Bilinear, at a place in cells; NAN outside.  Millions of them are read. */
static inline double
wsi_relief_light (const WsReliefPlane *plane, double x, double y)
{
  if (!(x >= 0 && y >= 0 && x < plane->width - 1.0 && y < plane->height - 1.0))
    return (double)NAN;
  const guint i = (guint)x, j = (guint)y;
  const double tx = x - i, ty = y - j;
  const float *at = plane->light + (gsize)j * plane->width + i;
  const double above = (double)at[0] * (1 - tx) + (double)at[1] * tx;
  at += plane->width;
  return above * (1 - ty) + ((double)at[0] * (1 - tx) + (double)at[1] * tx) * ty;
}

/* Where a cell lies, px, and back. */
WsPoint wsi_relief_place (const WsReliefPlane *plane, double x, double y);
WsPoint wsi_relief_cell (const WsReliefPlane *plane, WsPoint place);

G_END_DECLS

#endif
