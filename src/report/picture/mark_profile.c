#include "report/picture/mark_profile.h"

#include <math.h>

#include "base/geometry.h"
#include "base/number.h"

/* Neighbours in turns of two colours, the number on the middle. */
void
wsi_draw_segment (const WsDrawing *drawing, const WsMark *mark)
{
  const gboolean even = mark->label != NULL && g_ascii_strtoull (mark->label, NULL, 10) % 2 == 0;
  const WsPen line = { even ? WS_ORANGE : WS_SKY_BLUE, 4.0, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
  if (mark->label == NULL || mark->points->len < 2)
    return;
  const WsTextStyle style = wsi_sheet_label_style (drawing->sheet, line.colour);
  const guint middle = mark->points->len / 2;
  const WsPoint at = wsi_drawing_place (drawing, mark, middle);
  const WsPoint run = wsi_point_sub (at, wsi_drawing_place (drawing, mark, middle - 1));
  /* The tool is on the right-hand side of its outline: numbers stand in the tool. */
  const double length = fmax (wsi_point_length (run), 1e-9), away = 22.0 * drawing->sheet->unit;
  wsi_canvas_text (drawing->sheet->cr, &style, at.x - run.y / length * away,
                   at.y + run.x / length * away, mark->label);
}

void
wsi_draw_nominal (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_WHITE, 1.2, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
}

/* The magnification stands in the picture's upper left corner, clear of the profile. */
void
wsi_draw_deviation (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_VERMILION, 2.4, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (sheet, &line);
  if (mark->label == NULL)
    return;
  WsTextStyle style = wsi_sheet_label_style (sheet, WS_VERMILION);
  style.across = WS_START;
  style.down = WS_START;
  wsi_canvas_text (sheet->cr, &style, sheet->x + 16.0 * sheet->unit, sheet->y + 12.0 * sheet->unit,
                   mark->label);
}

/* A ring, and the deviation beside it. */
void
wsi_draw_worst (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_VERMILION, 3.0, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  const double r = 13.0 * sheet->unit;
  const WsPoint at = wsi_drawing_place (drawing, mark, 0);
  cairo_new_path (sheet->cr);
  cairo_arc (sheet->cr, at.x, at.y, r, 0.0, 2.0 * G_PI);
  wsi_sheet_stroke (sheet, &line);
  const WsQuantity *quantity = wsi_drawing_quantity (drawing->report->result, mark->label);
  if (quantity == NULL)
    return;
  g_autofree char *value =
    wsi_number_format (quantity->value, MIN (wsi_number_places (quantity->U), 4));
  const WsPoint away = wsi_point_sub (at, drawing->inside);
  const double length = fmax (wsi_point_length (away), 1e-9);
  wsi_drawing_label_beyond (drawing, wsi_point_along (at, r / length, away),
                            wsi_point (away.x / length, away.y / length), value);
}
