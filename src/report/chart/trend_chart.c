/*
 * The run chart: values with U, control limits, limits they were judged by and regrinds above;
 * moving ranges below.
 */
#include <cairo-svg.h>
#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/trend.h>

#include "base/geometry.h"
#include "base/number.h"
#include "report/canvas.h"
#include "report/png_writer.h"

/* px of a picture made to be read at its own size */
#define WIDTH 1280.0
#define HEIGHT 760.0
#define LEFT 110.0
#define RIGHT 190.0
#define TOP 76.0
#define VALUES_HEIGHT 380.0
#define GAP 46.0
#define RANGES_HEIGHT 150.0
#define SMALL 15.0
#define TITLE 22.0
#define POINT_R 5.0
#define ROOM 0.08
#define LABEL_GAP 19.0

typedef struct
{
  cairo_t *cr;
  const WsTrend *trend;
  double y, height;
  double low, high;
} Plot;

/* ---- Scales --------------------------------------------------------------------------- */

static double
plot_width (void)
{
  return WIDTH - LEFT - RIGHT;
}

static double
x_of (const Plot *plot, gsize i)
{
  return LEFT + plot_width () * ((double)i + 0.5) / (double)MAX (plot->trend->n, 1);
}

static double
y_of (const Plot *plot, double value)
{
  return plot->y + plot->height * (plot->high - value) / (plot->high - plot->low);
}

static void
include (Plot *plot, double value)
{
  if (!isfinite (value))
    return;
  plot->low = fmin (plot->low, value);
  plot->high = fmax (plot->high, value);
}

static void
leave_room (Plot *plot)
{
  const double range = plot->high - plot->low;
  /* A row of equal values has no range of its own. */
  const double room = range > 0.0 ? ROOM * range : fmax (1e-6, 1e-3 * fabs (plot->high));
  plot->low -= room;
  plot->high += room;
}

/* 1, 2 or 5 times a power of ten, about `n` of which fill the range. */
static double
step_of (double range, double n)
{
  const double power = pow (10.0, floor (log10 (range / n)));
  const double part = range / n / power;
  return power * (part < 1.5 ? 1.0 : part < 3.5 ? 2.0 : part < 7.5 ? 5.0 : 10.0);
}

static guint
places_of (double step)
{
  return (guint)CLAMP (-floor (log10 (step) + 1e-9), 0.0, 6.0);
}

static void
put (const Plot *plot, WsColour colour, WsAnchor across, double x, double y, const char *text)
{
  const WsTextStyle style = {
    .size = SMALL, .colour = colour, .across = across, .down = WS_MIDDLE
  };
  ws_canvas_text (plot->cr, &style, x, y, text);
}

static void
draw_grid (const Plot *plot, double n)
{
  const double step = step_of (plot->high - plot->low, n);
  ws_canvas_box (plot->cr, WS_WHITE, LEFT, plot->y, plot_width (), plot->height);
  for (double k = ceil (plot->low / step); k * step <= plot->high; k++)
  {
    const double y = y_of (plot, k * step);
    g_autofree char *text = ws_number_format (k * step, places_of (step));
    ws_canvas_line (plot->cr, WS_PALE, 1.0, ws_point (LEFT, y), ws_point (WIDTH - RIGHT, y));
    put (plot, WS_INK, WS_END, LEFT - 10.0, y, text);
  }
}

/* Labels at the right keep their distance from the one drawn before. */
static void
label (const Plot *plot, double *taken, double y, WsColour colour, const char *what, double value)
{
  const double step = step_of (plot->high - plot->low, 100.0);
  g_autofree char *number = ws_number_format (value, places_of (step));
  g_autofree char *text = g_strdup_printf ("%s %s", what, number);
  y = fmax (y, *taken + LABEL_GAP);
  *taken = y;
  put (plot, colour, WS_START, WIDTH - RIGHT + 10.0, y, text);
}

