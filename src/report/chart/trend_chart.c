/*
 * The run chart: values with U, control limits, limits they were judged by and regrinds above;
 * moving ranges below.
 */
#include <math.h>

#include <whetsight/trend.h>

#include "base/geometry.h"
#include "base/number.h"
#include "report/chart/plot.h"
#include "report/chart/sheet.h"

/* px of a picture made to be read at its own size */
#define WIDTH 1280.0
#define HEIGHT 760.0
#define LEFT 110.0
#define RIGHT 190.0
#define TOP 76.0
#define VALUES_HEIGHT 380.0
#define GAP 46.0
#define RANGES_HEIGHT 150.0
#define TITLE 22.0
#define POINT_R 5.0
#define LABEL_GAP 19.0

#define MOST_DATES 7

static WsPlot
plot_at (cairo_t *cr, const WsTrend *trend, double top, double height)
{
  return (WsPlot){ .cr = cr,
                   .x = LEFT,
                   .y = top,
                   .width = WIDTH - LEFT - RIGHT,
                   .height = height,
                   .symbol = POINT_R,
                   .n = trend->n,
                   .low = INFINITY,
                   .high = -INFINITY };
}

/* Labels at the right keep their distance from the one drawn before. */
static void
label (const WsPlot *plot, double *taken, WsColour colour, const char *what, double value)
{
  const guint places = wsi_plot_places (wsi_plot_step (plot, 100));
  g_autofree char *number = wsi_number_format (value, places);
  g_autofree char *text = g_strdup_printf ("%s %s", what, number);
  const double y = fmax (wsi_plot_y (plot, value), *taken + LABEL_GAP);
  *taken = y;
  wsi_plot_label (plot, colour, y, text);
}

/* ---- Values --------------------------------------------------------------------------- */

static void
find_range (WsPlot *plot, const WsTrend *trend)
{
  for (gsize i = 0; i < trend->n; i++)
  {
    const WsTrendPoint *point = &trend->points[i];
    const double U = isfinite (point->U) ? point->U : 0;
    wsi_plot_include (plot, point->value - U);
    wsi_plot_include (plot, point->value + U);
    wsi_plot_include (plot, point->lower);
    wsi_plot_include (plot, point->upper);
  }
  if (trend->has_limits)
  {
    wsi_plot_include (plot, trend->lower);
    wsi_plot_include (plot, trend->upper);
  }
  wsi_plot_leave_room (plot);
}

/* Step by step: a card may have changed. */
static void
draw_tolerance (const WsPlot *plot, const WsTrend *trend)
{
  for (gsize i = 0; i < trend->n; i++)
  {
    const double ends[] = { trend->points[i].lower, trend->points[i].upper };
    for (gsize k = 0; k < G_N_ELEMENTS (ends); k++)
      if (isfinite (ends[k]))
        wsi_plot_own_level (plot, WS_VERMILION, i, ends[k]);
  }
}

static void
draw_limits (const WsPlot *plot, const WsTrend *trend)
{
  const WsTrendPoint *last = &trend->points[trend->n - 1];
  double taken = -INFINITY;
  wsi_plot_level (plot, WS_INK, FALSE, trend->mean);
  if (isfinite (last->upper))
    label (plot, &taken, WS_VERMILION, "tolerance", last->upper);
  if (trend->has_limits)
  {
    wsi_plot_level (plot, WS_BLUE, TRUE, trend->upper);
    wsi_plot_level (plot, WS_BLUE, TRUE, trend->lower);
    label (plot, &taken, WS_BLUE, "upper", trend->upper);
  }
  label (plot, &taken, WS_INK, "mean", trend->mean);
  if (trend->has_limits)
    label (plot, &taken, WS_BLUE, "lower", trend->lower);
  if (isfinite (last->lower))
    label (plot, &taken, WS_VERMILION, "tolerance", last->lower);
}

static void
draw_regrinds (const WsPlot *plot, const WsTrend *trend, double bottom)
{
  for (gsize i = 0; i < trend->n; i++)
  {
    if (!trend->points[i].reground)
      continue;
    const double x = wsi_plot_x (plot, i) - wsi_plot_half (plot);
    wsi_canvas_dashes (plot->cr, WS_PURPLE, 2.0, wsi_point (x, plot->y), wsi_point (x, bottom));
    wsi_plot_text (plot->cr, WS_PURPLE, WS_START, x + 4, plot->y + 10, "reground");
  }
}

static void
draw_points (const WsPlot *plot, const WsTrend *trend)
{
  for (gsize i = 0; i < trend->n; i++)
    wsi_plot_run_to (plot, i, trend->points[i].value);
  wsi_plot_run_end (plot);
  for (gsize i = 0; i < trend->n; i++)
  {
    const WsTrendPoint *point = &trend->points[i];
    wsi_plot_bar (plot, i, point->value - point->U, point->value + point->U);
  }
  for (gsize i = 0; i < trend->n; i++)
  {
    const double x = wsi_plot_x (plot, i), y = wsi_plot_y (plot, trend->points[i].value);
    wsi_plot_disc (plot->cr, WS_INK, POINT_R, x, y);
    if (ws_trend_signal (trend, i) != NULL)
      wsi_plot_signal (plot->cr, POINT_R, x, y);
  }
}

