#include "report/picture/drawing.h"

#include <math.h>

#include "base/geometry.h"

/* Lines have a casing: what is drawn must show on the black tool and on the white light. */
#define CASING_WIDTH 1.4

WsPoint
wsi_sheet_place (const WsSheet *sheet, WsPoint point)
{
  return wsi_point (sheet->x + (point.x + 0.5) * sheet->factor,
                    sheet->y + (point.y + 0.5) * sheet->factor);
}

WsPoint
wsi_drawing_place (const WsDrawing *drawing, const WsMark *mark, guint i)
{
  return wsi_sheet_place (drawing->sheet, g_array_index (mark->points, WsPoint, i));
}

WsPoint
wsi_drawing_towards (WsPoint from, WsPoint to, double distance)
{
  double length = wsi_point_distance (from, to);
  return length > 0.0 ? wsi_point_along (from, distance / length, wsi_point_sub (to, from)) : from;
}

static void
set_dashes (const WsSheet *sheet, const WsPen *line)
{
  double scaled[8];
  int n = MIN (line->n_dashes, (int)G_N_ELEMENTS (scaled));
  for (int i = 0; i < n; i++)
    scaled[i] = line->dashes[i] * sheet->unit;
  cairo_set_dash (sheet->cr, scaled, n, 0.0);
}

void
wsi_sheet_stroke (const WsSheet *sheet, const WsPen *line)
{
  cairo_t *cr = sheet->cr;
  cairo_save (cr);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  set_dashes (sheet, line);
  cairo_set_source_rgba (cr, 0.0, 0.0, 0.0, 0.75);
  cairo_set_line_width (cr, (line->width + CASING_WIDTH) * sheet->unit);
  cairo_stroke_preserve (cr);
  wsi_canvas_colour (cr, line->colour);
  cairo_set_line_width (cr, line->width * sheet->unit);
  cairo_stroke (cr);
  cairo_restore (cr);
}

void
wsi_drawing_path (const WsDrawing *drawing, const WsMark *mark)
{
  cairo_new_path (drawing->sheet->cr);
  for (guint i = 0; i < mark->points->len; i++)
  {
    WsPoint point = wsi_drawing_place (drawing, mark, i);
    cairo_line_to (drawing->sheet->cr, point.x, point.y);
  }
}

WsTextStyle
wsi_sheet_label_style (const WsSheet *sheet, WsColour colour)
{
  return (WsTextStyle){ .size = 24.0 * sheet->unit,
                        .bold = TRUE,
                        .colour = colour,
                        .across = WS_MIDDLE,
                        .down = WS_MIDDLE,
                        .halo = 3.0 * sheet->unit,
                        .halo_colour = WS_INK };
}

const WsQuantity *
wsi_drawing_quantity (const WsResult *result, const char *name)
{
  for (guint i = 0; name != NULL && i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (g_str_equal (quantity->name, name) || g_str_equal (quantity->info->stem, name))
      return quantity->known ? quantity : NULL;
  }
  return NULL;
}

void
wsi_drawing_label_beyond (const WsDrawing *drawing, WsPoint from, WsPoint away, const char *text)
{
  cairo_t *cr = drawing->sheet->cr;
  WsTextStyle style = wsi_sheet_label_style (drawing->sheet, WS_WHITE);
  double width, height;
  wsi_canvas_measure (cr, &style, text, &width, &height);
  double gap = 6.0 * drawing->sheet->unit + 0.5 * (fabs (away.x) * width + fabs (away.y) * height);
  WsPoint at = wsi_point_along (from, gap, away);
  wsi_canvas_text (cr, &style, at.x, at.y, text);
}
