#include "report/picture/drawing.h"

#include <math.h>

#include "base/geometry.h"
#include "base/number.h"
#include "report/words.h"

/* Lines have a casing: what is drawn must show on the black tool and on the white light. */
#define CASING_WIDTH 1.4

WsPoint
wsi_sheet_place (const WsSheet *sheet, WsPoint point)
{
  const WsPoint p = wsi_point ((point.x + 0.5) * sheet->factor, (point.y + 0.5) * sheet->factor);
  const WsTurn *turn = &sheet->turn;
  if (turn->is_turned)
    return wsi_point (turn->origin.x + turn->c * p.x - turn->s * p.y,
                      turn->origin.y + turn->s * p.x + turn->c * p.y);
  return wsi_point (sheet->x + p.x, sheet->y + p.y);
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

void
wsi_drawing_keep_clear (const WsDrawing *drawing, WsPoint middle, double reach)
{
  const WsArea box = { middle.x - reach, middle.y - reach, 2.0 * reach, 2.0 * reach };
  g_array_append_val (drawing->symbols, box);
}

void
wsi_drawing_ring (const WsDrawing *drawing, const WsPen *pen, WsPoint middle, double radius)
{
  cairo_t *cr = drawing->sheet->cr;
  cairo_new_path (cr);
  cairo_arc (cr, middle.x, middle.y, radius, 0.0, 2.0 * G_PI);
  wsi_sheet_stroke (drawing->sheet, pen);
  wsi_drawing_keep_clear (drawing, middle, radius + 0.5 * pen->width * drawing->sheet->unit);
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

gboolean
wsi_drawing_is_amiss (const WsQuantity *quantity)
{
  return quantity->verdict == WS_VERDICT_REJECT || quantity->verdict == WS_VERDICT_UNDECIDED;
}

#define MOST_PLACES_DEG 2
#define MOST_PLACES 3

char *
wsi_drawing_value_words (const WsQuantity *quantity)
{
  const gboolean is_angle = quantity->info->unit == WS_UNIT_DEGREE;
  const guint places =
    MIN (wsi_number_places (quantity->U), is_angle ? MOST_PLACES_DEG : MOST_PLACES);
  const double shown = wsi_words_in_shown_unit (quantity, quantity->value);
  g_autofree char *value =
    wsi_number_format (shown, wsi_words_in_inches (quantity) ? places + 1 : places);
  return g_strdup_printf ("%s%s%s", value, is_angle ? "" : " ",
                          is_angle                         ? "°"
                          : wsi_words_in_inches (quantity) ? "in"
                                                           : strrchr (quantity->name, '_') + 1);
}
