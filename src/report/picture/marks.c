#include "report/picture/marks.h"

#include "base/geometry.h"
#include "base/language.h"
#include "report/picture/labels.h"
#include "report/picture/mark_faults.h"
#include "report/picture/mark_lines.h"
#include "report/picture/mark_profile.h"
#include "report/picture/mark_regions.h"

/* From the ground up: what is listed later lies on top. */
static const struct
{
  WsMarkRole role;
  WsDrawMark draw;
} looks[] = {
  { WS_MARK_BURN, wsi_draw_burn },       { WS_MARK_LAND, wsi_draw_land },
  { WS_MARK_OUTLINE, wsi_draw_outline }, { WS_MARK_ENVELOPE, wsi_draw_envelope },
  { WS_MARK_AXIS, wsi_draw_axis },       { WS_MARK_EDGE_LINE, wsi_draw_edge_line },
  { WS_MARK_EDGE_USED, wsi_draw_used },  { WS_MARK_ANGLE, wsi_draw_angle },
  { WS_MARK_CORNER, wsi_draw_corner },   { WS_MARK_APEX, wsi_draw_apex },
  { WS_MARK_SEGMENT, wsi_draw_segment }, { WS_MARK_CHIP, wsi_draw_chip },
  { WS_MARK_BURN, wsi_draw_burn_label }, { WS_MARK_LAND, wsi_draw_land_label },
  { WS_MARK_NOMINAL, wsi_draw_nominal }, { WS_MARK_DEVIATION, wsi_draw_deviation },
  { WS_MARK_WORST, wsi_draw_worst },
};

/* The outline's middle, all its stretches together; the sheet's where there is none. */
static WsPoint
inside_of (const WsSheet *sheet, const WsResult *result)
{
  WsPoint sum = { 0.0, 0.0 };
  double n = 0.0;
  for (guint i = 0; i < result->marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (result->marks, i);
    for (guint j = 0; mark->role == WS_MARK_OUTLINE && j < mark->points->len; j++, n++)
      sum = wsi_point_add (sum, g_array_index (mark->points, WsPoint, j));
  }
  if (n > 0.0)
    return wsi_sheet_place (sheet, wsi_point (sum.x / n, sum.y / n));
  return wsi_point (sheet->x + 0.5 * sheet->width, sheet->y + 0.5 * sheet->height);
}

static void
clip_to_picture (const WsSheet *sheet)
{
  cairo_new_path (sheet->cr);
  cairo_rectangle (sheet->cr, sheet->x, sheet->y, sheet->width, sheet->height);
  cairo_clip (sheet->cr);
}

static void
draw_marks (const WsDrawing *drawing)
{
  const GPtrArray *marks = drawing->report->result->marks;
  for (gsize look = 0; look < G_N_ELEMENTS (looks); look++)
    for (guint i = 0; i < marks->len; i++)
    {
      const WsMark *mark = g_ptr_array_index (marks, i);
      if (mark->role == looks[look].role && mark->points->len > 0)
        looks[look].draw (drawing, mark);
    }
  wsi_draw_faults (drawing);
}

GArray *
wsi_marks_draw (const WsSheet *sheet, const WsReport *report, const WsScaleBar *bar)
{
  g_autoptr (GArray) symbols = g_array_new (FALSE, FALSE, sizeof (WsArea));
  GArray *labels = wsi_labels_new ();
  const WsDrawing drawing = { sheet, report, inside_of (sheet, report->result), labels, symbols };
  cairo_save (sheet->cr);
  clip_to_picture (sheet);
  draw_marks (&drawing);
  if (bar != NULL)
  {
    g_array_append_val (symbols, bar->box);
    wsi_scale_bar_draw (sheet, bar);
  }
  if (sheet->turn.is_turned)
    wsi_drawing_label_sheet (&drawing, _ ("turned upright"));
  wsi_drawing_write_labels (&drawing);
  cairo_restore (sheet->cr);
  return labels;
}
