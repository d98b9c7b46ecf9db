#include "report/picture/polar.h"

#include <math.h>

#include "base/geometry.h"
#include "base/language.h"

/* Fewer pictures make no curve. */
#define LEAST_PICTURES 3

/* Of the area's shorter side: the circle without run-out, and the most that run-out moves it. */
#define CIRCLE 0.27
#define MOST_MOVE 0.14

#define LETTERS 22.0
#define SMALL_LETTERS 20.0
#define DOT 5.0

/* What is drawn, and where. */
typedef struct
{
  const WsSheet *sheet;
  const GArray *turned; /* of WsTurned */
  const WsQuantity *quantity;
  WsPoint middle;
  double radius;  /* of the circle, sheet px */
  double enlarge; /* sheet px for each mm or px of run-out */
  double c, s;    /* of the tool's own run-out: c cos (turn) + s sin (turn) */
} Plot;

gboolean
wsi_polar_helps (const WsResult *result)
{
  return result->turned != NULL && result->turned->len >= LEAST_PICTURES;
}

/* Where a deviation lies at a turn; 0 degrees is to the right, and turns count as the picture's
 * angles on paper do, counter-clockwise. */
static WsPoint
place (const Plot *plot, double turn, double off)
{
  const double r = plot->radius + off * plot->enlarge;
  return wsi_point (plot->middle.x + r * cos (turn), plot->middle.y - r * sin (turn));
}

/* The wave that all pictures' own run-outs lie on. */
static void
find_wave (Plot *plot)
{
  double cc = 0, cs = 0, ss = 0, fc = 0, fs = 0;
  for (guint i = 0; i < plot->turned->len; i++)
  {
    const WsTurned *at = &g_array_index (plot->turned, WsTurned, i);
    const double c = cos (wsi_radians (at->turn_deg)), s = sin (wsi_radians (at->turn_deg));
    cc += c * c;
    cs += c * s;
    ss += s * s;
    fc += at->fit * c;
    fs += at->fit * s;
  }
  const double det = cc * ss - cs * cs;
  plot->c = det > 0 ? (fc * ss - fs * cs) / det : 0;
  plot->s = det > 0 ? (fs * cc - fc * cs) / det : 0;
}

static void
stroke_circle (const Plot *plot, double radius, WsColour colour, gboolean dashed)
{
  cairo_t *cr = plot->sheet->cr;
  const double dashes[2] = { 6 * plot->sheet->unit, 5 * plot->sheet->unit };
  cairo_new_path (cr);
  cairo_arc (cr, plot->middle.x, plot->middle.y, radius, 0, 2 * G_PI);
  cairo_set_dash (cr, dashes, dashed ? 2 : 0, 0);
  cairo_set_line_width (cr, 1.5 * plot->sheet->unit);
  wsi_canvas_colour (cr, colour);
  cairo_stroke (cr);
  cairo_set_dash (cr, NULL, 0, 0);
}

static void
draw_wave (const Plot *plot)
{
  cairo_t *cr = plot->sheet->cr;
  cairo_new_path (cr);
  for (guint i = 0; i <= 180; i++)
  {
    const double turn = 2 * G_PI * i / 180;
    const WsPoint p = place (plot, turn, plot->c * cos (turn) + plot->s * sin (turn));
    cairo_line_to (cr, p.x, p.y);
  }
  cairo_set_line_width (cr, 3 * plot->sheet->unit);
  wsi_canvas_colour (cr, WS_BLUE);
  cairo_stroke (cr);
}

static void
draw_dots (const Plot *plot)
{
  cairo_t *cr = plot->sheet->cr;
  for (guint i = 0; i < plot->turned->len; i++)
  {
    const WsTurned *at = &g_array_index (plot->turned, WsTurned, i);
    const WsPoint p = place (plot, wsi_radians (at->turn_deg), at->off);
    cairo_new_path (cr);
    cairo_arc (cr, p.x, p.y, DOT * plot->sheet->unit, 0, 2 * G_PI);
    wsi_canvas_colour (cr, WS_INK);
    cairo_fill (cr);
  }
}

static void
write (const Plot *plot, double y, double letters, gboolean bold, const char *text)
{
  const WsTextStyle style = { .size = letters * plot->sheet->unit,
                              .bold = bold,
                              .colour = WS_INK,
                              .across = WS_MIDDLE,
                              .down = WS_MIDDLE,
                              .wrap = 0.94 * plot->sheet->width };
  wsi_canvas_text (plot->sheet->cr, &style, plot->middle.x, y, text);
}

static void
draw_words (const Plot *plot, const WsReport *report)
{
  const WsSheet *sheet = plot->sheet;
  const double line = 1.6 * LETTERS * sheet->unit, bottom = sheet->y + sheet->height;
  const double real = report->optics != NULL && report->optics->has_scale
                        ? plot->enlarge * report->optics->mm_per_px / fmax (sheet->factor, 1e-9)
                        : plot->enlarge / fmax (sheet->factor, 1e-9);
  write (plot, sheet->y + line, LETTERS, TRUE, _ ("Run-out at the point"));
  if (plot->quantity != NULL)
  {
    g_autofree char *words = wsi_drawing_value_words (plot->quantity);
    write (plot, plot->middle.y, LETTERS, TRUE, words);
  }
  g_autofree char *how = g_strdup_printf (
    _ ("drawn %.0f times larger than the drill; each dot a picture, round once a turn; blue: the "
       "bent "
       "drill itself%s"),
    real,
    plot->quantity != NULL && isfinite (plot->quantity->upper) ? _ ("; dashed: the limit") : "");
  write (plot, bottom - 1.5 * line, SMALL_LETTERS, FALSE, how);
}

void
wsi_polar_draw (const WsSheet *sheet, const WsReport *report)
{
  const WsResult *result = report->result;
  const double side = fmin (sheet->width, sheet->height);
  Plot plot = { .sheet = sheet,
                .turned = result->turned,
                .quantity = ws_result_quantity (result, "run_out_point"),
                .middle = { sheet->x + 0.5 * sheet->width, sheet->y + 0.5 * sheet->height },
                .radius = CIRCLE * side };
  const gboolean limited = plot.quantity != NULL && isfinite (plot.quantity->upper);
  double most = limited ? 0.5 * plot.quantity->upper : 0;
  for (guint i = 0; i < plot.turned->len; i++)
    most = fmax (most, fabs (g_array_index (plot.turned, WsTurned, i).off));
  plot.enlarge = most > 0 ? MOST_MOVE * side / most : 0;
  find_wave (&plot);
  wsi_canvas_box (sheet->cr, WS_WHITE, sheet->x, sheet->y, sheet->width, sheet->height);
  stroke_circle (&plot, plot.radius, WS_PALE, FALSE);
  for (int sign = -1; limited && sign <= 1; sign += 2)
    stroke_circle (&plot, plot.radius + sign * 0.5 * plot.quantity->upper * plot.enlarge, WS_PURPLE,
                   TRUE);
  draw_wave (&plot);
  draw_dots (&plot);
  draw_words (&plot, report);
}
