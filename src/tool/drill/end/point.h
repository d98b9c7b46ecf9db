/*
 * Locates a drill's point seen from the end.
 */
#ifndef WS_TOOL_DRILL_END_POINT_H
#define WS_TOOL_DRILL_END_POINT_H

#include "base/refusal.h"
#include "colour/sampler.h"
#include "tool/drill/end/shape.h"

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* NULL when the picture shows no such point; then `refusal` says why.  Free with
 * g_free(). */
WsEndPoint *wsi_end_point_locate (const WsSampler *sampler, const WsOptics *optics,
                                  WsRefusal *refusal);

G_END_DECLS

#endif
