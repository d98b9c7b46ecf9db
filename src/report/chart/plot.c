#include "report/chart/plot.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/number.h"
#include "report/words.h"

/* Labels at the right: px from line to line, and from the plot. */
#define LABEL_GAP 19.0
#define LABEL_LEFT 14.0

/* Part of the range above and below it. */
#define ROOM 0.08

/* ---- Scales ----------------------------------------------------------------------- */

void
wsi_plot_include (WsPlot *plot, double value)
{
  if (!isfinite (value))
    return;
  plot->low = fmin (plot->low, value);
  plot->high = fmax (plot->high, value);
}

void
wsi_plot_leave_room (WsPlot *plot)
{
  const double range = plot->high - plot->low;
  /* A row of equal values has no range of its own. */
  const double room = range > 0 ? ROOM * range : fmax (1e-6, 1e-3 * fabs (plot->high));
  plot->low -= room;
  plot->high += room;
}

double
wsi_plot_x (const WsPlot *plot, gsize i)
{
  return plot->x + plot->width * ((double)i + 0.5) / (double)MAX (plot->n, 1);
}

double
wsi_plot_half (const WsPlot *plot)
{
  return 0.5 * plot->width / (double)MAX (plot->n, 1);
}

double
wsi_plot_y (const WsPlot *plot, double value)
{
  return plot->y + plot->height * (plot->high - value) / (plot->high - plot->low);
}

double
wsi_plot_step (const WsPlot *plot, double n)
{
  const double rough = (plot->high - plot->low) / n, power = pow (10, floor (log10 (rough)));
  const double part = rough / power;
  return power * (part < 1.5 ? 1 : part < 3.5 ? 2 : part < 7.5 ? 5 : 10);
}

guint
wsi_plot_places (double step)
{
  return (guint)CLAMP (-floor (log10 (step) + 1e-9), 0, 6);
}

/* ---- Text, lines ------------------------------------------------------------------ */

void
wsi_plot_text (cairo_t *cr, WsColour colour, WsAnchor across, double x, double y, const char *text)
{
  const WsTextStyle style = {
    .size = WS_PLOT_LETTERS, .colour = colour, .across = across, .down = WS_MIDDLE
  };
  wsi_canvas_text (cr, &style, x, y, text);
}

void
wsi_plot_ground (const WsPlot *plot)
{
  wsi_canvas_box (plot->cr, WS_WHITE, plot->x, plot->y, plot->width, plot->height);
}

void
wsi_plot_scale (const WsPlot *plot, double n)
{
  const double step = wsi_plot_step (plot, n), right = plot->x + plot->width;
  for (double k = ceil (plot->low / step); k * step <= plot->high; k++)
  {
    const double y = wsi_plot_y (plot, k * step);
    g_autofree char *text = wsi_number_format (k * step, wsi_plot_places (step));
    wsi_canvas_line (plot->cr, WS_PALE, 1.0, wsi_point (plot->x, y), wsi_point (right, y));
    wsi_plot_text (plot->cr, WS_INK, WS_END, plot->x - 10, y, text);
  }
}

void
wsi_plot_level (const WsPlot *plot, WsColour colour, gboolean dashed, double value)
{
  const double y = wsi_plot_y (plot, value);
  const WsPoint from = { plot->x, y }, to = { plot->x + plot->width, y };
  if (dashed)
    wsi_canvas_dashes (plot->cr, colour, 2.0, from, to);
  else
    wsi_canvas_line (plot->cr, colour, 2.0, from, to);
}

void
wsi_plot_own_level (const WsPlot *plot, WsColour colour, gsize i, double value)
{
  const double x = wsi_plot_x (plot, i), half = wsi_plot_half (plot), y = wsi_plot_y (plot, value);
  wsi_canvas_line (plot->cr, colour, 2.0, wsi_point (x - half, y), wsi_point (x + half, y));
}

/* ---- Labels ----------------------------------------------------------------------- */

static void
label_clear (gpointer data)
{
  g_free (((WsPlotLabel *)data)->text);
}

