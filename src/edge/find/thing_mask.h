/*
 * A front-lit tool pixel by pixel: what differs from the ground, whichever way.
 */
#ifndef WS_EDGE_FIND_THING_MASK_H
#define WS_EDGE_FIND_THING_MASK_H

#include <whetsight/image.h>

#include "edge/find/things.h"

G_BEGIN_DECLS

/*
 * 1 for the pixels of the thing `label`, width x height of the picture; the reduced picture's cells
 * are `factor` px wide.  Within the thing everything is set; along its border a pixel is set when
 * it is at least half as far from the ground as the thing is on the inside there.  Free with
 * g_free().
 */
guint8 *wsi_mask_of_thing (const WsImage *image, const WsThings *things, guint label, guint factor);

G_END_DECLS

#endif
