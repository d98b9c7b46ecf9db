#include "report/picture/mark_regions.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/number.h"

/* Oxide films, told apart by hatching as well as by colour. */
typedef struct
{
  const char *label;
  WsColour colour;
  double angle_deg; /* of the lines */
  gboolean crossed;
  double pitch; /* units */
} Hatch;

static const Hatch hatches[] = {
  { "straw", { 0.902, 0.624, 0.0 }, 45.0, FALSE, 16.0 },
  { "brown", { 0.835, 0.369, 0.0 }, 45.0, TRUE, 16.0 },
  { "purple", { 0.8, 0.475, 0.655 }, 90.0, FALSE, 10.0 },
  { "blue", { 0.337, 0.706, 0.914 }, 0.0, FALSE, 10.0 },
  { "grey", { 1.0, 1.0, 1.0 }, 0.0, TRUE, 22.0 },
};

static const Hatch *
hatch_of (const WsMark *mark)
{
  for (gsize i = 0; i < G_N_ELEMENTS (hatches); i++)
    if (g_strcmp0 (mark->label, hatches[i].label) == 0)
      return &hatches[i];
  return &hatches[0];
}

static void
hatch_lines (const WsSheet *sheet, const Hatch *hatch, double angle_deg)
{
  cairo_t *cr = sheet->cr;
  double reach = sheet->width + sheet->height;
  double pitch = hatch->pitch * sheet->unit;
  cairo_save (cr);
  cairo_translate (cr, sheet->x + 0.5 * sheet->width, sheet->y + 0.5 * sheet->height);
  cairo_rotate (cr, -wsi_radians (angle_deg));
  cairo_new_path (cr);
  for (double at = -reach; at <= reach; at += pitch)
  {
    cairo_move_to (cr, -reach, at);
    cairo_line_to (cr, reach, at);
  }
  cairo_restore (cr);
}

/* Middle and width of the box about a region. */
static WsPoint
region_middle (const WsDrawing *drawing, const WsMark *mark, double *width)
{
  WsPoint low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < mark->points->len; i++)
  {
    WsPoint p = wsi_drawing_place (drawing, mark, i);
    low = wsi_point (fmin (low.x, p.x), fmin (low.y, p.y));
    high = wsi_point (fmax (high.x, p.x), fmax (high.y, p.y));
  }
  *width = high.x - low.x;
  return wsi_point (0.5 * (low.x + high.x), 0.5 * (low.y + high.y));
}

static double
region_size (const WsDrawing *drawing, const WsMark *mark)
{
  double area = 0.0;
  for (guint i = 0; i < mark->points->len; i++)
    area += wsi_point_cross (wsi_drawing_place (drawing, mark, i),
                             wsi_drawing_place (drawing, mark, (i + 1) % mark->points->len));
  return sqrt (0.5 * fabs (area)) / drawing->sheet->unit;
}

/* Hatched, so that the colour beneath stays visible. */
void
wsi_draw_burn (const WsDrawing *drawing, const WsMark *mark)
{
  const Hatch *hatch = hatch_of (mark);
  const WsSheet *sheet = drawing->sheet;
  const WsPen lines = { hatch->colour, 1.6, NULL, 0 }, border = { hatch->colour, 2.2, NULL, 0 };
  cairo_save (sheet->cr);
  wsi_drawing_path (drawing, mark);
  cairo_clip (sheet->cr);
  hatch_lines (sheet, hatch, hatch->angle_deg);
  if (hatch->crossed)
  {
    cairo_path_t *first = cairo_copy_path (sheet->cr);
    hatch_lines (sheet, hatch, hatch->angle_deg + 90.0);
    cairo_append_path (sheet->cr, first);
    cairo_path_destroy (first);
  }
  wsi_sheet_stroke (sheet, &lines);
  cairo_restore (sheet->cr);
  wsi_drawing_path (drawing, mark);
  cairo_close_path (sheet->cr);
  wsi_sheet_stroke (sheet, &border);
}

#define SMALLEST_LABELLED 40.0 /* units */

/* Beside the hatching, staggered by film: the regions lie close together. */
void
wsi_draw_burn_label (const WsDrawing *drawing, const WsMark *mark)
{
  const Hatch *hatch = hatch_of (mark);
  if (region_size (drawing, mark) < SMALLEST_LABELLED)
    return;
  WsTextStyle style = wsi_sheet_label_style (drawing->sheet, hatch->colour);
  double width;
  WsPoint at = region_middle (drawing, mark, &width);
  double aside = ((double)(hatch - hatches) - 2.0) * 80.0 * drawing->sheet->unit;
  at.x += CLAMP (aside, -0.4 * width, 0.4 * width);
  wsi_canvas_text (drawing->sheet->cr, &style, at.x, at.y, hatch->label);
}

/* The land as a band in its true width, with VB beside it. */
void
wsi_draw_land (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen border = { WS_GREEN, 2.4, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  wsi_drawing_path (drawing, mark);
  cairo_close_path (sheet->cr);
  cairo_set_source_rgba (sheet->cr, WS_GREEN.r, WS_GREEN.g, WS_GREEN.b, 0.35);
  cairo_fill_preserve (sheet->cr);
  wsi_sheet_stroke (sheet, &border);
}

/* Once, at the longest stretch of land. */
static gboolean
is_longest_land (const WsDrawing *drawing, const WsMark *mark)
{
  const GPtrArray *marks = drawing->report->result->marks;
  for (guint i = 0; i < marks->len; i++)
  {
    const WsMark *other = g_ptr_array_index (marks, i);
    if (other->role == WS_MARK_LAND && other->points->len > mark->points->len)
      return FALSE;
  }
  return TRUE;
}

void
wsi_draw_land_label (const WsDrawing *drawing, const WsMark *mark)
{
  const WsQuantity *quantity = wsi_drawing_quantity (drawing->report->result, mark->label);
  if (quantity == NULL || !is_longest_land (drawing, mark))
    return;
  g_autofree char *value = wsi_number_format (quantity->value, wsi_number_places (quantity->U));
  g_autofree char *text = g_strdup_printf ("VB %s %s", value, strrchr (quantity->name, '_') + 1);
  WsPoint first = wsi_drawing_place (drawing, mark, 0);
  WsPoint last = wsi_drawing_place (drawing, mark, mark->points->len / 2 - 1);
  WsPoint across = wsi_drawing_place (drawing, mark, mark->points->len - 1);
  WsPoint middle = wsi_point_along (first, 0.5, wsi_point_sub (last, first));
  WsPoint away = wsi_point_sub (wsi_drawing_towards (first, across, 1.0), first);
  double out = -30.0 * drawing->sheet->unit;
  WsTextStyle style = wsi_sheet_label_style (drawing->sheet, WS_WHITE);
  WsPoint at = wsi_point_along (middle, out, away);
  wsi_canvas_text (drawing->sheet->cr, &style, at.x, at.y, text);
}
