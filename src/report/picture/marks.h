/*
 * What a result found, drawn over the picture.
 */
#ifndef WS_REPORT_PICTURE_MARKS_H
#define WS_REPORT_PICTURE_MARKS_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

/* Draws the result's marks over the picture, each role in its own way. */
void wsi_marks_draw (const WsSheet *sheet, const WsReport *report);

/* A bar of a round length, in the picture's lower right corner. */
void wsi_marks_draw_scale (const WsSheet *sheet, const WsOptics *optics);

G_END_DECLS

#endif
