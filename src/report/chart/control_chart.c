#include "report/chart/control_chart.h"

#include <math.h>
#include <string.h>

#include <cairo-svg.h>
#include <whetsight/error.h>

#include "base/number.h"
#include "report/canvas.h"

/* Sizes in px of a picture that is made to be read at its own size. */
#define WIDTH 1280.0
#define MARGIN 28.0
#define BAND_HEIGHT 112.0
#define PANEL_HEIGHT 330.0
#define LEGEND_HEIGHT 96.0
#define PLOT_LEFT 96.0
#define PLOT_RIGHT 176.0
#define PLOT_TOP 46.0
#define PLOT_BOTTOM 40.0
#define SMALL 15.0
#define NORMAL 17.0
#define TITLE 20.0
#define POINT_R 6.5
#define LINE_GAP 20.0

/* Sky blue, lightened so that everything is legible on it. */
#define WS_BAND ((WsColour){ 0.80, 0.89, 0.95 })

#define MAX_PANELS 8
#define MAX_POINTS 60
#define UM_PER_MM 1000.0

/* Room above and below what is drawn, and the least range shown, um: a row of equal deviations
 * has none. */
#define ROOM 0.08
#define LEAST_RANGE_UM 0.1

typedef struct
{
  cairo_t *cr;
  const WsCheckSeries *series;
  guint first;                /* point shown at the left */
  double x, y, width, height; /* of the plot, px */
  double low, high;           /* um at its bottom and top */
} Plot;

/* ---- Words ------------------------------------------------------------------------ */

char *
ws_control_series_name (const WsCheckSeries *series)
{
  g_autofree char *size = ws_number_exact (series->reference);
  const char *unit = strrchr (series->quantity, '_');
  const int n = unit != NULL ? (int)(unit - series->quantity) : (int)strlen (series->quantity);
  return g_strdup_printf ("%.*s %s mm", n, series->quantity, size);
}

char *
ws_control_words (const WsCheckSeries *series)
{
  const guint signals =
    g_array_index (series->points, WsCheckPoint, series->points->len - 1).signals;
  if (signals & WS_CONTROL_BEYOND)
    return g_strdup ("the last deviation lies outside the limits of the history");
  if (signals & (WS_CONTROL_RISING | WS_CONTROL_FALLING))
    return g_strdup_printf ("drift: the last %d deviations %s", WS_CONTROL_RUN_LENGTH,
                            signals & WS_CONTROL_RISING ? "rise" : "fall");
  if (signals & (WS_CONTROL_ABOVE | WS_CONTROL_BELOW))
    return g_strdup_printf ("shift: the last %d deviations lie %s the mean", WS_CONTROL_RUN_LENGTH,
                            signals & WS_CONTROL_ABOVE ? "above" : "below");
  return NULL;
}

static char *
um_text (double um)
{
  g_autofree char *text = ws_number_format (um, 2);
  return g_strdup_printf ("%s%s", um > 0.005 ? "+" : "", text);
}

/* ---- Drawing ---------------------------------------------------------------------- */

static void
put_text (cairo_t *cr, double size, WsColour colour, WsAnchor across, double x, double y,
          const char *text)
{
  const WsTextStyle style = { .size = size, .colour = colour, .across = across, .down = WS_MIDDLE };
  ws_canvas_text (cr, &style, x, y, text);
}

static void
put_bold (cairo_t *cr, double size, WsColour colour, double x, double y, const char *text)
{
  const WsTextStyle style = { .size = size, .bold = TRUE, .colour = colour, .down = WS_MIDDLE };
  ws_canvas_text (cr, &style, x, y, text);
}

static void
draw_line (cairo_t *cr, WsColour colour, double width, double x1, double y1, double x2, double y2)
{
  ws_canvas_line (cr, colour, width, (WsPoint){ x1, y1 }, (WsPoint){ x2, y2 });
}

static void
draw_dashes (cairo_t *cr, WsColour colour, double x1, double x2, double y)
{
  ws_canvas_dashes (cr, colour, 2.0, (WsPoint){ x1, y }, (WsPoint){ x2, y });
}

