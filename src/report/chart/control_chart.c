#include "report/chart/control_chart.h"

#include <math.h>
#include <string.h>

#include "base/language.h"
#include "base/number.h"
#include "optics/calibration.h"
#include "report/chart/plot.h"
#include "report/chart/sheet.h"
#include "report/words.h"

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
#define NORMAL 17.0
#define TITLE 20.0
#define POINT_R 6.5

/* Sky blue, lightened so that everything is legible on it. */
#define WS_BAND ((WsColour){ 0.80, 0.89, 0.95 })

#define MAX_PANELS 8
#define MAX_POINTS 60
#define MOST_DATES 6
#define UM_PER_MM 1000.0

/* The least range shown, um: a row of equal deviations has none. */
#define LEAST_RANGE_UM 0.1

typedef struct
{
  const WsCheckSeries *series;
  guint first; /* point shown at the left */
  WsPlot plot; /* um */
} Panel;

/* ---- Words ------------------------------------------------------------------------ */

char *
wsi_control_series_name (const WsCheckSeries *series)
{
  g_autofree char *size = wsi_number_exact (series->reference);
  const char *unit = strrchr (series->quantity, '_');
  const int n = unit != NULL ? (int)(unit - series->quantity) : (int)strlen (series->quantity);
  g_autofree char *name = g_strndup (series->quantity, (gsize)n);
  return g_strdup_printf ("%s %s mm", _ (name), size);
}

char *
wsi_control_words (const WsCheckSeries *series)
{
  const guint signals =
    g_array_index (series->points, WsCheckPoint, series->points->len - 1).signals;
  if (signals & WS_CONTROL_BEYOND)
    return g_strdup (_ ("the last deviation lies outside the limits of the history"));
  if (signals & (WS_CONTROL_RISING | WS_CONTROL_FALLING))
    return g_strdup_printf (_ ("drift: the last %d deviations %s"), WS_CONTROL_RUN_LENGTH,
                            signals & WS_CONTROL_RISING ? _ ("rise") : _ ("fall"));
  if (signals & (WS_CONTROL_ABOVE | WS_CONTROL_BELOW))
    return g_strdup_printf (_ ("shift: the last %d deviations lie %s the mean"),
                            WS_CONTROL_RUN_LENGTH,
                            signals & WS_CONTROL_ABOVE ? _ ("above") : _ ("below"));
  return NULL;
}

static char *
um_text (double um)
{
  g_autofree char *text = wsi_number_format (um, 2);
  return g_strdup_printf ("%s%s", um > 0.005 ? "+" : "", text);
}

/* ---- Drawing ---------------------------------------------------------------------- */

static void
put_text (cairo_t *cr, WsColour colour, WsAnchor across, double x, double y, const char *text)
{
  const WsTextStyle style = {
    .size = NORMAL, .colour = colour, .across = across, .down = WS_MIDDLE
  };
  wsi_canvas_text (cr, &style, x, y, text);
}

static void
put_bold (cairo_t *cr, double size, WsColour colour, double x, double y, const char *text)
{
  const WsTextStyle style = { .size = size, .bold = TRUE, .colour = colour, .down = WS_MIDDLE };
  wsi_canvas_text (cr, &style, x, y, text);
}

static void
draw_line (cairo_t *cr, WsColour colour, double width, double x1, double y1, double x2, double y2)
{
  wsi_canvas_line (cr, colour, width, (WsPoint){ x1, y1 }, (WsPoint){ x2, y2 });
}

static void
draw_dashes (cairo_t *cr, WsColour colour, double x1, double x2, double y)
{
  wsi_canvas_dashes (cr, colour, 2.0, (WsPoint){ x1, y }, (WsPoint){ x2, y });
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
  wsi_plot_disc (cr, WS_GREEN, POINT_R, x, y);
}

/* ---- A panel ---------------------------------------------------------------------- */

static const WsCheckPoint *
point_at (const Panel *panel, gsize i)
{
  return &g_array_index (panel->series->points, WsCheckPoint, panel->first + i);
}

/* Where |E_n| = 1, um. */
static double
reach_at (const Panel *panel, gsize i)
{
  const WsCheckPoint *point = point_at (panel, i);
  return UM_PER_MM * hypot (point->U, point->U_reference);
}

