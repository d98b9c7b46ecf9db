/*
 * Marks of regions: burn and the wear land.
 */
#ifndef WS_REPORT_PICTURE_MARK_REGIONS_H
#define WS_REPORT_PICTURE_MARK_REGIONS_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

void wsi_draw_burn (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_burn_label (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_land (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_land_label (const WsDrawing *drawing, const WsMark *mark);

G_END_DECLS

#endif
