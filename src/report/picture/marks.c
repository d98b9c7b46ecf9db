#include "report/picture/marks.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/number.h"
#include "report/canvas.h"

/* Lines have a casing: what is drawn must show on the black tool and on the white light. */
#define CASING_WIDTH 1.4

typedef struct
{
  const WsSheet *sheet;
  const WsReport *report;
  WsPoint inside; /* a place within the tool, on the sheet */
} Drawing;

typedef void (*DrawMark) (const Drawing *drawing, const WsMark *mark);

typedef struct
{
  WsColour colour;
  double width; /* units */
  const double *dashes;
  int n_dashes;
} Line;

static WsPoint
on_sheet (const WsSheet *sheet, WsPoint point)
{
  return ws_point (sheet->x + (point.x + 0.5) * sheet->factor,
                   sheet->y + (point.y + 0.5) * sheet->factor);
}

static WsPoint
mark_point (const Drawing *drawing, const WsMark *mark, guint i)
{
  return on_sheet (drawing->sheet, g_array_index (mark->points, WsPoint, i));
}

static WsPoint
towards (WsPoint from, WsPoint to, double distance)
{
  double length = ws_point_distance (from, to);
  return length > 0.0 ? ws_point_along (from, distance / length, ws_point_sub (to, from)) : from;
}

static gboolean
is_lip_b (const WsMark *mark)
{
  return g_strcmp0 (mark->label, "b") == 0;
}

static WsColour
lip_colour (const WsMark *mark)
{
  return is_lip_b (mark) ? WS_ORANGE : WS_SKY_BLUE;
}

/* Lines. */

static void
set_dashes (const WsSheet *sheet, const Line *line)
{
  double scaled[8];
  int n = MIN (line->n_dashes, (int)G_N_ELEMENTS (scaled));
  for (int i = 0; i < n; i++)
    scaled[i] = line->dashes[i] * sheet->unit;
  cairo_set_dash (sheet->cr, scaled, n, 0.0);
}

/* Strokes the current path, casing first. */
static void
stroke (const WsSheet *sheet, const Line *line)
{
  cairo_t *cr = sheet->cr;
  cairo_save (cr);
  cairo_set_line_join (cr, CAIRO_LINE_JOIN_ROUND);
  set_dashes (sheet, line);
  cairo_set_source_rgba (cr, 0.0, 0.0, 0.0, 0.75);
  cairo_set_line_width (cr, (line->width + CASING_WIDTH) * sheet->unit);
  cairo_stroke_preserve (cr);
  ws_canvas_colour (cr, line->colour);
  cairo_set_line_width (cr, line->width * sheet->unit);
  cairo_stroke (cr);
  cairo_restore (cr);
}

static void
path_through (const Drawing *drawing, const WsMark *mark)
{
  cairo_new_path (drawing->sheet->cr);
  for (guint i = 0; i < mark->points->len; i++)
  {
    WsPoint point = mark_point (drawing, mark, i);
    cairo_line_to (drawing->sheet->cr, point.x, point.y);
  }
}

static void
path_between (const WsSheet *sheet, WsPoint a, WsPoint b)
{
  cairo_new_path (sheet->cr);
  cairo_move_to (sheet->cr, a.x, a.y);
  cairo_line_to (sheet->cr, b.x, b.y);
}

static void
draw_outline (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_GREEN, 1.6, NULL, 0 };
  path_through (drawing, mark);
  stroke (drawing->sheet, &line);
}

static void
draw_used (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { lip_colour (mark), 8.0, NULL, 0 };
  path_through (drawing, mark);
  stroke (drawing->sheet, &line);
}

static void
draw_axis (const Drawing *drawing, const WsMark *mark)
{
  static const double chain[] = { 26.0, 6.0, 5.0, 6.0 };
  const Line line = { WS_PURPLE, 2.2, chain, 4 };
  path_through (drawing, mark);
  stroke (drawing->sheet, &line);
}

static void
draw_envelope (const Drawing *drawing, const WsMark *mark)
{
  static const double dashes[] = { 12.0, 8.0 };
  const Line line = { WS_PURPLE, 2.2, dashes, 2 };
  path_through (drawing, mark);
  stroke (drawing->sheet, &line);
}

