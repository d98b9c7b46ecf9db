/*
 * What a result found, drawn over the picture.
 */
#ifndef WS_REPORT_PICTURE_MARKS_H
#define WS_REPORT_PICTURE_MARKS_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

/* Draws the result's marks over the picture, each role in its own way, the scale bar and the
 * labels, and returns these (WsLabel) with their places.  Free with g_array_unref(). */
GArray *wsi_marks_draw (const WsSheet *sheet, const WsReport *report);

G_END_DECLS

#endif
