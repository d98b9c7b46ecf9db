#ifndef WS_REPORT_PICTURE_MARKS_H
#define WS_REPORT_PICTURE_MARKS_H

#include <cairo.h>
#include <whetsight/report.h>

G_BEGIN_DECLS

/* Where the picture lies on the sheet. */
typedef struct
{
  cairo_t *cr;
  double factor;              /* sheet px a picture px */
  double x, y, width, height; /* sheet px */
  double unit;                /* sheet px of a line of normal width */
} WsSheet;

/* Draws the result's marks over the picture, each role in its own way. */
void ws_marks_draw (const WsSheet *sheet, const WsReport *report);

/* A bar of a round length, in the picture's lower right corner. */
void ws_marks_draw_scale (const WsSheet *sheet, const WsOptics *optics);

G_END_DECLS

#endif
