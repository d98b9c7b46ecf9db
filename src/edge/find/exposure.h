/*
 * Over-exposure where it matters: at the outline.
 */
#ifndef WS_EDGE_FIND_EXPOSURE_H
#define WS_EDGE_FIND_EXPOSURE_H

#include <whetsight/image.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/*
 * Share of an outline, in picture coordinates, beside which the ground is at full scale: there a
 * fit takes the ground for darker than it is and puts the edge too far out, by nobody knows how
 * much.
 */
double wsi_exposure_clipped (const WsImage *image, const WsOutline *outline);

G_END_DECLS

#endif
