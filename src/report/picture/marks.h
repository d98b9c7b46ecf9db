/*
 * What a result found, drawn over the picture.
 */
#ifndef WS_REPORT_PICTURE_MARKS_H
#define WS_REPORT_PICTURE_MARKS_H

#include "report/picture/drawing.h"
#include "report/picture/scale_bar.h"

G_BEGIN_DECLS

/* Draws the result's marks over the picture, each role in its own way, a scale bar (NULL: none)
 * and the labels.  Returns these (WsLabel) with their places; free with g_array_unref(). */
GArray *wsi_marks_draw (const WsSheet *sheet, const WsReport *report, const WsScaleBar *bar);

G_END_DECLS

#endif
