/*
 * What charts of values in time share: a plot with its scale, levels, bars, signals and dates.
 */
#ifndef WS_REPORT_CHART_PLOT_H
#define WS_REPORT_CHART_PLOT_H

#include "report/canvas.h"

G_BEGIN_DECLS

/* Letters of scales and labels, px. */
#define WS_PLOT_LETTERS 15.0

typedef struct
{
  cairo_t *cr;
  double x, y, width, height; /* px */
  double symbol;              /* radius of a value's symbol, px */
  gsize n;                    /* of values, side by side */
  double low, high;           /* values at its bottom and top */
} WsPlot;

/* Shows `value` as well, if it is one; the range begins as INFINITY .. -INFINITY, or as what is to
 * be shown at least. */
void wsi_plot_include (WsPlot *plot, double value);

/* Beyond what is shown, once it is known. */
void wsi_plot_leave_room (WsPlot *plot);

/* Where the i-th value stands, half of what each takes, and where a value lies; px. */
double wsi_plot_x (const WsPlot *plot, gsize i);
double wsi_plot_half (const WsPlot *plot);
double wsi_plot_y (const WsPlot *plot, double value);

/* 1, 2 or 5 times a power of ten, about `n` of which fill the range; and the places that numbers
 * so far apart need. */
double wsi_plot_step (const WsPlot *plot, double n);
guint wsi_plot_places (double step);

/* ---- Drawing ---- */

void wsi_plot_text (cairo_t *cr, WsColour colour, WsAnchor across, double x, double y,
                    const char *text);

/* White ground; lines and numbers of a scale of about `n` steps. */
void wsi_plot_ground (const WsPlot *plot);
void wsi_plot_scale (const WsPlot *plot, double n);

/* A line from side to side; a step of the i-th value's own. */
void wsi_plot_level (const WsPlot *plot, WsColour colour, gboolean dashed, double value);
void wsi_plot_own_level (const WsPlot *plot, WsColour colour, gsize i, double value);

/* What a line is, right of the plot. */
typedef struct
{
  double value; /* where the line lies */
  WsColour colour;
  char *text; /* owned */
} WsPlotLabel;

/* Adds "mean 0.012" to an array of WsPlotLabel from wsi_plot_labels_new(). */
GArray *wsi_plot_labels_new (void);
void wsi_plot_labels_add (GArray *labels, WsColour colour, double value, const char *what,
                          const char *number);

/* Each at its line, or as near as it can be without lying on another, tied to its line then. */
void wsi_plot_labels (const WsPlot *plot, const GArray *labels);

/* A thin line on to the i-th value; drawn when it has ended. */
void wsi_plot_run_to (const WsPlot *plot, gsize i, double value);
void wsi_plot_run_end (const WsPlot *plot);

/* From `low` to `high` at the i-th value; the same anywhere, for a legend. */
void wsi_plot_bar (const WsPlot *plot, gsize i, double low, double high);
void wsi_plot_bar_at (cairo_t *cr, double symbol, double x, double top, double bottom);

/* A disc; and a diamond about what is a signal, to be told without its colour. */
void wsi_plot_disc (cairo_t *cr, WsColour colour, double symbol, double x, double y);
void wsi_plot_signal (cairo_t *cr, double symbol, double x, double y);

/* Is a date to stand under the i-th value, so that about `most` do, the newest among them? */
gboolean wsi_plot_has_date (const WsPlot *plot, gsize i, gsize most);

/* Dates under about `most` of the values, of `times`, one a value, ISO 8601; by the local clock, as
 * fine as tells them apart: days, minutes or seconds.  None is printed twice. */
void wsi_plot_dates (const WsPlot *plot, const char *const *times, gsize most);

/* The zone of such dates, "CET", or both of a year; free with g_free(). */
char *wsi_plot_zone (const char *const *times, gsize n);

G_END_DECLS

#endif
