/*
 * What lies before a face's edge: nothing but the ground that lies beside it, or the edge is
 * another.
 */
#ifndef WS_TOOL_FACE_BEFORE_H
#define WS_TOOL_FACE_BEFORE_H

#include "tool/face/face.h"

G_BEGIN_DECLS

/* A land as light as the ground is taken for it, and where it ends for the edge.  FALSE makes the
 * result a retake.  docs/methods/front-lit.md (L158). */
gboolean wsi_face_before_check (const WsFace *face, const WsSampler *sampler,
                                const WsOptics *optics, WsResult *result);

G_END_DECLS

#endif
