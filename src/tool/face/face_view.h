/*
 * The views `blade-face` and `form-face`, which measure alike.
 */
#ifndef WS_TOOL_FACE_FACE_VIEW_H
#define WS_TOOL_FACE_FACE_VIEW_H

#include <whetsight/card.h>
#include <whetsight/result.h>

#include "tool/card_fit.h"
#include "tool/flank/front_lit.h"

G_BEGIN_DECLS

/* Of the edge's width: broken corners and burnt ones are no part of the edge that is found, and it
 * may be seen a little from the side (own choice). */
#define WS_FACE_BELOW (WS_FIT_WIDTH_BELOW + 0.05)
#define WS_FACE_ABOVE (WS_FIT_WIDTH_ABOVE + 0.05)

/* As WsView's members. */
void wsi_face_measure (const WsImage *image, const WsToolCard *card, const WsOptics *optics,
                       WsResult *result);
void wsi_face_advise (const WsToolCard *card, WsResult *result);

G_END_DECLS

#endif
