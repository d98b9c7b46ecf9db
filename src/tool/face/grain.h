/*
 * The grain of a flank: what moved is smeared along its way, and so is its grain; what lies out of
 * focus at one edge, since the tool leans, keeps it.
 */
#ifndef WS_TOOL_FACE_GRAIN_H
#define WS_TOOL_FACE_GRAIN_H

#include "tool/face/face.h"

G_BEGIN_DECLS

/* Whether grain shows, and as sharp along a way as square to it: along the edge, and away from it.
 * The flank is looked at down to `depth`, px. */
void wsi_face_grain (const WsFace *face, const WsSampler *sampler, const WsOptics *optics,
                     double depth, gboolean sharp[2]);

/* Is the flank, looked at down to `depth`, px, as even as a drawing or a screen? */
gboolean wsi_face_is_drawn (const WsFace *face, const WsSampler *sampler, const WsOptics *optics,
                            double depth);

G_END_DECLS

#endif
