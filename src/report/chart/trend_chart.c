/*
 * The run chart: values with U, control limits, limits they were judged by and regrinds above;
 * moving ranges below.
 */
#include <math.h>
#include <string.h>

#include <whetsight/trend.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/number.h"
#include "report/chart/plot.h"
#include "report/chart/sheet.h"
#include "report/trend.h"
#include "report/words.h"

/* px of a picture made to be read at its own size */
#define WIDTH WS_TREND_WIDTH
#define HEIGHT WS_TREND_HEIGHT
#define LEFT 110.0
#define RIGHT 210.0
#define TOP 76.0
#define VALUES_HEIGHT 380.0
#define GAP 46.0
#define RANGES_HEIGHT 150.0
#define TITLE 22.0
#define POINT_R 5.0

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

/* Places that tell control limits from their mean by two figures, and at least those of the scale:
 * limits may lie closer together than a line is wide. */
static guint
places_of (const WsPlot *plot, double reach)
{
  const guint places = wsi_plot_places (wsi_plot_step (plot, 100));
  return reach > 0 ? MAX (places, wsi_number_places (reach)) : places;
}

static void
add_label (GArray *labels, WsColour colour, const char *what, double value, guint places)
{
  g_autofree char *number = wsi_number_format (value, places);
  wsi_plot_labels_add (labels, colour, value, what, number);
}

/* Longer than anybody writes on a card: it follows from a factor. */
#define LONGEST_NUMBER 11

/* As it is written where it comes from. */
static void
add_tolerance (GArray *labels, double end, gboolean is_upper)
{
  g_autofree char *exact = wsi_words_limit (end, is_upper, FALSE);
  g_autofree char *short_one = wsi_words_limit (end, is_upper, TRUE);
  if (isfinite (end))
    wsi_plot_labels_add (labels, WS_VERMILION, end, _ ("tolerance"),
                         strlen (exact) <= LONGEST_NUMBER ? exact : short_one);
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
  const guint places = places_of (plot, trend->has_limits ? trend->upper - trend->mean : 0);
  g_autoptr (GArray) labels = wsi_plot_labels_new ();
  wsi_plot_level (plot, WS_INK, FALSE, trend->mean);
  add_tolerance (labels, last->upper, TRUE);
  if (trend->has_limits)
  {
    wsi_plot_level (plot, WS_BLUE, TRUE, trend->upper);
    wsi_plot_level (plot, WS_BLUE, TRUE, trend->lower);
    add_label (labels, WS_BLUE, _ ("control limit"), trend->upper, places);
  }
  add_label (labels, WS_INK, _ ("mean"), trend->mean, places);
  if (trend->has_limits)
    add_label (labels, WS_BLUE, _ ("control limit"), trend->lower, places);
  add_tolerance (labels, last->lower, FALSE);
  wsi_plot_labels (plot, labels);
}