/* Passed: a disc.  Failed: a cross, larger, so that it is found without its colour. */
static void
draw_symbol (cairo_t *cr, gboolean pass, double x, double y)
{
  if (!pass)
  {
    const double r = 1.3 * POINT_R;
    draw_line (cr, WS_VERMILION, 4.5, x - r, y - r, x + r, y + r);
    draw_line (cr, WS_VERMILION, 4.5, x - r, y + r, x + r, y - r);
    return;
  }
  cairo_new_path (cr);
  cairo_arc (cr, x, y, POINT_R, 0, 2 * G_PI);
  ws_canvas_colour (cr, WS_GREEN);
  cairo_fill (cr);
}

/* A diamond about a point that is a signal. */
static void
draw_signal (cairo_t *cr, double x, double y)
{
  const double r = 2.2 * POINT_R;
  cairo_new_path (cr);
  cairo_move_to (cr, x, y - r);
  cairo_line_to (cr, x + r, y);
  cairo_line_to (cr, x, y + r);
  cairo_line_to (cr, x - r, y);
  cairo_close_path (cr);
  cairo_set_line_width (cr, 2.0);
  ws_canvas_colour (cr, WS_BLUE);
  cairo_stroke (cr);
}

static void
draw_bar (cairo_t *cr, double x, double top, double bottom)
{
  draw_line (cr, WS_GREY, 1.5, x, top, x, bottom);
  draw_line (cr, WS_GREY, 1.5, x - 4, top, x + 4, top);
  draw_line (cr, WS_GREY, 1.5, x - 4, bottom, x + 4, bottom);
}

/* ---- A panel ---------------------------------------------------------------------- */

static const WsCheckPoint *
point_at (const Plot *plot, guint i)
{
  return &g_array_index (plot->series->points, WsCheckPoint, i);
}

static guint
shown (const Plot *plot)
{
  return plot->series->points->len - plot->first;
}

static double
x_of (const Plot *plot, guint i)
{
  return plot->x + plot->width * (i - plot->first + 0.5) / shown (plot);
}

static double
y_of (const Plot *plot, double um)
{
  return plot->y + plot->height * (plot->high - um) / (plot->high - plot->low);
}

static void
include (Plot *plot, double um)
{
  plot->low = fmin (plot->low, um);
  plot->high = fmax (plot->high, um);
}

static void
find_range (Plot *plot)
{
  const WsControl *control = &plot->series->control;
  plot->low = -0.5 * LEAST_RANGE_UM;
  plot->high = 0.5 * LEAST_RANGE_UM;
  for (guint i = plot->first; i < plot->series->points->len; i++)
  {
    const WsCheckPoint *point = point_at (plot, i);
    include (plot, UM_PER_MM * (point->deviation + point->U));
    include (plot, UM_PER_MM * (point->deviation - point->U));
    include (plot, UM_PER_MM * hypot (point->U, point->U_reference));
    include (plot, -UM_PER_MM * hypot (point->U, point->U_reference));
  }
  if (control->has_limits)
  {
    include (plot, UM_PER_MM * control->upper);
    include (plot, UM_PER_MM * control->lower);
  }
  const double room = ROOM * (plot->high - plot->low);
  plot->low -= room;
  plot->high += room;
}

/* 1, 2 or 5 times a power of ten, about five of which fill the range. */
static double
step_of (double range)
{
  const double rough = range / 5, power = pow (10, floor (log10 (rough)));
  const double part = rough / power;
  return power * (part < 1.5 ? 1 : part < 3.5 ? 2 : part < 7.5 ? 5 : 10);
}

static void
draw_scale (const Plot *plot)
{
  const double step = step_of (plot->high - plot->low);
  const guint places = (guint)CLAMP (-floor (log10 (step) + 1e-9), 0, 6);
  for (double k = ceil (plot->low / step); k * step <= plot->high; k++)
  {
    const double y = y_of (plot, k * step);
    g_autofree char *text = ws_number_format (k * step, places);
    draw_line (plot->cr, WS_PALE, 1.0, plot->x, y, plot->x + plot->width, y);
    put_text (plot->cr, SMALL, WS_INK, WS_END, plot->x - 10, y, text);
  }
}

