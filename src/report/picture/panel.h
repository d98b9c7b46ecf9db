/*
 * What surrounds the picture on the sheet: the verdict above it, advice and values below.
 */
#ifndef WS_REPORT_PICTURE_PANEL_H
#define WS_REPORT_PICTURE_PANEL_H

#include <whetsight/report.h>

#include "late/cairo.h"

G_BEGIN_DECLS

typedef struct
{
  cairo_t *cr;
  double x, y, width; /* sheet px */
  double unit;        /* sheet px of a line of normal width */
} WsPanel;

/* Draw when `panel->cr` has a surface that shows it; both return the height they take,
 * so a sheet is laid out by a dry run on another surface. */
double wsi_panel_draw_verdict (const WsPanel *panel, const WsReport *report);
double wsi_panel_verdict_height (double unit);
double wsi_panel_draw_values (const WsPanel *panel, const WsReport *report);

G_END_DECLS

#endif
