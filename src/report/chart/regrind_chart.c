#include "report/chart/regrind_chart.h"

#include <math.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/number.h"
#include "report/canvas.h"
#include "report/chart/sheet.h"

/* px of a picture made to be read at its own size */
#define WIDTH 640.0
#define MARGIN 52.0
#define LEGEND 56.0
#define LEAST_HEIGHT 220.0
#define MOST_HEIGHT 760.0
#define LETTERS 19.0
#define NUMBER_R 16.0
#define AWAY 46.0   /* of a number from its place */
#define HATCH 7.0   /* between two lines */
#define BEHIND 0.25 /* of the width: what is shown of the sides */

typedef struct
{
  cairo_t *cr;
  const WsRegrind *regrind;
  double left, top, scale; /* mm at the sheet's corner; px a mm */
  double height;           /* px */
} Sheet;

/* ---- Where ----------------------------------------------------------------------------------- */

static WsPoint
on_sheet (const Sheet *sheet, WsPoint p)
{
  return wsi_point (MARGIN + sheet->scale * (p.x - sheet->left),
                    LEGEND + MARGIN + sheet->scale * (p.y - sheet->top));
}

/* As far back as something differs, and a little more, so that the sides are seen to agree. */
static void
fit (Sheet *sheet)
{
  double low = INFINITY, high = -INFINITY, top = INFINITY, rear = 0, end = 0;
  const GArray *before = sheet->regrind->before;
  for (guint i = 0; i < before->len; i++)
  {
    const WsPoint p = g_array_index (before, WsPoint, i);
    low = fmin (low, p.x);
    high = fmax (high, p.x);
    top = fmin (top, p.y);
    end = fmax (end, p.y);
  }
  for (guint i = 0; i < sheet->regrind->places->len; i++)
  {
    const WsRegrindPlace *place = &g_array_index (sheet->regrind->places, WsRegrindPlace, i);
    rear = fmax (rear, fmax (place->from.y, fmax (place->deepest.y, place->to.y)));
  }
  const double shown = fmin (end, rear + BEHIND * (high - low)) - top;
  sheet->scale = fmin ((WIDTH - 2 * MARGIN) / (high - low),
                       (MOST_HEIGHT - LEGEND - 2 * MARGIN) / fmax (shown, 1e-6));
  sheet->left = (low + high) / 2 - (WIDTH / 2 - MARGIN) / sheet->scale;
  sheet->top = top;
  sheet->height = fmax (LEAST_HEIGHT, LEGEND + 2 * MARGIN + sheet->scale * shown);
}

static void
trace (const Sheet *sheet, const GArray *points)
{
  for (guint i = 0; i < points->len; i++)
  {
    const WsPoint p = on_sheet (sheet, g_array_index (points, WsPoint, i));
    if (i == 0)
      cairo_move_to (sheet->cr, p.x, p.y);
    else
      cairo_line_to (sheet->cr, p.x, p.y);
  }
}

/* ---- What differs ------------------------------------------------------------------------------
 */

static guint
nearest (const GArray *points, WsPoint to)
{
  guint best = 0;
  for (guint i = 1; i < points->len; i++)
    if (wsi_point_distance (g_array_index (points, WsPoint, i), to) <
        wsi_point_distance (g_array_index (points, WsPoint, best), to))
      best = i;
  return best;
}

static void
add_stretch (const Sheet *sheet, const GArray *points, guint from, guint to)
{
  const int step = from <= to ? 1 : -1;
  for (guint i = from;; i = (guint)((int)i + step))
  {
    const WsPoint p = on_sheet (sheet, g_array_index (points, WsPoint, i));
    cairo_line_to (sheet->cr, p.x, p.y);
    if (i == to)
      return;
  }
}

/* Between the outlines: along the one after, and back along the one before. */
static void
trace_place (const Sheet *sheet, const WsRegrindPlace *place)
{
  const GArray *before = sheet->regrind->before, *after = sheet->regrind->after;
  cairo_new_path (sheet->cr);
  add_stretch (sheet, after, nearest (after, place->from), nearest (after, place->to));
  add_stretch (sheet, before, nearest (before, place->to), nearest (before, place->from));
  cairo_close_path (sheet->cr);
}

static WsColour
colour_of (const WsRegrindPlace *place)
{
  return place->stands_out ? WS_BLUE : WS_VERMILION;
}

static void
hatch (const Sheet *sheet, const WsRegrindPlace *place)
{
  const double lean = place->stands_out ? -sheet->height : sheet->height;
  cairo_save (sheet->cr);
  trace_place (sheet, place);
  wsi_canvas_colour (sheet->cr, colour_of (place));
  cairo_set_line_width (sheet->cr, 1.5);
  cairo_stroke_preserve (sheet->cr);
  cairo_clip (sheet->cr);
  cairo_paint_with_alpha (sheet->cr, 0.3);
  for (double x = -sheet->height; x < WIDTH + sheet->height; x += HATCH)
  {
    cairo_move_to (sheet->cr, x, 0);
    cairo_line_to (sheet->cr, x + lean, sheet->height);
  }
  cairo_stroke (sheet->cr);
  cairo_restore (sheet->cr);
}

/* Away from the tool, and from the number before. */
static WsPoint
number_at (const Sheet *sheet, const WsRegrindPlace *place, WsPoint last)
{
  const WsPoint from = on_sheet (sheet, place->deepest), to = on_sheet (sheet, place->opposite);
  WsPoint way = place->stands_out ? wsi_point_sub (from, to) : wsi_point_sub (to, from);
  const double length = wsi_point_length (way);
  way = length > 0 ? wsi_point (way.x / length, way.y / length) : wsi_point (0, -1);
  WsPoint at = wsi_point_along (place->stands_out ? from : to, AWAY, way);
  if (wsi_point_distance (at, last) < 2.2 * NUMBER_R)
    at = wsi_point_along (at, AWAY, way);
  return wsi_point (CLAMP (at.x, 1.2 * NUMBER_R, WIDTH - 1.2 * NUMBER_R),
                    CLAMP (at.y, LEGEND + NUMBER_R, sheet->height - 1.2 * NUMBER_R));
}