/* What the artefact itself leaves open, and how far E_n = 1 lies, at each point. */
static void
draw_artefact (const Plot *plot)
{
  const double half = 0.5 * plot->width / shown (plot);
  for (guint i = plot->first; i < plot->series->points->len; i++)
  {
    const double reach = UM_PER_MM * point_at (plot, i)->U_reference;
    const double top = y_of (plot, reach);
    /* On whole pixels, or seams would show. */
    const double left = round (x_of (plot, i) - half), right = round (x_of (plot, i) + half);
    ws_canvas_box (plot->cr, WS_BAND, left, top, right - left, y_of (plot, -reach) - top);
  }
}

static void
draw_E_n_limits (const Plot *plot)
{
  const double half = 0.5 * plot->width / shown (plot);
  for (guint i = plot->first; i < plot->series->points->len; i++)
  {
    const WsCheckPoint *point = point_at (plot, i);
    const double reach = UM_PER_MM * hypot (point->U, point->U_reference);
    for (int side = -1; side <= 1; side += 2)
    {
      const double x = x_of (plot, i), y = y_of (plot, side * reach);
      draw_line (plot->cr, WS_VERMILION, 2.0, x - half, y, x + half, y);
    }
  }
}

static void
label_line (const Plot *plot, double um, double y, WsColour colour, const char *what)
{
  g_autofree char *number = um_text (um);
  g_autofree char *text = g_strdup_printf ("%s %s", what, number);
  put_text (plot->cr, SMALL, colour, WS_START, plot->x + plot->width + 10, y, text);
}

/* Labels keep their distance even where the lines don't. */
static void
draw_limits (const Plot *plot)
{
  const WsControl *control = &plot->series->control;
  const double right = plot->x + plot->width;
  if (!control->has_limits)
    return;
  const double centre = UM_PER_MM * control->centre, upper = UM_PER_MM * control->upper,
               lower = UM_PER_MM * control->lower;
  const double middle = y_of (plot, centre), top = y_of (plot, upper), bottom = y_of (plot, lower);
  draw_line (plot->cr, WS_INK, 2.0, plot->x, middle, right, middle);
  draw_dashes (plot->cr, WS_BLUE, plot->x, right, top);
  draw_dashes (plot->cr, WS_BLUE, plot->x, right, bottom);
  label_line (plot, centre, middle, WS_INK, "mean");
  label_line (plot, upper, fmin (top, middle - LINE_GAP), WS_BLUE, "upper");
  label_line (plot, lower, fmax (bottom, middle + LINE_GAP), WS_BLUE, "lower");
}

static void
draw_points (const Plot *plot)
{
  const guint n = plot->series->points->len;
  cairo_new_path (plot->cr);
  for (guint i = plot->first; i < n; i++)
    cairo_line_to (plot->cr, x_of (plot, i),
                   y_of (plot, UM_PER_MM * point_at (plot, i)->deviation));
  cairo_set_line_width (plot->cr, 1.2);
  ws_canvas_colour (plot->cr, WS_GREY);
  cairo_stroke (plot->cr);
  for (guint i = plot->first; i < n; i++)
  {
    const WsCheckPoint *point = point_at (plot, i);
    const double um = UM_PER_MM * point->deviation, U = UM_PER_MM * point->U;
    draw_bar (plot->cr, x_of (plot, i), y_of (plot, um + U), y_of (plot, um - U));
  }
  for (guint i = plot->first; i < n; i++)
  {
    const WsCheckPoint *point = point_at (plot, i);
    const double y = y_of (plot, UM_PER_MM * point->deviation);
    draw_symbol (plot->cr, point->pass, x_of (plot, i), y);
    if (point->signals != 0)
      draw_signal (plot->cr, x_of (plot, i), y);
  }
}

/* About six dates, the newest among them. */
static void
draw_times (const Plot *plot)
{
  const guint every = MAX (1, (shown (plot) + 5) / 6), last = plot->series->points->len - 1;
  for (guint i = plot->first; i <= last; i++)
  {
    if ((last - i) % every != 0)
      continue;
    g_autofree char *text = g_strdup (point_at (plot, i)->time);
    text[strlen ("2026-11-25T06:00")] = '\0';
    g_strdelimit (text, "T", ' ');
    const double y = plot->y + plot->height;
    draw_line (plot->cr, WS_INK, 1.0, x_of (plot, i), y, x_of (plot, i), y + 6);
    put_text (plot->cr, SMALL, WS_INK, WS_MIDDLE, x_of (plot, i), y + 18, text);
  }
}

