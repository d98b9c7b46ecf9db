#include "report/chart/plot.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/number.h"

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

void
wsi_plot_label (const WsPlot *plot, WsColour colour, double y, const char *text)
{
  wsi_plot_text (plot->cr, colour, WS_START, plot->x + plot->width + 10, y, text);
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

void
wsi_plot_date (const WsPlot *plot, gsize i, const char *time)
{
  const double x = wsi_plot_x (plot, i), y = plot->y + plot->height;
  g_autofree char *text = g_strndup (time, strlen ("2026-11-25T10:15"));
  g_strdelimit (text, "T", ' ');
  wsi_canvas_line (plot->cr, WS_INK, 1.0, wsi_point (x, y), wsi_point (x, y + 6));
  wsi_plot_text (plot->cr, WS_INK, WS_MIDDLE, x, y + 18, text);
}