static void
label_on_disc (const Drawing *drawing, WsPoint at, WsColour colour, const char *label)
{
  const WsSheet *sheet = drawing->sheet;
  double r = 23.0 * sheet->unit;
  at.x = CLAMP (at.x, sheet->x + r, sheet->x + sheet->width - r);
  at.y = CLAMP (at.y, sheet->y + r, sheet->y + sheet->height - r);
  cairo_new_path (sheet->cr);
  cairo_arc (sheet->cr, at.x, at.y, r, 0.0, 2.0 * G_PI);
  ws_canvas_colour (sheet->cr, colour);
  cairo_fill_preserve (sheet->cr);
  ws_canvas_colour (sheet->cr, WS_INK);
  cairo_set_line_width (sheet->cr, 2.0 * sheet->unit);
  cairo_stroke (sheet->cr);

  const WsTextStyle style = { .size = 32.0 * sheet->unit,
                              .bold = TRUE,
                              .colour = WS_BLACK,
                              .across = WS_MIDDLE,
                              .down = WS_MIDDLE };
  ws_canvas_text (sheet->cr, &style, at.x, at.y - 2.0 * sheet->unit, label);
}

/* The square to a-b that leads out of the tool, length 1. */
static WsPoint
outward (const Drawing *drawing, WsPoint a, WsPoint b)
{
  WsPoint along = ws_point_sub (b, a);
  double length = fmax (ws_point_length (along), 1e-9);
  WsPoint square = ws_point (-along.y / length, along.x / length);
  gboolean inward = ws_point_dot (square, ws_point_sub (drawing->inside, a)) > 0.0;
  return inward ? ws_point (-square.x, -square.y) : square;
}

/* The fitted line, run on a little at both ends, with the lip's letter outside. */
static void
draw_edge_line (const Drawing *drawing, const WsMark *mark)
{
  static const double dashes[] = { 7.0, 6.0 };
  const Line line = { lip_colour (mark), 2.0, dashes, 2 };
  const WsSheet *sheet = drawing->sheet;
  if (mark->points->len < 2)
    return;
  WsPoint a = mark_point (drawing, mark, 0);
  WsPoint b = mark_point (drawing, mark, 1);
  double beyond = 0.08 * ws_point_distance (a, b);
  path_between (sheet, towards (a, b, -beyond), towards (b, a, -beyond));
  stroke (sheet, &line);
  if (mark->label == NULL)
    return;
  /* Near the corner: chips, which have labels of their own, are mostly farther in. */
  WsPoint near_corner = ws_point_along (a, 0.2, ws_point_sub (b, a));
  label_on_disc (drawing, ws_point_along (near_corner, 48.0 * sheet->unit, outward (drawing, a, b)),
                 line.colour, mark->label);
}

/* Points. */

static void
draw_apex (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_WHITE, 2.2, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  double r = 9.0 * sheet->unit;
  WsPoint at = mark_point (drawing, mark, 0);
  cairo_new_path (sheet->cr);
  cairo_arc (sheet->cr, at.x, at.y, r, 0.0, 2.0 * G_PI);
  for (int side = -1; side <= 1; side += 2)
  {
    cairo_move_to (sheet->cr, at.x + side * r, at.y);
    cairo_line_to (sheet->cr, at.x + 2.0 * side * r, at.y);
    cairo_move_to (sheet->cr, at.x, at.y + side * r);
    cairo_line_to (sheet->cr, at.x, at.y + 2.0 * side * r);
  }
  stroke (sheet, &line);
}

static void
draw_corner (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_WHITE, 2.2, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  double r = 8.0 * sheet->unit;
  WsPoint at = mark_point (drawing, mark, 0);
  cairo_new_path (sheet->cr);
  cairo_rectangle (sheet->cr, at.x - r, at.y - r, 2.0 * r, 2.0 * r);
  stroke (sheet, &line);
}

static WsTextStyle
label_style (const WsSheet *sheet, WsColour colour)
{
  return (WsTextStyle){ .size = 24.0 * sheet->unit,
                        .bold = TRUE,
                        .colour = colour,
                        .across = WS_MIDDLE,
                        .down = WS_MIDDLE,
                        .halo = 3.0 * sheet->unit,
                        .halo_colour = WS_INK };
}

