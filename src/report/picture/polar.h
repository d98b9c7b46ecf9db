/*
 * The run-out of a rolled tool as it would be drawn by a dial that goes round it: beside the
 * picture.
 */
#ifndef WS_REPORT_PICTURE_POLAR_H
#define WS_REPORT_PICTURE_POLAR_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

/* Is there one to draw? */
gboolean wsi_polar_helps (const WsResult *result);

/* Into the sheet's area. */
void wsi_polar_draw (const WsSheet *sheet, const WsReport *report);

G_END_DECLS

#endif
