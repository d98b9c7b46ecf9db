#include "report/canvas.h"
#include "base/shown.h"
#include "late/cairo.h"

#define FONT "DejaVu Sans, Sans"

#if defined __has_feature
#if __has_feature(address_sanitizer)
#define WITH_LEAK_CHECK
#endif
#endif
#ifdef __SANITIZE_ADDRESS__
#define WITH_LEAK_CHECK
#endif

#ifdef WITH_LEAK_CHECK
/* fontconfig keeps its patterns, once for all, behind encoded pointers that the leak
 * checker can't follow. */
const char *__lsan_default_suppressions (void);

const char *
__lsan_default_suppressions (void)
{
  return "leak:libfontconfig\n";
}
#endif

void
wsi_canvas_colour (cairo_t *cr, WsColour colour)
{
  cairo_set_source_rgb (cr, colour.r, colour.g, colour.b);
}

/* Free with g_object_unref(). */
static PangoLayout *
layout_of (cairo_t *cr, const WsTextStyle *style, const char *text)
{
  PangoLayout *layout = pango_cairo_create_layout (cr);
  PangoFontDescription *font = pango_font_description_from_string (FONT);
  pango_font_description_set_absolute_size (font, style->size * PANGO_SCALE);
  pango_font_description_set_weight (font, style->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
  pango_layout_set_font_description (layout, font);
  pango_font_description_free (font);
  if (style->wrap > 0.0)
    pango_layout_set_width (layout, (int)(style->wrap * PANGO_SCALE));
  pango_layout_set_wrap (layout, PANGO_WRAP_WORD_CHAR);
  g_autofree char *shown = wsi_shown_lines (text);
  pango_layout_set_text (layout, shown, -1);
  return layout;
}

static void
measure_layout (PangoLayout *layout, double *width, double *height)
{
  PangoRectangle extents;
  pango_layout_get_extents (layout, NULL, &extents);
  *width = (double)extents.width / PANGO_SCALE;
  *height = (double)extents.height / PANGO_SCALE;
}

static double
anchor_shift (WsAnchor anchor, double size)
{
  return anchor == WS_START ? 0.0 : anchor == WS_MIDDLE ? -0.5 * size : -size;
}

static void
draw_halo (cairo_t *cr, const WsTextStyle *style, PangoLayout *layout)
{
  cairo_save (cr);
  pango_cairo_layout_path (cr, layout);
  wsi_canvas_colour (cr, style->halo_colour);
  cairo_set_line_width (cr, 2.0 * style->halo);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  cairo_stroke (cr);
  cairo_restore (cr);
}

void
wsi_canvas_text (cairo_t *cr, const WsTextStyle *style, double x, double y, const char *text)
{
  double width, height;
  PangoLayout *layout = layout_of (cr, style, text);
  measure_layout (layout, &width, &height);
  double left = x + anchor_shift (style->across, width);
  double top = y + anchor_shift (style->down, height);

  cairo_move_to (cr, left, top);
  if (style->halo > 0.0)
    draw_halo (cr, style, layout);
  cairo_move_to (cr, left, top);
  wsi_canvas_colour (cr, style->colour);
  pango_cairo_show_layout (cr, layout);
  cairo_new_path (cr);
  g_object_unref (layout);
}

void
wsi_canvas_measure (cairo_t *cr, const WsTextStyle *style, const char *text, double *width,
                    double *height)
{
  PangoLayout *layout = layout_of (cr, style, text);
  measure_layout (layout, width, height);
  g_object_unref (layout);
}

void
wsi_canvas_line (cairo_t *cr, WsColour colour, double width, WsPoint from, WsPoint to)
{
  cairo_new_path (cr);
  cairo_move_to (cr, from.x, from.y);
  cairo_line_to (cr, to.x, to.y);
  cairo_set_line_width (cr, width);
  wsi_canvas_colour (cr, colour);
  cairo_stroke (cr);
}

void
wsi_canvas_dashes (cairo_t *cr, WsColour colour, double width, WsPoint from, WsPoint to)
{
  const double dashes[] = { 4.5 * width, 3.0 * width };
  cairo_set_dash (cr, dashes, G_N_ELEMENTS (dashes), 0.0);
  wsi_canvas_line (cr, colour, width, from, to);
  cairo_set_dash (cr, NULL, 0, 0.0);
}

void
wsi_canvas_box (cairo_t *cr, WsColour colour, double x, double y, double width, double height)
{
  cairo_new_path (cr);
  cairo_rectangle (cr, x, y, width, height);
  wsi_canvas_colour (cr, colour);
  cairo_fill (cr);
}

typedef void (*DrawShape) (cairo_t *cr);

/* Shapes live in the unit circle and are drawn with the colour set. */

static void
draw_bar (cairo_t *cr)
{
  cairo_rectangle (cr, -0.8, -0.2, 1.6, 0.4);
  cairo_fill (cr);
}

static void
draw_tick (cairo_t *cr)
{
  cairo_arc (cr, 0.0, 0.0, 1.0, 0.0, 2.0 * G_PI);
  cairo_new_sub_path (cr);
  /* The tick is cut out. */
  cairo_set_fill_rule (cr, CAIRO_FILL_RULE_EVEN_ODD);
  cairo_move_to (cr, -0.62, 0.04);
  cairo_line_to (cr, -0.42, -0.16);
  cairo_line_to (cr, -0.17, 0.09);
  cairo_line_to (cr, 0.42, -0.50);
  cairo_line_to (cr, 0.62, -0.30);
  cairo_line_to (cr, -0.17, 0.49);
  cairo_close_path (cr);
  cairo_fill (cr);
}

/* A beam level on a wedge: weighed, and neither side goes down. */
static void
draw_balance (cairo_t *cr)
{
  cairo_rectangle (cr, -1.0, -0.66, 2.0, 0.40);
  cairo_fill (cr);
  cairo_move_to (cr, 0.0, -0.20);
  cairo_line_to (cr, 0.78, 0.86);
  cairo_line_to (cr, -0.78, 0.86);
  cairo_close_path (cr);
  cairo_fill (cr);
}

static void
draw_cross (cairo_t *cr)
{
  cairo_set_line_width (cr, 0.44);
  cairo_move_to (cr, -0.68, -0.68);
  cairo_line_to (cr, 0.68, 0.68);
  cairo_move_to (cr, 0.68, -0.68);
  cairo_line_to (cr, -0.68, 0.68);
  cairo_stroke (cr);
}

/* The corners of a picture's frame about a dot. */
static void
draw_frame (cairo_t *cr)
{
  cairo_set_line_width (cr, 0.24);
  for (int corner = 0; corner < 4; corner++)
  {
    cairo_rotate (cr, 0.5 * G_PI);
    cairo_move_to (cr, 0.28, -0.76);
    cairo_line_to (cr, 0.76, -0.76);
    cairo_line_to (cr, 0.76, -0.28);
    cairo_stroke (cr);
  }
  cairo_arc (cr, 0.0, 0.0, 0.28, 0.0, 2.0 * G_PI);
  cairo_fill (cr);
}

static const struct
{
  WsColour fill, ink;
  DrawShape draw;
} looks[] = {
  [WS_VERDICT_NONE] = { WS_GREY, WS_WHITE, draw_bar },
  [WS_VERDICT_ACCEPT] = { WS_GREEN, WS_WHITE, draw_tick },
  [WS_VERDICT_UNDECIDED] = { WS_ORANGE, WS_BLACK, draw_balance },
  [WS_VERDICT_REJECT] = { WS_VERMILION, WS_WHITE, draw_cross },
  [WS_VERDICT_RETAKE] = { WS_BLUE, WS_WHITE, draw_frame },
};

WsColour
wsi_canvas_verdict_colour (WsVerdict verdict)
{
  return looks[verdict].fill;
}

WsColour
wsi_canvas_verdict_ink (WsVerdict verdict)
{
  return looks[verdict].ink;
}

void
wsi_canvas_verdict_shape (cairo_t *cr, WsVerdict verdict, WsPoint centre, double r, WsColour colour)
{
  cairo_save (cr);
  cairo_new_path (cr);
  cairo_translate (cr, centre.x, centre.y);
  cairo_scale (cr, r, r);
  wsi_canvas_colour (cr, colour);
  looks[verdict].draw (cr);
  cairo_restore (cr);
}
