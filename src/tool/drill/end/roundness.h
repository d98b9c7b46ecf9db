/*
 * Whether the outline of a drill's end lies on circles about its axis, as a picture with square
 * pixels has it.
 */
#ifndef WS_TOOL_DRILL_END_ROUNDNESS_H
#define WS_TOOL_DRILL_END_ROUNDNESS_H

#include "tool/as_taken.h"
#include "tool/drill/end/picture.h"
#include "tool/drill/end/shape.h"

G_BEGIN_DECLS

/* Radii are (1 + along cos 2 a + aslant sin 2 a) of a circle's, a from the picture's rows: a pixel
 * wider than high by e gives along = e / 2, rows shifted by g a row aslant = g / 2. */
typedef struct
{
  double along, aslant;
  double u_along, u_aslant;
} WsEndRoundness;

/* FALSE where too little of the outline is seen. */
gboolean wsi_end_roundness (const WsEndPicture *picture, const WsEndPoint *point,
                            WsEndRoundness *found);

/* The rim tells squeezed and skewed pictures by itself, and bounds what they may be where their
 * noise doesn't.  FALSE when it is none of a circle; then the result is a retake. */
gboolean wsi_end_round_check (const WsEndPicture *picture, const WsEndPoint *point,
                              WsPictureShape *shape, WsResult *result);

G_END_DECLS

#endif
