/*
 * Rings about what is wrong, each with its name.
 */
#ifndef WS_REPORT_PICTURE_MARK_FAULTS_H
#define WS_REPORT_PICTURE_MARK_FAULTS_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

void wsi_draw_chip (const WsDrawing *drawing, const WsMark *mark);
void wsi_draw_worst (const WsDrawing *drawing, const WsMark *mark);

/* Has it a ring with its name and value? */
gboolean wsi_drawing_is_ringed (const WsQuantity *quantity);

/* Quantities that are judged amiss and have a place in the picture, but no mark of their own. */
void wsi_draw_faults (const WsDrawing *drawing);

G_END_DECLS

#endif
