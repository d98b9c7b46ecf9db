/*
 * The chisel edge of a drill's point seen from the end.
 */
#ifndef WS_TOOL_DRILL_END_CHISEL_H
#define WS_TOOL_DRILL_END_CHISEL_H

#include "tool/drill/end/picture.h"
#include "tool/drill/end/shape.h"

G_BEGIN_DECLS

/* Needs axis, radius and lips; sets the lips' inner ends, and the chisel edge where it stands out:
 * docs/methods/front-lit.md (L6). */
void wsi_end_chisel_find (const WsEndPicture *picture, WsEndPoint *point);

G_END_DECLS

#endif