static void
find_range (Panel *panel)
{
  const WsControl *control = &panel->series->control;
  WsPlot *plot = &panel->plot;
  plot->low = -0.5 * LEAST_RANGE_UM;
  plot->high = 0.5 * LEAST_RANGE_UM;
  for (gsize i = 0; i < plot->n; i++)
  {
    const WsCheckPoint *point = point_at (panel, i);
    wsi_plot_include (plot, UM_PER_MM * (point->deviation + point->U));
    wsi_plot_include (plot, UM_PER_MM * (point->deviation - point->U));
    wsi_plot_include (plot, reach_at (panel, i));
    wsi_plot_include (plot, -reach_at (panel, i));
  }
  if (control->has_limits)
  {
    wsi_plot_include (plot, UM_PER_MM * control->upper);
    wsi_plot_include (plot, UM_PER_MM * control->lower);
  }
  wsi_plot_leave_room (plot);
}

/* What the artefact itself leaves open. */
static void
draw_artefact (const Panel *panel)
{
  const WsPlot *plot = &panel->plot;
  const double half = wsi_plot_half (plot);
  for (gsize i = 0; i < plot->n; i++)
  {
    const double reach = UM_PER_MM * point_at (panel, i)->U_reference;
    const double top = wsi_plot_y (plot, reach), x = wsi_plot_x (plot, i);
    /* On whole pixels, or seams would show. */
    const double left = round (x - half), right = round (x + half);
    wsi_canvas_box (plot->cr, WS_BAND, left, top, right - left, wsi_plot_y (plot, -reach) - top);
  }
}

static void
draw_E_n_limits (const Panel *panel)
{
  for (gsize i = 0; i < panel->plot.n; i++)
    for (int side = -1; side <= 1; side += 2)
      wsi_plot_own_level (&panel->plot, WS_VERMILION, i, side * reach_at (panel, i));
}

static void
add_label (GArray *labels, WsColour colour, const char *what, double um)
{
  g_autofree char *number = um_text (um);
  wsi_plot_labels_add (labels, colour, um, what, number);
}

static void
draw_limits (const Panel *panel)
{
  const WsControl *control = &panel->series->control;
  const WsPlot *plot = &panel->plot;
  const double reach = reach_at (panel, plot->n - 1);
  g_autoptr (GArray) labels = wsi_plot_labels_new ();
  add_label (labels, WS_VERMILION, "E_n = 1:", reach);
  if (control->has_limits)
  {
    const double centre = UM_PER_MM * control->centre, upper = UM_PER_MM * control->upper,
                 lower = UM_PER_MM * control->lower;
    wsi_plot_level (plot, WS_INK, FALSE, centre);
    wsi_plot_level (plot, WS_BLUE, TRUE, upper);
    wsi_plot_level (plot, WS_BLUE, TRUE, lower);
    add_label (labels, WS_BLUE, _ ("limit"), upper);
    add_label (labels, WS_INK, _ ("mean"), centre);
    add_label (labels, WS_BLUE, _ ("limit"), lower);
  }
  add_label (labels, WS_VERMILION, "E_n = -1:", -reach);
  wsi_plot_labels (plot, labels);
}

static void
draw_points (const Panel *panel)
{
  const WsPlot *plot = &panel->plot;
  for (gsize i = 0; i < plot->n; i++)
    wsi_plot_run_to (plot, i, UM_PER_MM * point_at (panel, i)->deviation);
  wsi_plot_run_end (plot);
  for (gsize i = 0; i < plot->n; i++)
  {
    const WsCheckPoint *point = point_at (panel, i);
    const double um = UM_PER_MM * point->deviation, U = UM_PER_MM * point->U;
    wsi_plot_bar (plot, i, um - U, um + U);
  }
  for (gsize i = 0; i < plot->n; i++)
  {
    const WsCheckPoint *point = point_at (panel, i);
    const double x = wsi_plot_x (plot, i), y = wsi_plot_y (plot, UM_PER_MM * point->deviation);
    draw_symbol (plot->cr, point->pass, x, y);
    if (point->signals != 0)
      wsi_plot_signal (plot->cr, POINT_R, x, y);
  }
}

