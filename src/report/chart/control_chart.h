/*
 * The control chart of a calibration's checks.
 */
#ifndef WS_REPORT_CHART_CONTROL_CHART_H
#define WS_REPORT_CHART_CONTROL_CHART_H

#include <whetsight/trend.h>

#include "optics/check_series.h"

G_BEGIN_DECLS

/* One panel for each of `series` (of WsCheckSeries), the deviations of its newest runs with their
 * U, limits from the history, and what the artefact itself can't tell.  Errors:
 * WS_ERROR_INTERNAL.  The caller owns the bytes. */
GBytes *wsi_control_chart (const WsCalibration *calibration, const WsCheckState *state,
                           const GPtrArray *series, WsChartFormat format, GError **error);

/* What the newest point's signals say, "the last 7 deviations rise"; NULL without any.  The
 * caller owns the text. */
char *wsi_control_words (const WsCheckSeries *series);

/* "diameter 4.638 mm".  The caller owns the text. */
char *wsi_control_series_name (const WsCheckSeries *series);

G_END_DECLS

#endif