static void
draw_values (cairo_t *cr, const WsTrend *trend)
{
  WsPlot plot = plot_at (cr, trend, TOP, VALUES_HEIGHT);
  find_range (&plot, trend);
  wsi_plot_ground (&plot);
  wsi_plot_scale (&plot, 6);
  draw_tolerance (&plot, trend);
  draw_regrinds (&plot, trend, TOP + VALUES_HEIGHT + GAP + RANGES_HEIGHT);
  draw_limits (&plot, trend);
  draw_points (&plot, trend);
}

/* ---- Moving ranges, the sheet ------------------------------------------------------------ */

static double
range_at (const WsTrend *trend, gsize i)
{
  return fabs (trend->points[i].value - trend->points[i - 1].value);
}

/* From 0; nothing but a frame for a single value. */
static void
find_range_of_ranges (WsPlot *plot, const WsTrend *trend)
{
  plot->low = plot->high = 0;
  for (gsize i = 1; i < trend->n; i++)
    wsi_plot_include (plot, range_at (trend, i));
  if (trend->has_limits)
    wsi_plot_include (plot, trend->range_upper);
  wsi_plot_leave_room (plot);
  plot->low = 0;
}

static void
draw_ranges (cairo_t *cr, const WsTrend *trend)
{
  WsPlot plot = plot_at (cr, trend, TOP + VALUES_HEIGHT + GAP, RANGES_HEIGHT);
  double taken = -INFINITY;
  find_range_of_ranges (&plot, trend);
  wsi_plot_ground (&plot);
  if (trend->n > 1)
    wsi_plot_scale (&plot, 3);
  if (trend->has_limits)
  {
    wsi_plot_level (&plot, WS_BLUE, TRUE, trend->range_upper);
    wsi_plot_level (&plot, WS_INK, FALSE, trend->mean_range);
    label (&plot, &taken, WS_BLUE, "upper", trend->range_upper);
    label (&plot, &taken, WS_INK, "mean", trend->mean_range);
  }
  for (gsize i = 1; i < trend->n; i++)
    wsi_plot_run_to (&plot, i, range_at (trend, i));
  wsi_plot_run_end (&plot);
  for (gsize i = 1; i < trend->n; i++)
  {
    const double x = wsi_plot_x (&plot, i), y = wsi_plot_y (&plot, range_at (trend, i));
    wsi_canvas_box (cr, WS_INK, x - 3.5, y - 3.5, 7.0, 7.0);
  }
  wsi_plot_text (cr, WS_GREY, WS_START, LEFT, plot.y - 12, "moving range");
  for (gsize i = 0; i < trend->n; i++)
    if (wsi_plot_has_date (&plot, i, MOST_DATES))
      wsi_plot_date (&plot, i, trend->points[i].time);
}

static void
draw_words (cairo_t *cr, const WsTrend *trend)
{
  const WsTextStyle title = { .size = TITLE, .bold = TRUE, .colour = WS_INK, .down = WS_MIDDLE };
  const char *signal = trend->n > 0 ? ws_trend_signal (trend, trend->n - 1) : NULL;
  wsi_canvas_text (cr, &title, LEFT, 30.0, trend->title);
  g_autofree char *unit = g_strdup_printf ("%s, ± U (k = 2)", trend->unit);
  wsi_plot_text (cr, WS_GREY, WS_START, LEFT, 58.0, unit);
  wsi_plot_text (cr, signal != NULL ? WS_BLUE : WS_INK, WS_END, WIDTH - RIGHT, 58.0,
                 signal != NULL      ? signal
                 : trend->has_limits ? "no signal"
                                     : "too few values for limits");
  wsi_plot_text (
    cr, WS_GREY, WS_START, LEFT, HEIGHT - 40.0,
    "Dashed: control limits, mean ± 2.66 mean moving ranges, and 3.267 of them for ranges. "
    "Red: limits of the tool. Diamond: a signal.");
  wsi_plot_text (
    cr, WS_GREY, WS_START, LEFT, HEIGHT - 18.0,
    "A signal: outside the control limits, or seven in a row rising, falling or on one side of "
    "the mean.");
}

static void
draw_sheet (cairo_t *cr, gconstpointer data)
{
  const WsTrend *trend = data;
  draw_words (cr, trend);
  if (trend->n == 0)
    return;
  draw_values (cr, trend);
  draw_ranges (cr, trend);
}

GBytes *
ws_trend_chart (const WsTrend *trend, WsChartFormat format, GError **error)
{
  return wsi_chart_bytes (WIDTH, HEIGHT, format, draw_sheet, trend, error);
}
