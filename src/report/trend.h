/*
 * What the trend's text and chart say alike.
 */
#ifndef WS_REPORT_TREND_H
#define WS_REPORT_TREND_H

#include <whetsight/trend.h>

#include "late/cairo.h"

G_BEGIN_DECLS

/* The chart's size, px, and the chart on any surface. */
#define WS_TREND_WIDTH 1300.0
#define WS_TREND_HEIGHT 760.0
void wsi_trend_draw (cairo_t *cr, const WsTrend *trend);

/* Cp and Cpk with their intervals in words, where all values were judged by the same two limits and
 * are enough; else NULL.  Free with g_free(). */
char *wsi_trend_capability (const WsTrend *trend);

/* How many of the values signal something. */
gsize wsi_trend_count_signals (const WsTrend *trend);

G_END_DECLS

#endif