static const WsQuantity *
quantity_named (const WsResult *result, const char *name)
{
  for (guint i = 0; name != NULL && i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (g_str_equal (quantity->name, name) || g_str_equal (quantity->info->stem, name))
      return quantity->known ? quantity : NULL;
  }
  return NULL;
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
arc_of (const Drawing *drawing, const WsMark *mark)
{
  WsPoint vertex = mark_point (drawing, mark, 1);
  WsPoint p = ws_point_sub (mark_point (drawing, mark, 0), vertex);
  WsPoint q = ws_point_sub (mark_point (drawing, mark, 2), vertex);
  gboolean half = mark->label != NULL && g_str_has_prefix (mark->label, "half_");
  double arm = fmin (ws_point_length (p), ws_point_length (q));
  return (Arc){ .vertex = vertex,
                .from = atan2 (p.y, p.x),
                .sweep = atan2 (ws_point_cross (p, q), ws_point_dot (p, q)),
                .radius = arm * (half ? 0.74 : 0.24) };
}

static WsPoint
on_arc (const Arc *arc, double part, double radius)
{
  double angle = arc->from + part * arc->sweep;
  return ws_point_along (arc->vertex, radius, ws_point (cos (angle), sin (angle)));
}

/* Writes `text` beyond `from` in the direction of the unit vector `away`, clear of it. */
static void
label_beyond (const Drawing *drawing, WsPoint from, WsPoint away, const char *text)
{
  cairo_t *cr = drawing->sheet->cr;
  WsTextStyle style = label_style (drawing->sheet, WS_WHITE);
  double width, height;
  ws_canvas_measure (cr, &style, text, &width, &height);
  double gap = 6.0 * drawing->sheet->unit + 0.5 * (fabs (away.x) * width + fabs (away.y) * height);
  WsPoint at = ws_point_along (from, gap, away);
  ws_canvas_text (cr, &style, at.x, at.y, text);
}

static void
label_arc (const Drawing *drawing, const Arc *arc, const WsQuantity *quantity)
{
  g_autofree char *value =
    ws_number_format (quantity->value, MIN (ws_number_places (quantity->U), 3));
  g_autofree char *text = g_strconcat (value, "°", NULL);
  WsPoint middle = on_arc (arc, 0.5, arc->radius);
  WsPoint away = ws_point_sub (on_arc (arc, 0.5, 1.0), arc->vertex);
  label_beyond (drawing, middle, away, text);
}

static void
draw_angle (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_WHITE, 2.0, NULL, 0 };
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
  stroke (sheet, &line);
  const WsQuantity *quantity = quantity_named (drawing->report->result, mark->label);
  if (quantity != NULL)
    label_arc (drawing, &arc, quantity);
}

/* A ring about the notch; its depth is in the table. */
static void
draw_chip (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_VERMILION, 3.5, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  if (mark->points->len < 2)
    return;
  WsPoint top = mark_point (drawing, mark, 0);
  WsPoint bottom = mark_point (drawing, mark, 1);
  double r = fmax (18.0 * sheet->unit, 1.2 * ws_point_distance (top, bottom));
  cairo_new_path (sheet->cr);
  cairo_arc (sheet->cr, bottom.x, bottom.y, r, 0.0, 2.0 * G_PI);
  stroke (sheet, &line);

  WsPoint away = ws_point_sub (towards (bottom, top, 1.0), bottom);
  label_beyond (drawing, ws_point_along (bottom, r, away), away, "chip");
}

/* Neighbours in turns of two colours, the number on the middle. */
static void
draw_segment (const Drawing *drawing, const WsMark *mark)
{
  const gboolean even = mark->label != NULL && g_ascii_strtoull (mark->label, NULL, 10) % 2 == 0;
  const Line line = { even ? WS_ORANGE : WS_SKY_BLUE, 4.0, NULL, 0 };
  path_through (drawing, mark);
  stroke (drawing->sheet, &line);
  if (mark->label == NULL || mark->points->len < 2)
    return;
  const WsTextStyle style = label_style (drawing->sheet, line.colour);
  const guint middle = mark->points->len / 2;
  const WsPoint at = mark_point (drawing, mark, middle);
  const WsPoint run = ws_point_sub (at, mark_point (drawing, mark, middle - 1));
  /* The tool is on the right-hand side of its outline: numbers stand in the tool. */
  const double length = fmax (ws_point_length (run), 1e-9), away = 22.0 * drawing->sheet->unit;
  ws_canvas_text (drawing->sheet->cr, &style, at.x - run.y / length * away,
                  at.y + run.x / length * away, mark->label);
}

/* Regions. */

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
  cairo_rotate (cr, -ws_radians (angle_deg));
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
region_middle (const Drawing *drawing, const WsMark *mark, double *width)
{
  WsPoint low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < mark->points->len; i++)
  {
    WsPoint p = mark_point (drawing, mark, i);
    low = ws_point (fmin (low.x, p.x), fmin (low.y, p.y));
    high = ws_point (fmax (high.x, p.x), fmax (high.y, p.y));
  }
  *width = high.x - low.x;
  return ws_point (0.5 * (low.x + high.x), 0.5 * (low.y + high.y));
}

