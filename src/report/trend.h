/*
 * What the trend's text and chart say alike.
 */
#ifndef WS_REPORT_TREND_H
#define WS_REPORT_TREND_H

#include <whetsight/trend.h>

G_BEGIN_DECLS

/* How many of the values signal something. */
gsize wsi_trend_count_signals (const WsTrend *trend);

G_END_DECLS

#endif