static void
level (const Plot *plot, WsColour colour, gboolean dashed, double value)
{
  const WsPoint from = { LEFT, y_of (plot, value) }, to = { WIDTH - RIGHT, y_of (plot, value) };
  if (dashed)
    ws_canvas_dashes (plot->cr, colour, 2.0, from, to);
  else
    ws_canvas_line (plot->cr, colour, 2.0, from, to);
}

/* ---- Values --------------------------------------------------------------------------- */

static void
find_range (Plot *plot)
{
  const WsTrend *trend = plot->trend;
  plot->low = INFINITY;
  plot->high = -INFINITY;
  for (gsize i = 0; i < trend->n; i++)
  {
    const WsTrendPoint *point = &trend->points[i];
    const double U = isfinite (point->U) ? point->U : 0.0;
    include (plot, point->value - U);
    include (plot, point->value + U);
    include (plot, point->lower);
    include (plot, point->upper);
  }
  if (trend->has_limits)
  {
    include (plot, trend->lower);
    include (plot, trend->upper);
  }
  leave_room (plot);
}

/* Step by step: a card may have changed. */
static void
draw_tolerance (const Plot *plot)
{
  const double half = 0.5 * plot_width () / (double)plot->trend->n;
  for (gsize i = 0; i < plot->trend->n; i++)
  {
    const double ends[] = { plot->trend->points[i].lower, plot->trend->points[i].upper };
    for (gsize k = 0; k < G_N_ELEMENTS (ends); k++)
      if (isfinite (ends[k]))
        ws_canvas_line (plot->cr, WS_VERMILION, 2.0,
                        ws_point (x_of (plot, i) - half, y_of (plot, ends[k])),
                        ws_point (x_of (plot, i) + half, y_of (plot, ends[k])));
  }
}

static void
draw_limits (const Plot *plot)
{
  const WsTrend *trend = plot->trend;
  const WsTrendPoint *last = &trend->points[trend->n - 1];
  double taken = -INFINITY;
  level (plot, WS_INK, FALSE, trend->mean);
  if (isfinite (last->upper))
    label (plot, &taken, y_of (plot, last->upper), WS_VERMILION, "tolerance", last->upper);
  if (trend->has_limits)
  {
    level (plot, WS_BLUE, TRUE, trend->upper);
    level (plot, WS_BLUE, TRUE, trend->lower);
    label (plot, &taken, y_of (plot, trend->upper), WS_BLUE, "upper", trend->upper);
  }
  label (plot, &taken, y_of (plot, trend->mean), WS_INK, "mean", trend->mean);
  if (trend->has_limits)
    label (plot, &taken, y_of (plot, trend->lower), WS_BLUE, "lower", trend->lower);
  if (isfinite (last->lower))
    label (plot, &taken, y_of (plot, last->lower), WS_VERMILION, "tolerance", last->lower);
}

static void
draw_regrinds (const Plot *plot, double bottom)
{
  const double half = 0.5 * plot_width () / (double)plot->trend->n;
  for (gsize i = 0; i < plot->trend->n; i++)
  {
    if (!plot->trend->points[i].reground)
      continue;
    const double x = x_of (plot, i) - half;
    ws_canvas_dashes (plot->cr, WS_PURPLE, 2.0, ws_point (x, plot->y), ws_point (x, bottom));
    put (plot, WS_PURPLE, WS_START, x + 4.0, plot->y + 10.0, "reground");
  }
}

static void
draw_bar (const Plot *plot, gsize i)
{
  const WsTrendPoint *point = &plot->trend->points[i];
  const double x = x_of (plot, i);
  if (!isfinite (point->U))
    return;
  const double top = y_of (plot, point->value + point->U);
  const double bottom = y_of (plot, point->value - point->U);
  ws_canvas_line (plot->cr, WS_GREY, 1.5, ws_point (x, top), ws_point (x, bottom));
  ws_canvas_line (plot->cr, WS_GREY, 1.5, ws_point (x - 3, top), ws_point (x + 3, top));
  ws_canvas_line (plot->cr, WS_GREY, 1.5, ws_point (x - 3, bottom), ws_point (x + 3, bottom));
}

