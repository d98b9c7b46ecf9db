/*
 * The scale bar in a corner of the picture, or the words that there is no scale.
 */
#ifndef WS_REPORT_PICTURE_SCALE_BAR_H
#define WS_REPORT_PICTURE_SCALE_BAR_H

#include "report/picture/drawing.h"

G_BEGIN_DECLS

typedef struct
{
  char label[32];
  double letters; /* their size */
  double length;  /* of the bar, px of the sheet; 0: no scale */
  WsArea box;     /* with all that belongs to it */
} WsScaleBar;

/* It stands in the first of the corners, from the lower right one on, where it covers no marked
 * line. */
WsScaleBar wsi_scale_bar_place (const WsSheet *sheet, const WsReport *report);

void wsi_scale_bar_draw (const WsSheet *sheet, const WsScaleBar *bar);

G_END_DECLS

#endif
