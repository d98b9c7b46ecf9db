/*
 * Light that may lie over a picture as a veil: stray, or a black level that the camera raised.
 */
#ifndef WS_COLOUR_VEIL_H
#define WS_COLOUR_VEIL_H

#include <whetsight/image.h>

#include "colour/colour.h"

G_BEGIN_DECLS

/* No veil is stronger than what is dark in the picture: its light as a share of steel's, 0 to 1.  0
 * without colour. */
double wsi_veil_most (const WsImage *image, WsLight steel);

G_END_DECLS

#endif
