/*
 * Whether the picture of a drill's end is blurred more one way than across, as one is that moved
 * while it was taken.
 */
#ifndef WS_TOOL_DRILL_END_SMEAR_H
#define WS_TOOL_DRILL_END_SMEAR_H

#include "tool/drill/end/picture.h"
#include "tool/drill/end/shape.h"

#include <whetsight/result.h>

G_BEGIN_DECLS

/* Widths of edges, px, in the direction in which they are widest, and square to it. */
typedef struct
{
  double most, across;
} WsEndSmear;

/* FALSE where too little of the outline is seen to tell. */
gboolean wsi_end_smear (const WsEndPicture *picture, const WsEndPoint *point, WsEndSmear *smear);

/* FALSE when it moved; then the result is a retake. */
gboolean wsi_end_smear_check (const WsEndPicture *picture, const WsEndPoint *point,
                              WsResult *result);

G_END_DECLS

#endif
