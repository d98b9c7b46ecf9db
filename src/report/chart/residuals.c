#include "report/chart/residuals.h"

#include "base/geometry.h"
#include "base/language.h"
#include "base/number.h"
#include "maths/stats.h"
#include "report/canvas.h"
#include "report/chart/sheet.h"

/* Chart px. */
#define SHEET_WIDTH 1280.0
#define MARGIN 40.0
#define TOP 128.0
#define BOTTOM 112.0
#define MAX_FIELD_HEIGHT 1400.0

/* The greater arrows come out about this long, and none longer than the most. */
#define USUAL_ARROW 60.0
#define LONGEST_ARROW 150.0

#define HEAD 9.0
#define ARROW_WIDTH 2.4
#define DOT 3.2

/* The key's arrow at most, so that its words find room. */
#define LONGEST_KEY 220.0

typedef struct
{
  cairo_t *cr;
  const WsResidualChart *chart;
  double zoom;          /* chart px a picture px */
  double magnification; /* chart px a px of residual */
  double field_height;
} Sheet;

static double
zoom_for (const WsResidualChart *chart)
{
  return MIN ((SHEET_WIDTH - 2 * MARGIN) / chart->width, MAX_FIELD_HEIGHT / chart->height);
}

/* So that nine in ten of the arrows that count are no longer than usual. */
static double
magnification_for (const WsResidualChart *chart)
{
  g_autofree double *lengths = g_new (double, chart->n_residuals + 1);
  gsize n = 0;
  for (gsize i = 0; i < chart->n_residuals; i++)
    if (!chart->residuals[i].left_out)
      lengths[n++] = wsi_point_length (chart->residuals[i].off);
  const double usual = n > 0 ? wsi_quantile (lengths, n, 0.9) : 0;
  return usual > 0 ? USUAL_ARROW / usual : 1;
}

static WsPoint
on_sheet (const Sheet *sheet, WsPoint p)
{
  const double left = 0.5 * (SHEET_WIDTH - sheet->zoom * sheet->chart->width);
  return wsi_point (left + (p.x + 0.5) * sheet->zoom, TOP + (p.y + 0.5) * sheet->zoom);
}

/* ---- Arrows --------------------------------------------------------------------------- */

static void
draw_head (cairo_t *cr, WsPoint tip, WsPoint along)
{
  const WsPoint back = wsi_point_along (tip, -HEAD, along), across = wsi_point (-along.y, along.x);
  const WsPoint left = wsi_point_along (back, 0.5 * HEAD, across);
  const WsPoint right = wsi_point_along (back, -0.5 * HEAD, across);
  cairo_move_to (cr, tip.x, tip.y);
  cairo_line_to (cr, left.x, left.y);
  cairo_line_to (cr, right.x, right.y);
  cairo_close_path (cr);
  cairo_fill (cr);
}

static void
draw_arrow (cairo_t *cr, WsPoint from, WsPoint off)
{
  const double length = wsi_point_length (off);
  cairo_arc (cr, from.x, from.y, DOT, 0, 2 * G_PI);
  cairo_fill (cr);
  if (!(length > DOT))
    return;
  const WsPoint along = wsi_point (off.x / length, off.y / length);
  const double shown = MIN (length, LONGEST_ARROW);
  const WsPoint tip = wsi_point_along (from, shown, along);
  const WsPoint neck = wsi_point_along (from, MAX (shown - HEAD, 0), along);
  cairo_set_line_width (cr, ARROW_WIDTH);
  cairo_move_to (cr, from.x, from.y);
  cairo_line_to (cr, neck.x, neck.y);
  cairo_stroke (cr);
  draw_head (cr, tip, along);
}

/* What doesn't count has a shape of its own, too, not only a colour. */
static void
draw_cross (cairo_t *cr, WsPoint at)
{
  const double r = 2 * DOT;
  cairo_set_line_width (cr, ARROW_WIDTH);
  cairo_move_to (cr, at.x - r, at.y - r);
  cairo_line_to (cr, at.x + r, at.y + r);
  cairo_move_to (cr, at.x + r, at.y - r);
  cairo_line_to (cr, at.x - r, at.y + r);
  cairo_stroke (cr);
}

static void
draw_residual (const Sheet *sheet, const WsResidual *residual)
{
  const WsPoint from = on_sheet (sheet, residual->where);
  const WsPoint off =
    wsi_point (residual->off.x * sheet->magnification, residual->off.y * sheet->magnification);
  wsi_canvas_colour (sheet->cr, residual->left_out ? WS_VERMILION : WS_BLUE);
  if (residual->left_out)
    draw_cross (sheet->cr, from);
  draw_arrow (sheet->cr, from, off);
}

/* ---- The field ------------------------------------------------------------------------- */

