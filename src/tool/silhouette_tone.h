/*
 * Whether a silhouette's tones are those that the camera wrote, and what is left in doubt of them.
 */
#ifndef WS_TOOL_SILHOUETTE_TONE_H
#define WS_TOOL_SILHOUETTE_TONE_H

#include <whetsight/image.h>
#include <whetsight/result.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* Whether a tool is brighter than its ground and next to nothing of it in light or shade. */
gboolean wsi_silhouette_is_evenly_lit (const WsSegment *segment);

/* FALSE where they were changed, or aren't what they were taken for; the result then is a retake.
 * The outline's spread has been sought. */
gboolean wsi_silhouette_tone_passes (const WsImage *image, const WsOutline *outline,
                                     WsResult *result);

/* Standard uncertainty of the edge's place by what its tones may be, in blurs. */
double wsi_silhouette_tone_u (const WsImage *image, const WsOutline *outline);

/* And by whether the picture may have been resized by a program that took codes for light, px. */
double wsi_silhouette_resized_u (const WsImage *image, const WsOutline *outline);

G_END_DECLS

#endif
