#include "report/picture/mark_profile.h"

#include <math.h>

#include "base/geometry.h"
#include "base/told_text.h"
#include "report/picture/labels.h"

/* Neighbours in turns of two colours, the number on the middle. */
void
wsi_draw_segment (const WsDrawing *drawing, const WsMark *mark)
{
  const gboolean even = mark->label != NULL && g_ascii_strtoull (mark->label, NULL, 10) % 2 == 0;
  const WsPen line = { even ? WS_YELLOW : WS_SKY_BLUE, 4.0, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
  if (mark->label == NULL || mark->points->len < 2)
    return;
  const guint middle = mark->points->len / 2;
  const WsPoint at = wsi_drawing_place (drawing, mark, middle);
  const WsPoint run = wsi_point_sub (at, wsi_drawing_place (drawing, mark, middle - 1));
  /* The tool is on the right-hand side of its outline: numbers stand in the tool. */
  const double length = fmax (wsi_point_length (run), 1e-9);
  const WsPoint inward = wsi_point (-run.y / length, run.x / length);
  wsi_drawing_label_beyond (drawing, WS_LABEL_NUMBER, line.colour, at, inward, mark->label);
}

void
wsi_draw_nominal (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_PURPLE, 1.2, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
}

/* The magnification is told once. */
void
wsi_draw_deviation (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_WHITE, 2.4, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
  g_autofree char *told = wsi_told_text (mark->label);
  if (told != NULL && !drawing->sheet->turn.is_turned)
    wsi_drawing_label_sheet (drawing, told);
}
