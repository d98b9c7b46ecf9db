/*
 * A tool that lies on its side in the picture, or upside down, is shown point up as well.
 */
#ifndef WS_REPORT_PICTURE_UPRIGHT_H
#define WS_REPORT_PICTURE_UPRIGHT_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

/* Where the tool points in the picture, length 1: along its axis, or square out of its profile.
 * FALSE when no mark tells. */
gboolean wsi_upright_direction (const WsResult *result, WsPoint *up);

/* Does it point so far from upward that turning the picture helps? */
gboolean wsi_upright_helps (const WsResult *result);

/* Turns what is placed on the sheet so that the tool points up, and fits its marks into the sheet's
 * area, point first, at most as large as the sheet has it. */
void wsi_upright_turn (WsSheet *sheet, const WsResult *result);

G_END_DECLS

#endif