GArray *
wsi_plot_labels_new (void)
{
  GArray *labels = g_array_new (FALSE, FALSE, sizeof (WsPlotLabel));
  g_array_set_clear_func (labels, label_clear);
  return labels;
}

void
wsi_plot_labels_add (GArray *labels, WsColour colour, double value, const char *what,
                     const char *number)
{
  const WsPlotLabel label = { value, colour, g_strdup_printf ("%s %s", what, number) };
  g_array_append_val (labels, label);
}

/* The greatest first, and of equal ones the one that was added first. */
static gint
compare_labels (gconstpointer a, gconstpointer b)
{
  const WsPlotLabel *const *first = a, *const *second = b;
  if ((*first)->value != (*second)->value)
    return (*first)->value > (*second)->value ? -1 : 1;
  return *first < *second ? -1 : 1;
}

/* Moves heights that ascend as little as keeps them a gap apart: the isotonic regression of what is
 * left of them without the gaps, by its max-min form (Robertson, Wright, Dykstra 1988, 1.4). */
static void
spread (double *y, guint n)
{
  g_autofree double *want = g_new (double, n);
  for (guint i = 0; i < n; i++)
    want[i] = y[i] - i * LABEL_GAP;
  for (guint i = 0; i < n; i++)
  {
    double greatest = -INFINITY;
    for (guint from = 0; from <= i; from++)
    {
      double least = INFINITY, sum = 0;
      for (guint to = from; to < n; to++)
      {
        sum += want[to];
        least = to >= i ? fmin (least, sum / (to - from + 1)) : least;
      }
      greatest = fmax (greatest, least);
    }
    y[i] = greatest + i * LABEL_GAP;
  }
}

void
wsi_plot_labels (const WsPlot *plot, const GArray *labels)
{
  const double right = plot->x + plot->width, start = right + LABEL_LEFT;
  g_autoptr (GPtrArray) sorted = g_ptr_array_new ();
  g_autofree double *y = g_new (double, MAX (labels->len, 1));
  for (guint i = 0; i < labels->len; i++)
    g_ptr_array_add (sorted, &g_array_index (labels, WsPlotLabel, i));
  g_ptr_array_sort (sorted, compare_labels);
  for (guint i = 0; i < sorted->len; i++)
    y[i] = wsi_plot_y (plot, ((const WsPlotLabel *)g_ptr_array_index (sorted, i))->value);
  spread (y, sorted->len);
  for (guint i = 0; i < sorted->len; i++)
  {
    const WsPlotLabel *label = g_ptr_array_index (sorted, i);
    const double line = wsi_plot_y (plot, label->value);
    wsi_canvas_line (plot->cr, label->colour, 1.0, wsi_point (right, line),
                     wsi_point (start - 3, y[i]));
    wsi_plot_text (plot->cr, label->colour, WS_START, start, y[i], label->text);
  }
}

/* ---- Values ----------------------------------------------------------------------- */

void
wsi_plot_run_to (const WsPlot *plot, gsize i, double value)
{
  cairo_line_to (plot->cr, wsi_plot_x (plot, i), wsi_plot_y (plot, value));
}

void
wsi_plot_run_end (const WsPlot *plot)
{
  cairo_set_line_width (plot->cr, 1.2);
  wsi_canvas_colour (plot->cr, WS_GREY);
  cairo_stroke (plot->cr);
}

void
wsi_plot_bar_at (cairo_t *cr, double symbol, double x, double top, double bottom)
{
  const double cap = round (0.6 * symbol);
  wsi_canvas_line (cr, WS_GREY, 1.5, wsi_point (x, top), wsi_point (x, bottom));
  wsi_canvas_line (cr, WS_GREY, 1.5, wsi_point (x - cap, top), wsi_point (x + cap, top));
  wsi_canvas_line (cr, WS_GREY, 1.5, wsi_point (x - cap, bottom), wsi_point (x + cap, bottom));
}

void
wsi_plot_bar (const WsPlot *plot, gsize i, double low, double high)
{
  if (isfinite (low) && isfinite (high))
    wsi_plot_bar_at (plot->cr, plot->symbol, wsi_plot_x (plot, i), wsi_plot_y (plot, high),
                     wsi_plot_y (plot, low));
}