static void
draw_number (const Sheet *sheet, const WsRegrindPlace *place, guint number, WsPoint at)
{
  cairo_t *cr = sheet->cr;
  g_autofree char *text = g_strdup_printf ("%u", number);
  const WsTextStyle style = {
    .size = LETTERS, .bold = TRUE, .colour = WS_INK, .across = WS_MIDDLE, .down = WS_MIDDLE
  };
  wsi_canvas_line (cr, WS_INK, 1.5, on_sheet (sheet, place->deepest), at);
  cairo_new_path (cr);
  cairo_arc (cr, at.x, at.y, NUMBER_R, 0, 2 * G_PI);
  wsi_canvas_colour (cr, WS_WHITE);
  cairo_fill_preserve (cr);
  wsi_canvas_colour (cr, colour_of (place));
  cairo_set_line_width (cr, 3);
  cairo_stroke (cr);
  wsi_canvas_text (cr, &style, at.x, at.y, text);
}

static void
draw_places (const Sheet *sheet)
{
  const GArray *places = sheet->regrind->places;
  WsPoint last = { -WIDTH, -WIDTH };
  for (guint i = 0; i < places->len; i++)
    hatch (sheet, &g_array_index (places, WsRegrindPlace, i));
  for (guint i = 0; i < places->len; i++)
  {
    const WsRegrindPlace *place = &g_array_index (places, WsRegrindPlace, i);
    const WsPoint at = number_at (sheet, place, last);
    draw_number (sheet, place, i + 1, at);
    last = at;
  }
}

/* ---- Outlines, what they are, how large ------------------------------------------------------ */

/* The tool goes on below what is shown. */
static void
close_behind (const Sheet *sheet)
{
  const GArray *after = sheet->regrind->after;
  const WsPoint first = on_sheet (sheet, g_array_index (after, WsPoint, 0));
  const WsPoint last = on_sheet (sheet, g_array_index (after, WsPoint, after->len - 1));
  const double below = fmax (fmax (first.y, last.y), sheet->height);
  cairo_line_to (sheet->cr, last.x, below);
  cairo_line_to (sheet->cr, first.x, below);
  cairo_close_path (sheet->cr);
}

static void
draw_outlines (const Sheet *sheet)
{
  const double dashes[] = { 9, 6 };
  cairo_t *cr = sheet->cr;
  cairo_new_path (cr);
  trace (sheet, sheet->regrind->after);
  close_behind (sheet);
  wsi_canvas_colour (cr, WS_PALE);
  cairo_fill (cr);
  trace (sheet, sheet->regrind->after);
  wsi_canvas_colour (cr, WS_INK);
  cairo_set_line_width (cr, 2.5);
  cairo_stroke (cr);
  trace (sheet, sheet->regrind->before);
  cairo_set_dash (cr, dashes, G_N_ELEMENTS (dashes), 0);
  cairo_set_line_width (cr, 2);
  cairo_stroke (cr);
  cairo_set_dash (cr, NULL, 0, 0);
}

static double
draw_word (const Sheet *sheet, double x, double y, const char *text)
{
  double width, height;
  const WsTextStyle style = { .size = LETTERS, .colour = WS_INK, .down = WS_MIDDLE };
  wsi_canvas_text (sheet->cr, &style, x, y, text);
  wsi_canvas_measure (sheet->cr, &style, text, &width, &height);
  return x + width;
}

/* 1, 2 or 5 times a power of ten, a fifth of the sheet at most. */
static double
bar_length (const Sheet *sheet)
{
  const double most = WIDTH / 5 / sheet->scale, ten = pow (10, floor (log10 (most)));
  return ten * (most >= 5 * ten ? 5 : most >= 2 * ten ? 2 : 1);
}

static void
draw_legend (const Sheet *sheet)
{
  const double y = LEGEND / 2, length = bar_length (sheet);
  g_autofree char *number = wsi_number_exact (length);
  g_autofree char *scale = g_strconcat (number, " mm", NULL);
  wsi_canvas_box (sheet->cr, WS_PAPER, 0, 0, WIDTH, LEGEND);
  wsi_canvas_dashes (sheet->cr, WS_INK, 2, wsi_point (20, y), wsi_point (70, y));
  double x = draw_word (sheet, 80, y, _ ("Before")) + 30;
  wsi_canvas_line (sheet->cr, WS_INK, 2.5, wsi_point (x, y), wsi_point (x + 50, y));
  draw_word (sheet, x + 60, y, _ ("After"));
  x = WIDTH - 110 - sheet->scale * length;
  wsi_canvas_line (sheet->cr, WS_INK, 4, wsi_point (x, y),
                   wsi_point (x + sheet->scale * length, y));
  draw_word (sheet, x + sheet->scale * length + 10, y, scale);
}

static void
draw (cairo_t *cr, gconstpointer data)
{
  Sheet sheet = *(const Sheet *)data;
  sheet.cr = cr;
  draw_outlines (&sheet);
  draw_places (&sheet);
  draw_legend (&sheet);
}

GBytes *
wsi_regrind_chart (const WsRegrind *regrind, WsChartFormat format, GError **error)
{
  Sheet sheet = { .regrind = regrind };
  fit (&sheet);
  return wsi_chart_bytes (WIDTH, ceil (sheet.height), format, draw, &sheet, error);
}