/* A diamond about a point that is a signal, to be told without its colour. */
static void
draw_point (const Plot *plot, gsize i)
{
  const double x = x_of (plot, i), y = y_of (plot, plot->trend->points[i].value);
  const double r = 2.2 * POINT_R;
  cairo_new_path (plot->cr);
  cairo_arc (plot->cr, x, y, POINT_R, 0.0, 2.0 * G_PI);
  ws_canvas_colour (plot->cr, WS_INK);
  cairo_fill (plot->cr);
  if (ws_trend_signal (plot->trend, i) == NULL)
    return;
  cairo_move_to (plot->cr, x, y - r);
  cairo_line_to (plot->cr, x + r, y);
  cairo_line_to (plot->cr, x, y + r);
  cairo_line_to (plot->cr, x - r, y);
  cairo_close_path (plot->cr);
  cairo_set_line_width (plot->cr, 2.0);
  ws_canvas_colour (plot->cr, WS_BLUE);
  cairo_stroke (plot->cr);
}

static void
draw_values (cairo_t *cr, const WsTrend *trend)
{
  Plot plot = { cr, trend, TOP, VALUES_HEIGHT, 0.0, 0.0 };
  find_range (&plot);
  draw_grid (&plot, 6.0);
  draw_tolerance (&plot);
  draw_regrinds (&plot, TOP + VALUES_HEIGHT + GAP + RANGES_HEIGHT);
  draw_limits (&plot);
  for (gsize i = 1; i < trend->n; i++)
    ws_canvas_line (cr, WS_GREY, 1.2,
                    ws_point (x_of (&plot, i - 1), y_of (&plot, trend->points[i - 1].value)),
                    ws_point (x_of (&plot, i), y_of (&plot, trend->points[i].value)));
  for (gsize i = 0; i < trend->n; i++)
    draw_bar (&plot, i);
  for (gsize i = 0; i < trend->n; i++)
    draw_point (&plot, i);
}

/* ---- Moving ranges, the sheet ------------------------------------------------------------ */

static double
range_at (const WsTrend *trend, gsize i)
{
  return fabs (trend->points[i].value - trend->points[i - 1].value);
}

static void
draw_ranges (cairo_t *cr, const WsTrend *trend)
{
  Plot plot = { cr, trend, TOP + VALUES_HEIGHT + GAP, RANGES_HEIGHT, 0.0, 0.0 };
  double taken = -INFINITY;
  for (gsize i = 1; i < trend->n; i++)
    include (&plot, range_at (trend, i));
  if (trend->has_limits)
    include (&plot, trend->range_upper);
  leave_room (&plot);
  plot.low = 0.0;
  draw_grid (&plot, 3.0);
  if (trend->has_limits)
  {
    level (&plot, WS_BLUE, TRUE, trend->range_upper);
    level (&plot, WS_INK, FALSE, trend->mean_range);
    label (&plot, &taken, y_of (&plot, trend->range_upper), WS_BLUE, "upper", trend->range_upper);
    label (&plot, &taken, y_of (&plot, trend->mean_range), WS_INK, "mean", trend->mean_range);
  }
  for (gsize i = 1; i < trend->n; i++)
  {
    const double x = x_of (&plot, i), y = y_of (&plot, range_at (trend, i));
    if (i > 1)
      ws_canvas_line (cr, WS_GREY, 1.2,
                      ws_point (x_of (&plot, i - 1), y_of (&plot, range_at (trend, i - 1))),
                      ws_point (x, y));
    ws_canvas_box (cr, WS_INK, x - 3.5, y - 3.5, 7.0, 7.0);
  }
  put (&plot, WS_GREY, WS_START, LEFT, plot.y - 12.0, "moving range");
}

