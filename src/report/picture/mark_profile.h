/*
 * Marks of a profile: its segments, and deviations from the nominal one.
 */
#ifndef WS_REPORT_PICTURE_MARK_PROFILE_H
#define WS_REPORT_PICTURE_MARK_PROFILE_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

void wsi_draw_segment (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_nominal (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_deviation (const WsDrawing *drawing, const WsMark *mark);

G_END_DECLS

#endif
