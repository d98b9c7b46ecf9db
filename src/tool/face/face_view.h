/*
 * The views `blade-face` and `form-face`, which measure alike.
 */
#ifndef WS_TOOL_FACE_FACE_VIEW_H
#define WS_TOOL_FACE_FACE_VIEW_H

#include <whetsight/card.h>
#include <whetsight/result.h>

#include "tool/flank/front_lit.h"

G_BEGIN_DECLS

/* As WsView's members. */
void wsi_face_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                       WsResult *result);
void wsi_face_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
