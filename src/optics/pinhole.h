/*
 * The pinhole camera's forward model, for those who fit it.
 */
#ifndef WS_OPTICS_PINHOLE_H
#define WS_OPTICS_PINHOLE_H

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* Where a point of the plane Z = 0, mm, is seen, px.  `parameters` as WsLens has them for
 * WS_LENS_PINHOLE.  NAN behind the camera. */
WsPoint wsi_pinhole_project (const double *parameters, WsPoint plane_mm);

G_END_DECLS

#endif
