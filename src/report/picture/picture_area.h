/*
 * Where the picture lies on an annotated sheet.
 */
#ifndef WS_REPORT_PICTURE_PICTURE_AREA_H
#define WS_REPORT_PICTURE_PICTURE_AREA_H

#include <glib.h>

G_BEGIN_DECLS

typedef struct
{
  double x, y, width, height; /* px of the sheet */
} WsArea;

/* For a picture of `width` x `height` px, as ws_report_picture() lays it out on a sheet that is
 * `sheet_width` px wide: wider where the tool is shown upright, too. */
void wsi_report_picture_area (guint width, guint height, double sheet_width, WsArea *area);

G_END_DECLS

#endif