static void
draw_field (const Sheet *sheet)
{
  cairo_t *cr = sheet->cr;
  const WsResidualChart *chart = sheet->chart;
  const WsPoint corner = on_sheet (sheet, wsi_point (-0.5, -0.5));
  wsi_canvas_colour (cr, WS_WHITE);
  cairo_rectangle (cr, corner.x, corner.y, chart->width * sheet->zoom, sheet->field_height);
  cairo_fill_preserve (cr);
  wsi_canvas_colour (cr, WS_GREY);
  cairo_set_line_width (cr, 1);
  cairo_stroke (cr);

  cairo_save (cr);
  cairo_rectangle (cr, corner.x, corner.y, chart->width * sheet->zoom, sheet->field_height);
  cairo_clip (cr);
  wsi_canvas_colour (cr, WS_PALE);
  cairo_set_line_width (cr, 1.5);
  for (gsize i = 0; i < chart->n_lines; i++)
  {
    const WsPoint a = on_sheet (sheet, chart->lines[2 * i]);
    const WsPoint b = on_sheet (sheet, chart->lines[2 * i + 1]);
    cairo_move_to (cr, a.x, a.y);
    cairo_line_to (cr, b.x, b.y);
  }
  cairo_stroke (cr);
  for (gsize i = 0; i < chart->n_residuals; i++)
    draw_residual (sheet, &chart->residuals[i]);
  cairo_restore (cr);
}

/* ---- Words ------------------------------------------------------------------------------ */

static const WsTextStyle plain = { .size = 19, .colour = { 0.11, 0.12, 0.14 } };

static void
draw_title (const Sheet *sheet)
{
  WsTextStyle title = plain;
  title.size = 28;
  title.bold = TRUE;
  wsi_canvas_text (sheet->cr, &title, MARGIN, 24, sheet->chart->title);
  WsTextStyle under = plain;
  under.colour = WS_GREY;
  under.wrap = SHEET_WIDTH - 2 * MARGIN;
  wsi_canvas_text (sheet->cr, &under, MARGIN, 66, sheet->chart->subtitle);
}

static char *
key_text (const WsResidualChart *chart, double px)
{
  g_autofree char *length = wsi_number_format (px, (guint)CLAMP (-floor (log10 (px)), 0, 6));
  if (!(chart->mm_per_px > 0))
    return g_strdup_printf ("%s px", length);
  const double um = 1000 * px * chart->mm_per_px;
  g_autofree char *on_tool = wsi_number_format (um, (guint)CLAMP (1 - floor (log10 (um)), 0, 6));
  return g_strdup_printf ("%s px = %s µm", length, on_tool);
}

static gboolean
some_left_out (const WsResidualChart *chart)
{
  for (gsize i = 0; i < chart->n_residuals; i++)
    if (chart->residuals[i].left_out)
      return TRUE;
  return FALSE;
}

static gboolean
some_cut (const Sheet *sheet)
{
  const WsResidualChart *chart = sheet->chart;
  for (gsize i = 0; i < chart->n_residuals; i++)
    if (wsi_point_length (chart->residuals[i].off) * sheet->magnification > LONGEST_ARROW)
      return TRUE;
  return FALSE;
}

/* What is told only where it is so, in the key's second row. */
static void
draw_exceptions (const Sheet *sheet, double y)
{
  WsTextStyle style = plain;
  style.down = WS_MIDDLE;
  style.colour = WS_GREY;
  if (some_left_out (sheet->chart))
  {
    wsi_canvas_colour (sheet->cr, WS_VERMILION);
    draw_cross (sheet->cr, wsi_point (MARGIN + 2 * DOT, y));
    wsi_canvas_text (sheet->cr, &style, MARGIN + 24, y, _ ("left out"));
  }
  style.across = WS_END;
  if (some_cut (sheet))
    wsi_canvas_text (sheet->cr, &style, SHEET_WIDTH - MARGIN, y, _ ("the longest arrows are cut"));
}

static void
draw_key (const Sheet *sheet)
{
  const double y = TOP + sheet->field_height + 36;
  const double px =
    wsi_number_round_down (MIN (1.5 * USUAL_ARROW, LONGEST_KEY) / sheet->magnification);
  const double length = px * sheet->magnification;
  g_autofree char *text = key_text (sheet->chart, px);
  WsTextStyle style = plain;
  style.down = WS_MIDDLE;
  wsi_canvas_colour (sheet->cr, WS_BLUE);
  draw_arrow (sheet->cr, wsi_point (MARGIN + DOT, y), wsi_point (length, 0));
  wsi_canvas_text (sheet->cr, &style, MARGIN + length + 20, y, text);

  style.across = WS_END;
  style.colour = WS_GREY;
  wsi_canvas_text (sheet->cr, &style, SHEET_WIDTH - MARGIN, y,
                   _ ("arrow: seen less expected; frame: the picture's field"));
  draw_exceptions (sheet, y + 40);
}

static void
draw_sheet (cairo_t *cr, gconstpointer data)
{
  Sheet sheet = *(const Sheet *)data;
  sheet.cr = cr;
  draw_title (&sheet);
  draw_field (&sheet);
  draw_key (&sheet);
}

GBytes *
wsi_report_residuals (const WsResidualChart *chart, GError **error)
{
  Sheet sheet = { .chart = chart,
                  .zoom = zoom_for (chart),
                  .magnification = magnification_for (chart) };
  sheet.field_height = sheet.zoom * chart->height;
  const double height = ceil (TOP + sheet.field_height + BOTTOM);
  return wsi_chart_bytes (SHEET_WIDTH, height, WS_CHART_PNG, draw_sheet, &sheet, error);
}