static void
draw_title (const Plot *plot)
{
  const WsControl *control = &plot->series->control;
  g_autofree char *name = ws_control_series_name (plot->series);
  g_autofree char *words = ws_control_words (plot->series);
  g_autofree char *few = !control->has_limits ? g_strdup ("too few checks for limits")
                         : control->n < WS_CONTROL_ENOUGH
                           ? g_strdup_printf ("first guess of limits, from %u checks", control->n)
                           : g_strdup ("in control");
  const double y = plot->y - 18, x = plot->x;
  double width, height;
  const WsTextStyle style = { .size = TITLE, .bold = TRUE };
  ws_canvas_measure (plot->cr, &style, name, &width, &height);
  put_bold (plot->cr, TITLE, WS_INK, x, y, name);
  put_text (plot->cr, NORMAL, WS_GREY, WS_START, x + width + 14, y, "measured − artefact, µm");
  put_text (plot->cr, NORMAL, words != NULL ? WS_BLUE : WS_INK, WS_END, plot->x + plot->width, y,
            words != NULL ? words : few);
}

static void
draw_panel (cairo_t *cr, const WsCheckSeries *series, double top)
{
  const guint n = series->points->len;
  Plot plot = { .cr = cr,
                .series = series,
                .first = n > MAX_POINTS ? n - MAX_POINTS : 0,
                .x = MARGIN + PLOT_LEFT - 28,
                .y = top + PLOT_TOP,
                .width = WIDTH - PLOT_LEFT - PLOT_RIGHT,
                .height = PANEL_HEIGHT - PLOT_TOP - PLOT_BOTTOM };
  find_range (&plot);
  ws_canvas_box (cr, WS_WHITE, plot.x, plot.y, plot.width, plot.height);
  draw_artefact (&plot);
  draw_scale (&plot);
  draw_E_n_limits (&plot);
  draw_limits (&plot);
  draw_points (&plot);
  draw_times (&plot);
  draw_title (&plot);
}

/* ---- The sheet -------------------------------------------------------------------- */

static void
draw_band (cairo_t *cr, const WsCalibration *calibration, const WsCheckState *state)
{
  const WsVerdict look = state->state == WS_CHECKED_PASSED   ? WS_VERDICT_ACCEPT
                         : state->state == WS_CHECKED_FAILED ? WS_VERDICT_REJECT
                                                             : WS_VERDICT_NONE;
  const char *word = state->state == WS_CHECKED_PASSED   ? "PASSED"
                     : state->state == WS_CHECKED_FAILED ? "FAILED"
                                                         : "NOT CHECKED";
  const WsColour ink = ws_canvas_verdict_ink (look);
  g_autofree char *since = g_strdup_printf (
    "%s %s", state->state == WS_CHECKED_FAILED ? "since" : "last check", state->time);
  g_autofree char *made = g_date_time_format (calibration->made, "made %Y-%m-%dT%H:%M:%SZ");
  const char *camera = *calibration->camera != '\0' ? calibration->camera : "camera";
  ws_canvas_box (cr, ws_canvas_verdict_colour (look), 0, 0, WIDTH, BAND_HEIGHT);
  ws_canvas_verdict_shape (cr, look, (WsPoint){ MARGIN + 34, 0.5 * BAND_HEIGHT }, 34, ink);
  put_bold (cr, 54, ink, MARGIN + 88, 0.5 * BAND_HEIGHT - 6, word);
  put_text (cr, NORMAL, ink, WS_END, WIDTH - MARGIN, 28, camera);
  put_text (cr, NORMAL, ink, WS_END, WIDTH - MARGIN, 56, calibration->id);
  put_text (cr, NORMAL, ink, WS_END, WIDTH - MARGIN, 84, made);
  if (*state->time != '\0')
    put_text (cr, NORMAL, ink, WS_START, MARGIN + 90, BAND_HEIGHT - 18, since);
}

