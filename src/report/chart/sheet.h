/*
 * A chart as a file's bytes.
 */
#ifndef WS_REPORT_CHART_SHEET_H
#define WS_REPORT_CHART_SHEET_H

#include <whetsight/trend.h>

#include "late/cairo.h"

G_BEGIN_DECLS

/* Draws on paper of the sheet's size. */
typedef void (*WsChartDraw) (cairo_t *cr, gconstpointer data);

/* Width and height in px, whole numbers for a PNG.  Errors: WS_ERROR_INTERNAL.  The caller owns
 * the result. */
GBytes *wsi_chart_bytes (double width, double height, WsChartFormat format, WsChartDraw draw,
                         gconstpointer data, GError **error);

G_END_DECLS

#endif