/* What the panel signals, never "in control" while a point is marked; free with g_free(). */
static char *
signal_words (const Panel *panel)
{
  const WsControl *control = &panel->series->control;
  guint n = 0;
  for (gsize i = 0; i < panel->plot.n; i++)
    n += point_at (panel, i)->signals != 0 ? 1 : 0;
  char *words = wsi_control_words (panel->series);
  if (words != NULL)
    return words;
  if (n > 0)
    return g_strdup_printf (n > 1 ? _ ("%u earlier signals, none in the last check")
                                  : _ ("%u earlier signal, none in the last check"),
                            n);
  if (!control->has_limits)
    return g_strdup (_ ("too few checks for limits"));
  return control->n < WS_CONTROL_ENOUGH
           ? g_strdup_printf (_ ("first guess of limits, from %u checks"), control->n)
           : g_strdup (_ ("in control"));
}

static void
draw_title (const Panel *panel)
{
  const WsPlot *plot = &panel->plot;
  g_autofree char *name = wsi_control_series_name (panel->series);
  g_autofree char *words = signal_words (panel);
  const gboolean signals = point_at (panel, plot->n - 1)->signals != 0;
  const double y = plot->y - 18;
  double width, height;
  const WsTextStyle style = { .size = TITLE, .bold = TRUE };
  wsi_canvas_measure (plot->cr, &style, name, &width, &height);
  put_bold (plot->cr, TITLE, WS_INK, plot->x, y, name);
  put_text (plot->cr, WS_GREY, WS_START, plot->x + width + 14, y, _ ("measured − artefact, µm"));
  put_text (plot->cr, signals ? WS_BLUE : WS_INK, WS_END, plot->x + plot->width, y, words);
}

static void
draw_dates (const Panel *panel)
{
  g_autofree const char **times = g_new (const char *, MAX (panel->plot.n, 1));
  for (gsize i = 0; i < panel->plot.n; i++)
    times[i] = point_at (panel, i)->time;
  wsi_plot_dates (&panel->plot, times, MOST_DATES);
}

static void
draw_panel (cairo_t *cr, const WsCheckSeries *series, double top)
{
  const guint n = series->points->len, first = n > MAX_POINTS ? n - MAX_POINTS : 0;
  Panel panel = { .series = series,
                  .first = first,
                  .plot = { .cr = cr,
                            .x = MARGIN + PLOT_LEFT - 28,
                            .y = top + PLOT_TOP,
                            .width = WIDTH - PLOT_LEFT - PLOT_RIGHT,
                            .height = PANEL_HEIGHT - PLOT_TOP - PLOT_BOTTOM,
                            .symbol = POINT_R,
                            .n = n - first } };
  find_range (&panel);
  wsi_plot_ground (&panel.plot);
  draw_artefact (&panel);
  wsi_plot_scale (&panel.plot, 5);
  draw_E_n_limits (&panel);
  draw_limits (&panel);
  draw_points (&panel);
  draw_dates (&panel);
  draw_title (&panel);
}

/* ---- The sheet -------------------------------------------------------------------- */

static void
draw_band (cairo_t *cr, const WsCalibration *calibration, const WsCheckState *state)
{
  const WsVerdict look = state->state == WS_CHECKED_PASSED   ? WS_VERDICT_ACCEPT
                         : state->state == WS_CHECKED_FAILED ? WS_VERDICT_REJECT
                                                             : WS_VERDICT_NONE;
  const char *word = state->state == WS_CHECKED_PASSED   ? _ ("PASSED")
                     : state->state == WS_CHECKED_FAILED ? _ ("FAILED")
                                                         : _ ("NOT CHECKED");
  const WsColour ink = wsi_canvas_verdict_ink (look);
  g_autofree char *time = wsi_words_local_time (state->time);
  g_autofree char *since = g_strdup_printf (
    "%s %s", state->state == WS_CHECKED_FAILED ? _ ("since") : _ ("last check"), time);
  g_autoptr (GDateTime) local = g_date_time_to_local (calibration->made);
  g_autofree char *made = g_date_time_format (local, _ ("made %Y-%m-%d %H:%M:%S %Z"));
  const char *camera = *calibration->camera != '\0' ? calibration->camera : _ ("camera");
  wsi_canvas_box (cr, wsi_canvas_verdict_colour (look), 0, 0, WIDTH, BAND_HEIGHT);
  wsi_canvas_verdict_shape (cr, look, (WsPoint){ MARGIN + 34, 0.5 * BAND_HEIGHT }, 34, ink);
  put_bold (cr, 54, ink, MARGIN + 88, 0.5 * BAND_HEIGHT - 6, word);
  put_text (cr, ink, WS_END, WIDTH - MARGIN, 28, camera);
  put_text (cr, ink, WS_END, WIDTH - MARGIN, 56, calibration->id);
  put_text (cr, ink, WS_END, WIDTH - MARGIN, 84, made);
  if (*state->time != '\0')
    put_text (cr, ink, WS_START, MARGIN + 90, BAND_HEIGHT - 18, since);
}

