/*
 * A quantity in time: run chart with control limits.
 *
 * Individuals and moving ranges: limits lie three standard deviations from the mean, by the mean
 * moving range: 2.66 of them for values, and 3.267 for ranges.
 */
#ifndef WHETSIGHT_TREND_H
#define WHETSIGHT_TREND_H

#include <glib.h>

G_BEGIN_DECLS

/* Borrowed; in the order of time. */
typedef struct
{
  const char *time; /* ISO 8601, UTC */
  double value, U;
  double lower, upper; /* what it was judged by; -INFINITY, INFINITY when open */
  gboolean reground;   /* the first after a regrind */
} WsTrendPoint;

typedef struct
{
  const char *title; /* "Point angle of QT-D-0118" */
  const char *unit;  /* "deg", "mm", "px" */
  const WsTrendPoint *points;
  gsize n;

  /* Set by ws_trend_find_limits(). */
  gboolean has_limits; /* from 3 values on */
  double mean, mean_range;
  double lower, upper; /* of values */
  double range_upper;  /* of moving ranges */
} WsTrend;

typedef enum
{
  WS_CHART_PNG,
  WS_CHART_SVG
} WsChartFormat;

/* Sets what stands at the end of `trend`; without limits below 3 values. */
void ws_trend_find_limits (WsTrend *trend);

/* What the value at `i` and those before it signal, "outside the limits"; NULL for nothing;
 * static. */
const char *ws_trend_signal (const WsTrend *trend, gsize i);

/* A spark line and what the limits say, for a terminal.  Free with g_free(). */
char *ws_trend_text (const WsTrend *trend);

/* Errors: WS_ERROR_INTERNAL.  The caller owns the bytes. */
GBytes *ws_trend_chart (const WsTrend *trend, WsChartFormat format, GError **error);

G_END_DECLS

#endif
