/*
 * What a regrind took off, drawn: both outlines laid on each other, and where they differ.
 */
#ifndef WS_REPORT_CHART_REGRIND_CHART_H
#define WS_REPORT_CHART_REGRIND_CHART_H

#include <whetsight/trend.h>

#include "edge/regrind.h"

G_BEGIN_DECLS

/* The outline before is dashed, the one after solid; places are hatched (what was taken off
 * slanting one way, what stands out the other) and have the numbers that their rows have in a
 * table, from 1 in the order of `regrind->places`.  Errors: WS_ERROR_INTERNAL.  The caller owns the
 * result. */
GBytes *wsi_regrind_chart (const WsRegrind *regrind, WsChartFormat format, GError **error);

G_END_DECLS

#endif
