#include "report/picture/mark_lines.h"

#include <math.h>

#include "base/geometry.h"
#include "report/picture/labels.h"
#include "report/picture/mark_faults.h"
#include "report/words.h"

static gboolean
is_lip_b (const WsMark *mark)
{
  return g_strcmp0 (mark->label, "b") == 0;
}

static WsColour
lip_colour (const WsMark *mark)
{
  return is_lip_b (mark) ? WS_YELLOW : WS_SKY_BLUE;
}

static void
path_between (const WsSheet *sheet, WsPoint a, WsPoint b)
{
  cairo_new_path (sheet->cr);
  cairo_move_to (sheet->cr, a.x, a.y);
  cairo_line_to (sheet->cr, b.x, b.y);
}

void
wsi_draw_outline (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_WHITE, 1.6, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
}

void
wsi_draw_used (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { lip_colour (mark), 8.0, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
}

void
wsi_draw_axis (const WsDrawing *drawing, const WsMark *mark)
{
  static const double chain[] = { 26.0, 6.0, 5.0, 6.0 };
  const WsPen line = { WS_PURPLE, 2.2, chain, 4 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
}

void
wsi_draw_envelope (const WsDrawing *drawing, const WsMark *mark)
{
  static const double dashes[] = { 12.0, 8.0 };
  const WsPen line = { WS_PURPLE, 2.2, dashes, 2 };
  wsi_drawing_path (drawing, mark);
  wsi_sheet_stroke (drawing->sheet, &line);
}

/* The square to a-b that leads out of the tool, length 1. */
static WsPoint
outward (const WsDrawing *drawing, WsPoint a, WsPoint b)
{
  WsPoint along = wsi_point_sub (b, a);
  double length = fmax (wsi_point_length (along), 1e-9);
  WsPoint square = wsi_point (-along.y / length, along.x / length);
  gboolean inward = wsi_point_dot (square, wsi_point_sub (drawing->inside, a)) > 0.0;
  return inward ? wsi_point (-square.x, -square.y) : square;
}

/* The fitted line, run on a little at both ends, with the lip's letter outside. */
void
wsi_draw_edge_line (const WsDrawing *drawing, const WsMark *mark)
{
  static const double dashes[] = { 7.0, 6.0 };
  const WsPen line = { lip_colour (mark), 2.0, dashes, 2 };
  const WsSheet *sheet = drawing->sheet;
  if (mark->points->len < 2)
    return;
  WsPoint a = wsi_drawing_place (drawing, mark, 0);
  WsPoint b = wsi_drawing_place (drawing, mark, 1);
  double beyond = 0.08 * wsi_point_distance (a, b);
  path_between (sheet, wsi_drawing_towards (a, b, -beyond), wsi_drawing_towards (b, a, -beyond));
  wsi_sheet_stroke (sheet, &line);
  if (mark->label == NULL)
    return;
  /* Near the corner: chips, which have labels of their own, are mostly farther in. */
  WsPoint near_corner = wsi_point_along (a, 0.2, wsi_point_sub (b, a));
  const WsLabel letter = { .text = g_strdup (mark->label),
                           .colour = line.colour,
                           .on_disc = TRUE,
                           .rank = WS_LABEL_EDGE,
                           .from = near_corner,
                           .away = outward (drawing, a, b),
                           .gap = 25.0 };
  wsi_drawing_add_label (drawing, &letter);
}

/* Points. */

void
wsi_draw_apex (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_WHITE, 2.2, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  double r = 9.0 * sheet->unit;
  WsPoint at = wsi_drawing_place (drawing, mark, 0);
  cairo_new_path (sheet->cr);
  cairo_arc (sheet->cr, at.x, at.y, r, 0.0, 2.0 * G_PI);
  for (int side = -1; side <= 1; side += 2)
  {
    cairo_move_to (sheet->cr, at.x + side * r, at.y);
    cairo_line_to (sheet->cr, at.x + 2.0 * side * r, at.y);
    cairo_move_to (sheet->cr, at.x, at.y + side * r);
    cairo_line_to (sheet->cr, at.x, at.y + 2.0 * side * r);
  }
  wsi_sheet_stroke (sheet, &line);
  wsi_drawing_keep_clear (drawing, at, 2.0 * r);
}

void
wsi_draw_corner (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_WHITE, 2.2, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  double r = 8.0 * sheet->unit;
  WsPoint at = wsi_drawing_place (drawing, mark, 0);
  cairo_new_path (sheet->cr);
  cairo_rectangle (sheet->cr, at.x - r, at.y - r, 2.0 * r, 2.0 * r);
  wsi_sheet_stroke (sheet, &line);
  wsi_drawing_keep_clear (drawing, at, r);
}

/* Angles. */

typedef struct
{
  WsPoint vertex;
  double from, sweep; /* radians, sweep in (-pi, pi] */
  double radius;
} Arc;

/* Half angles lie outside the angle they are halves of. */
static Arc
arc_of (const WsDrawing *drawing, const WsMark *mark)
{
  WsPoint vertex = wsi_drawing_place (drawing, mark, 1);
  WsPoint p = wsi_point_sub (wsi_drawing_place (drawing, mark, 0), vertex);
  WsPoint q = wsi_point_sub (wsi_drawing_place (drawing, mark, 2), vertex);
  gboolean half = mark->label != NULL && g_str_has_prefix (mark->label, "half_");
  double arm = fmin (wsi_point_length (p), wsi_point_length (q));
  return (Arc){ .vertex = vertex,
                .from = atan2 (p.y, p.x),
                .sweep = atan2 (wsi_point_cross (p, q), wsi_point_dot (p, q)),
                .radius = arm * (half ? 0.74 : 0.24) };
}

static WsPoint
on_arc (const Arc *arc, double part, double radius)
{
  double angle = arc->from + part * arc->sweep;
  return wsi_point_along (arc->vertex, radius, wsi_point (cos (angle), sin (angle)));
}

/* Angles at a profile's corners are many: they have the number they have in the table, and their
 * value only where it is judged amiss. */
static char *
angle_words (const WsQuantity *quantity)
{
  g_autofree char *value = wsi_drawing_value_words (quantity);
  const gboolean is_amiss = wsi_drawing_is_amiss (quantity);
  if (quantity->number > 0)
    return is_amiss ? g_strdup_printf ("C%u: %s", quantity->number, value)
                    : g_strdup_printf ("C%u", quantity->number);
  g_autofree char *label = wsi_words_label (quantity);
  return is_amiss ? g_strdup_printf ("%s %s", label, value) : g_steal_pointer (&value);
}

/* Half angles are judged by their sum and their difference: where one of these is amiss, the halves
 * show it. */
static WsColour
angle_colour (const WsResult *result, const WsQuantity *quantity)
{
  static const char *const judges[] = { "point_angle", "half_angle_difference" };
  WsColour colour = wsi_label_colour (quantity);
  WsVerdict worst = WS_VERDICT_NONE;
  if (!g_str_has_prefix (quantity->info->stem, "half_angle_") || wsi_drawing_is_amiss (quantity))
    return colour;
  for (gsize i = 0; i < G_N_ELEMENTS (judges); i++)
  {
    const WsQuantity *judge = wsi_drawing_quantity (result, judges[i]);
    if (judge == NULL || !wsi_drawing_is_amiss (judge) || worst == WS_VERDICT_REJECT)
      continue;
    worst = judge->verdict;
    colour = wsi_label_colour (judge);
  }
  return colour;
}

static void
label_arc (const WsDrawing *drawing, const Arc *arc, const WsQuantity *quantity)
{
  g_autofree char *text = angle_words (quantity);
  WsPoint middle = on_arc (arc, 0.5, arc->radius);
  WsPoint away = wsi_point_sub (on_arc (arc, 0.5, 1.0), arc->vertex);
  wsi_drawing_label_beyond (drawing, WS_LABEL_VALUE,
                            angle_colour (drawing->report->result, quantity), middle, away, text);
}

void
wsi_draw_angle (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_WHITE, 2.0, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  if (mark->points->len < 3)
    return;
  Arc arc = arc_of (drawing, mark);
  cairo_new_path (sheet->cr);
  if (arc.sweep > 0.0)
    cairo_arc (sheet->cr, arc.vertex.x, arc.vertex.y, arc.radius, arc.from, arc.from + arc.sweep);
  else
    cairo_arc_negative (sheet->cr, arc.vertex.x, arc.vertex.y, arc.radius, arc.from,
                        arc.from + arc.sweep);
  wsi_sheet_stroke (sheet, &line);
  const WsQuantity *quantity = wsi_drawing_quantity (drawing->report->result, mark->label);
  if (quantity != NULL && !wsi_drawing_is_ringed (quantity))
    label_arc (drawing, &arc, quantity);
}