static double
region_size (const Drawing *drawing, const WsMark *mark)
{
  double area = 0.0;
  for (guint i = 0; i < mark->points->len; i++)
    area += ws_point_cross (mark_point (drawing, mark, i),
                            mark_point (drawing, mark, (i + 1) % mark->points->len));
  return sqrt (0.5 * fabs (area)) / drawing->sheet->unit;
}

/* Hatched, so that the colour beneath stays visible. */
static void
draw_burn (const Drawing *drawing, const WsMark *mark)
{
  const Hatch *hatch = hatch_of (mark);
  const WsSheet *sheet = drawing->sheet;
  const Line lines = { hatch->colour, 1.6, NULL, 0 }, border = { hatch->colour, 2.2, NULL, 0 };
  cairo_save (sheet->cr);
  path_through (drawing, mark);
  cairo_clip (sheet->cr);
  hatch_lines (sheet, hatch, hatch->angle_deg);
  if (hatch->crossed)
  {
    cairo_path_t *first = cairo_copy_path (sheet->cr);
    hatch_lines (sheet, hatch, hatch->angle_deg + 90.0);
    cairo_append_path (sheet->cr, first);
    cairo_path_destroy (first);
  }
  stroke (sheet, &lines);
  cairo_restore (sheet->cr);
  path_through (drawing, mark);
  cairo_close_path (sheet->cr);
  stroke (sheet, &border);
}

#define SMALLEST_LABELLED 40.0 /* units */

/* Beside the hatching, staggered by film: the regions lie close together. */
static void
draw_burn_label (const Drawing *drawing, const WsMark *mark)
{
  const Hatch *hatch = hatch_of (mark);
  if (region_size (drawing, mark) < SMALLEST_LABELLED)
    return;
  WsTextStyle style = label_style (drawing->sheet, hatch->colour);
  double width;
  WsPoint at = region_middle (drawing, mark, &width);
  double aside = ((double)(hatch - hatches) - 2.0) * 80.0 * drawing->sheet->unit;
  at.x += CLAMP (aside, -0.4 * width, 0.4 * width);
  ws_canvas_text (drawing->sheet->cr, &style, at.x, at.y, hatch->label);
}

/* The land as a band in its true width, with VB beside it. */
static void
draw_land (const Drawing *drawing, const WsMark *mark)
{
  const Line border = { WS_GREEN, 2.4, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  path_through (drawing, mark);
  cairo_close_path (sheet->cr);
  cairo_set_source_rgba (sheet->cr, WS_GREEN.r, WS_GREEN.g, WS_GREEN.b, 0.35);
  cairo_fill_preserve (sheet->cr);
  stroke (sheet, &border);
}

/* Once, at the longest stretch of land. */
static gboolean
is_longest_land (const Drawing *drawing, const WsMark *mark)
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

static void
draw_land_label (const Drawing *drawing, const WsMark *mark)
{
  const WsQuantity *quantity = quantity_named (drawing->report->result, mark->label);
  if (quantity == NULL || !is_longest_land (drawing, mark))
    return;
  g_autofree char *value = ws_number_format (quantity->value, ws_number_places (quantity->U));
  g_autofree char *text = g_strdup_printf ("VB %s %s", value, strrchr (quantity->name, '_') + 1);
  WsPoint first = mark_point (drawing, mark, 0);
  WsPoint last = mark_point (drawing, mark, mark->points->len / 2 - 1);
  WsPoint across = mark_point (drawing, mark, mark->points->len - 1);
  WsPoint middle = ws_point_along (first, 0.5, ws_point_sub (last, first));
  WsPoint away = ws_point_sub (towards (first, across, 1.0), first);
  double out = -30.0 * drawing->sheet->unit;
  WsTextStyle style = label_style (drawing->sheet, WS_WHITE);
  WsPoint at = ws_point_along (middle, out, away);
  ws_canvas_text (drawing->sheet->cr, &style, at.x, at.y, text);
}

static void
draw_nominal (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_WHITE, 1.2, NULL, 0 };
  path_through (drawing, mark);
  stroke (drawing->sheet, &line);
}

/* The magnification stands in the picture's upper left corner, clear of the profile. */
static void
draw_deviation (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_VERMILION, 2.4, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  path_through (drawing, mark);
  stroke (sheet, &line);
  if (mark->label == NULL)
    return;
  WsTextStyle style = label_style (sheet, WS_VERMILION);
  style.across = WS_START;
  style.down = WS_START;
  ws_canvas_text (sheet->cr, &style, sheet->x + 16.0 * sheet->unit, sheet->y + 12.0 * sheet->unit,
                  mark->label);
}

