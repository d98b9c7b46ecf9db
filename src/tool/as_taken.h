/*
 * Whether a front-lit picture has the shape that the camera took it in: squeezed or skewed ones
 * show every angle and length wrong, and a face of its own shape doesn't tell.
 */
#ifndef WS_TOOL_AS_TAKEN_H
#define WS_TOOL_AS_TAKEN_H

#include "edge/find/coarse.h"

#include <whetsight/optics.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* What is left open: how much wider than high a pixel may be, relative, and how far the picture's
 * rows and columns are off square, rad.  Standard uncertainties. */
typedef struct
{
  double u_aspect, u_skew;
} WsPictureShape;

/* By the noise of the ground about what `coarse` found, and by the calibration.  FALSE when the
 * picture was squeezed or skewed; then the result is a retake. */
gboolean wsi_picture_shape (const WsImage *image, const WsOptics *optics, const WsCoarse *coarse,
                            WsPictureShape *shape, WsResult *result);

/* Adds the line that all lengths have, as recorded, and their U anew. */
void wsi_picture_shape_add_to_lengths (const WsPictureShape *shape, WsResult *result);

/* Adds the line of an angle between two directions of the picture, rad from its rows. */
void wsi_picture_shape_add_to_angle (const WsPictureShape *shape, double one, double other,
                                     const WsOptics *optics, WsQuantity *quantity);

G_END_DECLS

#endif
