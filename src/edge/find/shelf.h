/*
 * Faces of a front-lit tool that are nearly as light as the ground: a border half-way between
 * ground and tool may run along their inner side instead of the tool's outline.
 */
#ifndef WS_EDGE_FIND_SHELF_H
#define WS_EDGE_FIND_SHELF_H

#include <whetsight/image.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* Share of an outline, in picture coordinates, beyond which there is no ground. */
double wsi_shelf_share (const WsImage *image, const WsSegment *segment, const WsOutline *outline);

/* Share of an outline where scan lines show no clean step: its spikes between two borders, and
 * where it runs half-way between them. */
double wsi_shelf_unclean (const WsOutline *outline);

/* Is the tool lit from the front, so that its faces may be of any light? */
gboolean wsi_shelf_may_be (const WsSegment *segment);

/* Moves the threshold from half-way to where the ground ends: only what is as light as the
 * ground is left outside. */
void wsi_shelf_take_in (WsSegment *segment);

G_END_DECLS

#endif