static void
draw_legend (cairo_t *cr, double top)
{
  const double row = top + 24, second = row + 34, indent = 44;
  double x = MARGIN + 8;
  draw_symbol (cr, TRUE, x, row);
  put_text (cr, SMALL, WS_INK, WS_START, x + 20, row, "passed");
  draw_symbol (cr, FALSE, x + 110, row);
  put_text (cr, SMALL, WS_INK, WS_START, x + 130, row, "failed, |E_n| > 1");
  draw_signal (cr, x + 300, row);
  put_text (cr, SMALL, WS_INK, WS_START, x + 324, row,
            "signal: outside limits, 7 rising, falling or on one side");
  draw_bar (cr, x + 780, row - 12, row + 12);
  put_text (cr, SMALL, WS_INK, WS_START, x + 796, row, "± U (k = 2) of picture and calibration");
  draw_line (cr, WS_INK, 2, x - 8, second, x + 26, second);
  put_text (cr, SMALL, WS_INK, WS_START, x + indent - 8, second, "mean");
  draw_dashes (cr, WS_BLUE, x + 100, x + 134, second);
  put_text (cr, SMALL, WS_INK, WS_START, x + 100 + indent, second,
            "limits, mean ± 2.66 mean moving range");
  draw_line (cr, WS_VERMILION, 2, x + 470, second, x + 504, second);
  put_text (cr, SMALL, WS_INK, WS_START, x + 470 + indent, second, "E_n = ± 1");
  ws_canvas_box (cr, WS_BAND, x + 630, second - 9, 34, 18);
  put_text (cr, SMALL, WS_INK, WS_START, x + 630 + indent, second, "± U of the artefact itself");
}

static double
sheet_height (const GPtrArray *series)
{
  return BAND_HEIGHT + MIN (series->len, MAX_PANELS) * PANEL_HEIGHT + LEGEND_HEIGHT;
}

static void
draw_sheet (cairo_t *cr, const WsCalibration *calibration, const WsCheckState *state,
            const GPtrArray *series)
{
  double y = BAND_HEIGHT;
  ws_canvas_box (cr, WS_PAPER, 0, 0, WIDTH, sheet_height (series));
  draw_band (cr, calibration, state);
  for (guint i = 0; i < series->len && i < MAX_PANELS; i++, y += PANEL_HEIGHT)
    draw_panel (cr, g_ptr_array_index (series, i), y);
  draw_legend (cr, y);
  if (series->len <= MAX_PANELS)
    return;
  g_autofree char *more = g_strdup_printf ("%u more sizes not shown", series->len - MAX_PANELS);
  put_text (cr, SMALL, WS_INK, WS_END, WIDTH - MARGIN, y + LEGEND_HEIGHT - 14, more);
}

static cairo_status_t
take_bytes (void *closure, const unsigned char *bytes, unsigned int n_bytes)
{
  g_byte_array_append (closure, bytes, n_bytes);
  return CAIRO_STATUS_SUCCESS;
}

GBytes *
ws_control_chart (const WsCalibration *calibration, const WsCheckState *state,
                  const GPtrArray *series, WsChartFormat format, GError **error)
{
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  const double height = sheet_height (series);
  cairo_surface_t *surface =
    format == WS_CHART_SVG
      ? cairo_svg_surface_create_for_stream (take_bytes, bytes, WIDTH, height)
      : cairo_image_surface_create (CAIRO_FORMAT_RGB24, (int)WIDTH, (int)height);
  cairo_t *cr = cairo_create (surface);
  draw_sheet (cr, calibration, state, series);
  cairo_destroy (cr);
  cairo_status_t status = cairo_surface_status (surface);
  if (format == WS_CHART_PNG && status == CAIRO_STATUS_SUCCESS)
    status = cairo_surface_write_to_png_stream (surface, take_bytes, bytes);
  cairo_surface_finish (surface); /* an SVG is complete only now */
  cairo_surface_destroy (surface);
  if (status == CAIRO_STATUS_SUCCESS)
    return g_byte_array_free_to_bytes (g_steal_pointer (&bytes));
  g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "the chart can't be drawn: %s",
               cairo_status_to_string (status));
  return NULL;
}