/* Each with its word beside it, between the plots, unless that would lie on the one before. */
static void
draw_regrinds (const WsPlot *plot, const WsTrend *trend, double bottom)
{
  const char *const word = _ ("reground");
  const WsTextStyle style = { .size = WS_PLOT_LETTERS };
  const double y = plot->y + plot->height + 11;
  double width, height, taken = -INFINITY;
  wsi_canvas_measure (plot->cr, &style, word, &width, &height);
  for (gsize i = 0; i < trend->n; i++)
  {
    if (!trend->points[i].reground)
      continue;
    const double x = wsi_plot_x (plot, i) - wsi_plot_half (plot);
    const double start = fmin (x + 4, plot->x + plot->width - width);
    wsi_canvas_dashes (plot->cr, WS_PURPLE, 2.0, wsi_point (x, plot->y), wsi_point (x, bottom));
    if (start < taken)
      continue;
    wsi_plot_text (plot->cr, WS_PURPLE, WS_START, start, y, word);
    taken = start + width + 8;
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

/* Borrowed times; free the array. */
static const char **
times_of (const WsTrend *trend)
{
  const char **times = g_new (const char *, MAX (trend->n, 1));
  for (gsize i = 0; i < trend->n; i++)
    times[i] = trend->points[i].time;
  return times;
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
  g_autoptr (GArray) labels = wsi_plot_labels_new ();
  g_autofree const char **times = times_of (trend);
  find_range_of_ranges (&plot, trend);
  wsi_plot_ground (&plot);
  if (trend->n > 1)
    wsi_plot_scale (&plot, 3);
  if (trend->has_limits)
  {
    const guint places = places_of (&plot, trend->mean_range);
    wsi_plot_level (&plot, WS_BLUE, TRUE, trend->range_upper);
    wsi_plot_level (&plot, WS_INK, FALSE, trend->mean_range);
    add_label (labels, WS_BLUE, _ ("control limit"), trend->range_upper, places);
    add_label (labels, WS_INK, _ ("mean"), trend->mean_range, places);
  }
  wsi_plot_labels (&plot, labels);
  for (gsize i = 1; i < trend->n; i++)
    wsi_plot_run_to (&plot, i, range_at (trend, i));
  wsi_plot_run_end (&plot);
  for (gsize i = 1; i < trend->n; i++)
  {
    const double x = wsi_plot_x (&plot, i), y = wsi_plot_y (&plot, range_at (trend, i));
    wsi_canvas_box (cr, WS_INK, x - 3.5, y - 3.5, 7.0, 7.0);
  }
  wsi_plot_text (cr, WS_GREY, WS_START, LEFT, plot.y - 12, _ ("moving range"));
  wsi_plot_dates (&plot, times, MOST_DATES);
}

/* What the chart signals, never "no signal" while a point is marked. */
static void
draw_signal (cairo_t *cr, const WsTrend *trend)
{
  const char *last = trend->n > 0 ? ws_trend_signal (trend, trend->n - 1) : NULL;
  const gsize n = wsi_trend_count_signals (trend);
  g_autofree char *words =
    last != NULL ? g_strdup_printf (_ ("last value: %s"), _ (last))
    : n > 0      ? g_strdup_printf (n > 1 ? _ ("%u earlier signals, none at the last value")
                                          : _ ("%u earlier signal, none at the last value"),
                               (guint)n)
    : trend->has_limits ? g_strdup (_ ("no signal"))
                        : g_strdup (_ ("too few values for limits"));
  wsi_plot_text (cr, n > 0 ? WS_BLUE : WS_INK, WS_END, WIDTH - RIGHT, 58.0, words);
}

static void
draw_words (cairo_t *cr, const WsTrend *trend)
{
  const WsTextStyle title = { .size = TITLE, .bold = TRUE, .colour = WS_INK, .down = WS_MIDDLE };
  g_autofree const char **times = times_of (trend);
  g_autofree char *zone = wsi_plot_zone (times, trend->n);
  wsi_canvas_text (cr, &title, LEFT, 30.0, trend->title);
  g_autofree char *unit = g_strdup_printf ("%s, ± U (k = 2)%s%s", _ (trend->unit),
                                           *zone != '\0' ? _ ("; times: ") : "", zone);
  wsi_plot_text (cr, WS_GREY, WS_START, LEFT, 58.0, unit);
  draw_signal (cr, trend);
  wsi_plot_text (
    cr, WS_GREY, WS_START, LEFT, HEIGHT - 40.0,
    _ ("Dashed: control limits, mean ± 2.66 mean moving ranges, and 3.267 of them for ranges. "
       "Red: tolerance of the tool. Diamond: a signal."));
  wsi_plot_text (
    cr, WS_GREY, WS_START, LEFT, HEIGHT - 18.0,
    _ ("A signal: outside the control limits, or seven in a row rising, falling or on one side of "
       "the mean."));
}

void
wsi_trend_draw (cairo_t *cr, const WsTrend *trend)
{
  draw_words (cr, trend);
  if (trend->n == 0)
    return;
  draw_values (cr, trend);
  draw_ranges (cr, trend);
}

static void
draw_sheet (cairo_t *cr, gconstpointer data)
{
  wsi_trend_draw (cr, data);
}

GBytes *
ws_trend_chart (const WsTrend *trend, WsChartFormat format, GError **error)
{
  return wsi_chart_bytes (WIDTH, HEIGHT, format, draw_sheet, trend, error);
}
