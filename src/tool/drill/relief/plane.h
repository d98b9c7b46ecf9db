/*
 * Lightness of a picture for the search of edges in `drill-relief`; places are in the ideal
 * picture.
 */
#ifndef WS_TOOL_DRILL_RELIEF_PLANE_H
#define WS_TOOL_DRILL_RELIEF_PLANE_H

#include <whetsight/image.h>
#include <whetsight/optics.h>

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

/* Bilinear, at a place in cells; NAN outside. */
double wsi_relief_light (const WsReliefPlane *plane, double x, double y);

/* Where a cell lies, px, and back. */
WsPoint wsi_relief_place (const WsReliefPlane *plane, double x, double y);
WsPoint wsi_relief_cell (const WsReliefPlane *plane, WsPoint place);

G_END_DECLS

#endif