/* A ring, and the deviation beside it. */
static void
draw_worst (const Drawing *drawing, const WsMark *mark)
{
  const Line line = { WS_VERMILION, 3.0, NULL, 0 };
  const WsSheet *sheet = drawing->sheet;
  const double r = 13.0 * sheet->unit;
  const WsPoint at = mark_point (drawing, mark, 0);
  cairo_new_path (sheet->cr);
  cairo_arc (sheet->cr, at.x, at.y, r, 0.0, 2.0 * G_PI);
  stroke (sheet, &line);
  const WsQuantity *quantity = quantity_named (drawing->report->result, mark->label);
  if (quantity == NULL)
    return;
  g_autofree char *value =
    ws_number_format (quantity->value, MIN (ws_number_places (quantity->U), 4));
  const WsPoint away = ws_point_sub (at, drawing->inside);
  const double length = fmax (ws_point_length (away), 1e-9);
  label_beyond (drawing, ws_point_along (at, r / length, away),
                ws_point (away.x / length, away.y / length), value);
}

/* From the ground up: what is listed later lies on top. */
static const struct
{
  WsMarkRole role;
  DrawMark draw;
} looks[] = {
  { WS_MARK_BURN, draw_burn },       { WS_MARK_LAND, draw_land },
  { WS_MARK_OUTLINE, draw_outline }, { WS_MARK_ENVELOPE, draw_envelope },
  { WS_MARK_AXIS, draw_axis },       { WS_MARK_EDGE_LINE, draw_edge_line },
  { WS_MARK_EDGE_USED, draw_used },  { WS_MARK_ANGLE, draw_angle },
  { WS_MARK_CORNER, draw_corner },   { WS_MARK_APEX, draw_apex },
  { WS_MARK_SEGMENT, draw_segment }, { WS_MARK_CHIP, draw_chip },
  { WS_MARK_BURN, draw_burn_label }, { WS_MARK_LAND, draw_land_label },
  { WS_MARK_NOMINAL, draw_nominal }, { WS_MARK_DEVIATION, draw_deviation },
  { WS_MARK_WORST, draw_worst },
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
      sum = ws_point_add (sum, g_array_index (mark->points, WsPoint, j));
  }
  if (n > 0.0)
    return on_sheet (sheet, ws_point (sum.x / n, sum.y / n));
  return ws_point (sheet->x + 0.5 * sheet->width, sheet->y + 0.5 * sheet->height);
}

static void
clip_to_picture (const WsSheet *sheet)
{
  cairo_new_path (sheet->cr);
  cairo_rectangle (sheet->cr, sheet->x, sheet->y, sheet->width, sheet->height);
  cairo_clip (sheet->cr);
}

void
ws_marks_draw (const WsSheet *sheet, const WsReport *report)
{
  const GPtrArray *marks = report->result->marks;
  Drawing drawing = { sheet, report, inside_of (sheet, report->result) };
  cairo_save (sheet->cr);
  clip_to_picture (sheet);
  for (gsize look = 0; look < G_N_ELEMENTS (looks); look++)
    for (guint i = 0; i < marks->len; i++)
    {
      const WsMark *mark = g_ptr_array_index (marks, i);
      if (mark->role == looks[look].role && mark->points->len > 0)
        looks[look].draw (&drawing, mark);
    }
  cairo_restore (sheet->cr);
}

void
ws_marks_draw_scale (const WsSheet *sheet, const WsOptics *optics)
{
  cairo_t *cr = sheet->cr;
  double mm_per_px = optics->mm_per_px / sheet->factor;
  double length = ws_number_round_down (0.2 * sheet->width * mm_per_px);
  double px = length / mm_per_px;
  double u = sheet->unit;
  double right = sheet->x + sheet->width - 28.0 * u;
  double bottom = sheet->y + sheet->height - 26.0 * u;
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *label =
    g_strconcat (g_ascii_formatd (buffer, sizeof buffer, "%.4g", length), " mm", NULL);

  cairo_new_path (cr);
  cairo_rectangle (cr, right - px - 14.0 * u, bottom - 44.0 * u, px + 28.0 * u, 58.0 * u);
  cairo_set_source_rgba (cr, 1.0, 1.0, 1.0, 0.88);
  cairo_fill (cr);
  ws_canvas_colour (cr, WS_INK);
  cairo_rectangle (cr, right - px, bottom - 8.0 * u, px, 8.0 * u);
  cairo_fill (cr);
  const WsTextStyle style = {
    .size = 24.0 * u, .bold = TRUE, .colour = WS_INK, .across = WS_MIDDLE, .down = WS_END
  };
  ws_canvas_text (cr, &style, right - 0.5 * px, bottom - 10.0 * u, label);
}
