/*
 * Faces of a front-lit tool that are nearly as light as the ground: a border half-way between
 * ground and tool may run along their inner side instead of the tool's outline.
 */
#ifndef WS_TOOL_SHELF_H
#define WS_TOOL_SHELF_H

#include <whetsight/image.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* Share of an outline, in picture coordinates, beyond which there is no ground. */
double ws_shelf_share (const WsImage *image, const WsSegment *segment, const WsOutline *outline);

/* Moves the threshold from half-way to where the ground ends: only what is as light as the
 * ground is left outside. */
void ws_shelf_take_in (WsSegment *segment);

G_END_DECLS

#endif