/* Between a word of the legend and what stands right of it; signals are drawn about their middle.
 */
#define LEGEND_GAP 20.0
#define SIGNAL_GAP 34.0
#define LINE_GAP 14.0

/* Writes a word of the legend; returns where the next thing may begin: at `next`, or further right
 * in a language whose words are longer. */
static double
put_word (cairo_t *cr, double x, double y, const char *word, double gap, double next)
{
  const WsTextStyle style = { .size = WS_PLOT_LETTERS };
  double width, height;
  wsi_canvas_measure (cr, &style, word, &width, &height);
  wsi_plot_text (cr, WS_INK, WS_START, x, y, word);
  return fmax (next, x + width + gap);
}

static void
draw_legend (cairo_t *cr, double top)
{
  const double row = top + 24, second = row + 34, indent = 44, left = MARGIN + 8;
  draw_symbol (cr, TRUE, left, row);
  double x = put_word (cr, left + 20, row, _ ("passed"), LEGEND_GAP, left + 110);
  draw_symbol (cr, FALSE, x, row);
  x = put_word (cr, x + 20, row, _ ("failed, |E_n| > 1"), SIGNAL_GAP, left + 300);
  wsi_plot_signal (cr, POINT_R, x, row);
  x = put_word (cr, x + 24, row, _ ("signal: outside limits, 7 rising, falling or on one side"),
                LEGEND_GAP, left + 780);
  wsi_plot_bar_at (cr, POINT_R, x, row - 12, row + 12);
  put_word (cr, x + 16, row, _ ("± U (k = 2) of picture and calibration"), 0, 0);
  draw_line (cr, WS_INK, 2, left - 8, second, left + 26, second);
  x = put_word (cr, left + indent - 8, second, _ ("mean"), LEGEND_GAP, left + 100);
  draw_dashes (cr, WS_BLUE, x, x + 34, second);
  x = put_word (cr, x + indent, second, _ ("limits, mean ± 2.66 mean moving range"), LINE_GAP,
                left + 470);
  draw_line (cr, WS_VERMILION, 2, x, second, x + 34, second);
  x = put_word (cr, x + indent, second, "E_n = ± 1", LEGEND_GAP, left + 630);
  wsi_canvas_box (cr, WS_BAND, x, second - 9, 34, 18);
  put_word (cr, x + indent, second, _ ("± U of the artefact itself"), 0, 0);
}

static double
sheet_height (const GPtrArray *series)
{
  return BAND_HEIGHT + MIN (series->len, MAX_PANELS) * PANEL_HEIGHT + LEGEND_HEIGHT;
}

typedef struct
{
  const WsCalibration *calibration;
  const WsCheckState *state;
  const GPtrArray *series;
} Sheet;

static void
draw_sheet (cairo_t *cr, gconstpointer data)
{
  const Sheet *sheet = data;
  const GPtrArray *series = sheet->series;
  double y = BAND_HEIGHT;
  draw_band (cr, sheet->calibration, sheet->state);
  for (guint i = 0; i < series->len && i < MAX_PANELS; i++, y += PANEL_HEIGHT)
    draw_panel (cr, g_ptr_array_index (series, i), y);
  draw_legend (cr, y);
  if (series->len <= MAX_PANELS)
    return;
  g_autofree char *more = g_strdup_printf (_ ("%u more sizes not shown"), series->len - MAX_PANELS);
  wsi_plot_text (cr, WS_INK, WS_END, WIDTH - MARGIN, y + LEGEND_HEIGHT - 14, more);
}

GBytes *
wsi_control_chart (const WsCalibration *calibration, const WsCheckState *state,
                   const GPtrArray *series, WsChartFormat format, GError **error)
{
  const Sheet sheet = { calibration, state, series };
  return wsi_chart_bytes (WIDTH, sheet_height (series), format, draw_sheet, &sheet, error);
}
