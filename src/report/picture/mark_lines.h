/*
 * Marks of lines, corners and angles.
 */
#ifndef WS_REPORT_PICTURE_MARK_LINES_H
#define WS_REPORT_PICTURE_MARK_LINES_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

void wsi_draw_outline (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_used (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_axis (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_envelope (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_edge_line (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_apex (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_corner (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_angle (const WsDrawing *drawing, const WsMark *mark);

G_END_DECLS

#endif
