/*
 * Why no tool, or no edge, is found in a picture from the front: light, noise, or none there.
 */
#ifndef WS_TOOL_FACE_NOTHING_H
#define WS_TOOL_FACE_NOTHING_H

#include <whetsight/image.h>
#include <whetsight/result.h>

G_BEGIN_DECLS

/* Makes `result` a retake with the reason whose cure lets a tool show.  Always FALSE. */
gboolean wsi_face_tell_nothing (const WsImage *image, WsResult *result);

/* Is it noise that hides an edge?  Then `result` is made a retake that asks for light, and FALSE
 * returned; TRUE leaves it as it is. */
gboolean wsi_face_noise_check (const WsImage *image, WsResult *result);

G_END_DECLS

#endif