void
wsi_plot_disc (cairo_t *cr, WsColour colour, double symbol, double x, double y)
{
  cairo_new_path (cr);
  cairo_arc (cr, x, y, symbol, 0, 2 * G_PI);
  wsi_canvas_colour (cr, colour);
  cairo_fill (cr);
}

void
wsi_plot_signal (cairo_t *cr, double symbol, double x, double y)
{
  const double r = 2.2 * symbol;
  cairo_new_path (cr);
  cairo_move_to (cr, x, y - r);
  cairo_line_to (cr, x + r, y);
  cairo_line_to (cr, x, y + r);
  cairo_line_to (cr, x - r, y);
  cairo_close_path (cr);
  cairo_set_line_width (cr, 2.0);
  wsi_canvas_colour (cr, WS_BLUE);
  cairo_stroke (cr);
}

/* ---- Dates ------------------------------------------------------------------------ */

gboolean
wsi_plot_has_date (const WsPlot *plot, gsize i, gsize most)
{
  const gsize every = MAX (1, (plot->n + most - 1) / most);
  return (plot->n - 1 - i) % every == 0;
}

static const char *const date_formats[] = { "%Y-%m-%d", "%H:%M\n%Y-%m-%d", "%H:%M:%S\n%Y-%m-%d" };

/* The dates that are shown, NULL for the others. */
static GPtrArray *
dates_as (const WsPlot *plot, const char *const *times, gsize most, const char *format)
{
  GPtrArray *dates = g_ptr_array_new_with_free_func (g_free);
  for (gsize i = 0; i < plot->n; i++)
    g_ptr_array_add (dates,
                     wsi_plot_has_date (plot, i, most) ? wsi_words_local (times[i], format) : NULL);
  return dates;
}

/* Drops those that say the same as the one before; returns whether there were any. */
static gboolean
drop_repeated (GPtrArray *dates)
{
  gboolean repeated = FALSE;
  const char *before = NULL;
  for (guint i = 0; i < dates->len; i++)
  {
    char *date = g_ptr_array_index (dates, i);
    if (date != NULL && g_strcmp0 (date, before) == 0)
    {
      repeated = TRUE;
      g_ptr_array_index (dates, i) = NULL;
      g_free (date);
    }
    else if (date != NULL)
      before = date;
  }
  return repeated;
}

void
wsi_plot_dates (const WsPlot *plot, const char *const *times, gsize most)
{
  const double y = plot->y + plot->height;
  g_autoptr (GPtrArray) dates = NULL;
  g_autofree char *day_before = NULL;
  for (gsize i = 0; i < G_N_ELEMENTS (date_formats); i++)
  {
    g_clear_pointer (&dates, g_ptr_array_unref);
    dates = dates_as (plot, times, most, date_formats[i]);
    if (!drop_repeated (dates))
      break;
  }
  for (guint i = 0; i < dates->len; i++)
  {
    const double x = wsi_plot_x (plot, i);
    if (g_ptr_array_index (dates, i) == NULL)
      continue;
    g_auto (GStrv) parts = g_strsplit (g_ptr_array_index (dates, i), "\n", 2);
    wsi_canvas_line (plot->cr, WS_INK, 1.0, wsi_point (x, y), wsi_point (x, y + 6));
    wsi_plot_text (plot->cr, WS_INK, WS_MIDDLE, x, y + 18, parts[0]);
    if (parts[1] != NULL && g_strcmp0 (parts[1], day_before) != 0)
      wsi_plot_text (plot->cr, WS_INK, WS_MIDDLE, x, y + 37, parts[1]);
    g_free (day_before);
    day_before = g_strdup (parts[1]);
  }
}

char *
wsi_plot_zone (const char *const *times, gsize n)
{
  GString *zones = g_string_new (NULL);
  for (gsize i = 0; i < n; i++)
  {
    g_autofree char *zone = wsi_words_local (times[i], "%Z");
    if (strstr (zones->str, zone) == NULL)
      g_string_append_printf (zones, "%s%s", zones->len > 0 ? ", " : "", zone);
  }
  return g_string_free (zones, FALSE);
}