/* About seven dates, the newest among them. */
static void
draw_times (cairo_t *cr, const WsTrend *trend)
{
  Plot plot = { cr, trend, TOP + VALUES_HEIGHT + GAP, RANGES_HEIGHT, 0.0, 1.0 };
  const gsize every = MAX (1, (trend->n + 6) / 7);
  const double y = plot.y + plot.height;
  for (gsize i = 0; i < trend->n; i++)
  {
    if ((trend->n - 1 - i) % every != 0)
      continue;
    g_autofree char *text = g_strndup (trend->points[i].time, strlen ("2026-11-25T10:15"));
    g_strdelimit (text, "T", ' ');
    ws_canvas_line (cr, WS_INK, 1.0, ws_point (x_of (&plot, i), y),
                    ws_point (x_of (&plot, i), y + 6.0));
    put (&plot, WS_INK, WS_MIDDLE, x_of (&plot, i), y + 18.0, text);
  }
}

static void
draw_words (cairo_t *cr, const WsTrend *trend)
{
  const WsTextStyle title = { .size = TITLE, .bold = TRUE, .colour = WS_INK, .down = WS_MIDDLE };
  const Plot plot = { cr, trend, 0.0, 0.0, 0.0, 0.0 };
  const char *signal = trend->n > 0 ? ws_trend_signal (trend, trend->n - 1) : NULL;
  ws_canvas_text (cr, &title, LEFT, 30.0, trend->title);
  g_autofree char *unit = g_strdup_printf ("%s, ± U (k = 2)", trend->unit);
  put (&plot, WS_GREY, WS_START, LEFT, 58.0, unit);
  put (&plot, signal != NULL ? WS_BLUE : WS_INK, WS_END, WIDTH - RIGHT, 58.0,
       signal != NULL      ? signal
       : trend->has_limits ? "no signal"
                           : "too few values for limits");
  put (&plot, WS_GREY, WS_START, LEFT, HEIGHT - 40.0,
       "Dashed: control limits, mean ± 2.66 mean moving ranges, and 3.267 of them for ranges. "
       "Red: limits of the tool. Diamond: a signal.");
  put (&plot, WS_GREY, WS_START, LEFT, HEIGHT - 18.0,
       "A signal: outside the control limits, or seven in a row rising, falling or on one side of "
       "the mean.");
}

static void
draw_sheet (cairo_t *cr, const WsTrend *trend)
{
  ws_canvas_box (cr, WS_PAPER, 0.0, 0.0, WIDTH, HEIGHT);
  draw_words (cr, trend);
  if (trend->n == 0)
    return;
  draw_values (cr, trend);
  draw_ranges (cr, trend);
  draw_times (cr, trend);
}

static cairo_status_t
take_bytes (void *closure, const unsigned char *bytes, unsigned int n_bytes)
{
  g_byte_array_append (closure, bytes, n_bytes);
  return CAIRO_STATUS_SUCCESS;
}

GBytes *
ws_trend_chart (const WsTrend *trend, WsTrendFormat format, GError **error)
{
  g_autoptr (GByteArray) svg = g_byte_array_new ();
  cairo_surface_t *surface =
    format == WS_TREND_SVG
      ? cairo_svg_surface_create_for_stream (take_bytes, svg, WIDTH, HEIGHT)
      : cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int)WIDTH, (int)HEIGHT);
  cairo_t *cr = cairo_create (surface);
  const WsPngNotes notes = { 0 };
  GBytes *bytes = NULL;
  draw_sheet (cr, trend);
  cairo_destroy (cr);
  if (format == WS_TREND_SVG)
    cairo_surface_finish (surface);
  const cairo_status_t status = cairo_surface_status (surface);
  if (status != CAIRO_STATUS_SUCCESS)
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't draw the chart: %s",
                 cairo_status_to_string (status));
  else if (format == WS_TREND_SVG)
    bytes = g_bytes_new (svg->data, svg->len);
  else
    bytes = ws_png_write (surface, &notes, error);
  cairo_surface_destroy (surface);
  return bytes;
}
