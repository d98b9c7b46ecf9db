#include "report/picture/labels.h"

#include <math.h>

#include "base/geometry.h"

/* Units. */
#define LETTERS 24.0
#define HALO 3.0
#define GAP 6.0
#define DISC 23.0
#define DISC_LETTERS 32.0
#define TAG_ASIDE 8.0 /* from a tag's border to its letters */

/* ---- Asking for labels ----------------------------------------------------------------- */

static void
clear_label (gpointer label)
{
  g_free (((WsLabel *)label)->text);
}

GArray *
wsi_labels_new (void)
{
  GArray *labels = g_array_new (FALSE, FALSE, sizeof (WsLabel));
  g_array_set_clear_func (labels, clear_label);
  return labels;
}

void
wsi_drawing_add_label (const WsDrawing *drawing, const WsLabel *label)
{
  g_array_append_val (drawing->labels, *label);
}

void
wsi_drawing_label_beyond (const WsDrawing *drawing, WsLabelRank rank, WsColour colour, WsPoint from,
                          WsPoint away, const char *text)
{
  const WsLabel label = {
    .text = g_strdup (text), .colour = colour, .rank = rank, .from = from, .away = away, .gap = GAP
  };
  wsi_drawing_add_label (drawing, &label);
}

void
wsi_drawing_label_sheet (const WsDrawing *drawing, const char *text)
{
  const WsLabel label = { .text = g_strdup (text),
                          .colour = WS_WHITE,
                          .rank = WS_LABEL_EDGE,
                          .from = wsi_point (drawing->sheet->x, drawing->sheet->y),
                          .away = wsi_point (M_SQRT1_2, M_SQRT1_2),
                          .gap = 16.0,
                          .is_loose = TRUE };
  wsi_drawing_add_label (drawing, &label);
}

WsColour
wsi_label_colour (const WsQuantity *quantity)
{
  return wsi_drawing_is_amiss (quantity) ? wsi_canvas_verdict_colour (quantity->verdict) : WS_WHITE;
}

/* ---- What they keep clear of ----------------------------------------------------------- */

/* Half a line's width with its casing, units; roles that aren't listed are symbols. */
static const struct
{
  WsMarkRole role;
  double reach;
  gboolean is_area, may_give;
} kept_clear[] = {
  { WS_MARK_OUTLINE, 1.5, FALSE, FALSE },   { WS_MARK_EDGE_LINE, 1.7, FALSE, FALSE },
  { WS_MARK_EDGE_USED, 4.7, FALSE, FALSE }, { WS_MARK_SEGMENT, 2.7, FALSE, FALSE },
  { WS_MARK_NOMINAL, 1.3, FALSE, FALSE },   { WS_MARK_DEVIATION, 1.9, FALSE, FALSE },
  { WS_MARK_BURN, 1.8, TRUE, FALSE },       { WS_MARK_LAND, 1.9, TRUE, FALSE },
  { WS_MARK_AXIS, 1.8, FALSE, TRUE },       { WS_MARK_ENVELOPE, 1.8, FALSE, TRUE },
};

GArray *
wsi_sheet_lines (const WsSheet *sheet, const WsReport *report)
{
  const GPtrArray *marks = report->result->marks;
  GArray *lines = g_array_new (FALSE, FALSE, sizeof (WsKeepClear));
  for (guint i = 0; i < marks->len; i++)
  {
    const WsMark *mark = g_ptr_array_index (marks, i);
    for (gsize k = 0; k < G_N_ELEMENTS (kept_clear); k++)
    {
      if (mark->role != kept_clear[k].role || mark->points->len == 0)
        continue;
      WsPoint *points = g_new (WsPoint, mark->points->len);
      for (guint j = 0; j < mark->points->len; j++)
        points[j] = wsi_sheet_place (sheet, g_array_index (mark->points, WsPoint, j));
      const WsKeepClear line = { points, mark->points->len, kept_clear[k].reach * sheet->unit,
                                 kept_clear[k].is_area, kept_clear[k].may_give };
      g_array_append_val (lines, line);
    }
  }
  return lines;
}

void
wsi_sheet_lines_free (GArray *lines)
{
  for (guint i = 0; i < lines->len; i++)
    g_free ((gpointer)g_array_index (lines, WsKeepClear, i).points);
  g_array_unref (lines);
}

/* ---- Writing --------------------------------------------------------------------------- */

/* What is amiss stands on a tag in the verdict's colour: letters of that colour are hard to read on
 * the tool and on the light behind it. */
static WsVerdict
tag_of (const WsLabel *label)
{
  static const WsVerdict tags[] = { WS_VERDICT_REJECT, WS_VERDICT_UNDECIDED };
  for (gsize i = 0; !label->on_disc && i < G_N_ELEMENTS (tags); i++)
  {
    const WsColour colour = wsi_canvas_verdict_colour (tags[i]);
    if (colour.r == label->colour.r && colour.g == label->colour.g && colour.b == label->colour.b)
      return tags[i];
  }
  return WS_VERDICT_NONE;
}

static WsTextStyle
style_of (const WsSheet *sheet, const WsLabel *label)
{
  const double scale = label->size * sheet->unit;
  const WsVerdict tag = tag_of (label);
  const gboolean bare = !label->on_disc && tag == WS_VERDICT_NONE;
  return (WsTextStyle){ .size = (label->on_disc ? DISC_LETTERS : LETTERS) * scale,
                        .bold = TRUE,
                        .colour = label->on_disc           ? WS_BLACK
                                  : tag != WS_VERDICT_NONE ? wsi_canvas_verdict_ink (tag)
                                                           : label->colour,
                        .across = WS_MIDDLE,
                        .down = WS_MIDDLE,
                        .halo = bare ? HALO * scale : 0.0,
                        .halo_colour = WS_INK };
}

static WsLabelWish
wish_of (const WsSheet *sheet, const WsLabel *label)
{
  const double scale = label->size * sheet->unit;
  const WsTextStyle style = style_of (sheet, label);
  WsLabelWish wish = { .from = label->from,
                       .away = label->away,
                       .gap = label->gap * sheet->unit,
                       .is_loose = label->is_loose };
  if (label->on_disc)
    wish.width = wish.height = 2.0 * DISC * scale;
  else
    wsi_canvas_measure (sheet->cr, &style, label->text, &wish.width, &wish.height);
  if (tag_of (label) != WS_VERDICT_NONE)
    wish.width += 2.0 * TAG_ASIDE * scale;
  return wish;
}

/* The path of a disc, or of a box with round corners. */
static void
path_round (cairo_t *cr, const WsArea *box, double r)
{
  const double x[] = { box->x + box->width - r, box->x + r },
               y[] = { box->y + r, box->y + box->height - r };
  cairo_new_path (cr);
  for (int corner = 0; corner < 4; corner++)
    cairo_arc (cr, x[corner == 1 || corner == 2], y[corner < 2], r, corner * 0.5 * G_PI,
               (corner + 1) * 0.5 * G_PI);
  cairo_close_path (cr);
}

static void
write_label (const WsSheet *sheet, const WsLabel *label)
{
  cairo_t *cr = sheet->cr;
  const WsTextStyle style = style_of (sheet, label);
  const WsArea *box = &label->place.box;
  const WsPoint middle = wsi_point (box->x + 0.5 * box->width, box->y + 0.5 * box->height);
  if (label->on_disc || tag_of (label) != WS_VERDICT_NONE)
  {
    const double u = sheet->unit;
    const WsArea within = { box->x + u, box->y + u, box->width - 2.0 * u, box->height - 2.0 * u };
    path_round (cr, &within, label->on_disc ? 0.5 * within.height : 5.0 * label->size * u);
    wsi_canvas_colour (cr, label->colour);
    cairo_fill_preserve (cr);
    wsi_canvas_colour (cr, WS_BLACK);
    cairo_set_line_width (cr, 2.0 * u);
    cairo_stroke (cr);
  }
  const double lift = label->on_disc ? 2.0 * label->size * sheet->unit : 0.0;
  wsi_canvas_text (cr, &style, middle.x, middle.y - lift, label->text);
}

static void
draw_leader (const WsSheet *sheet, const WsLabel *label)
{
  const WsPen pen = { label->colour, 1.6, NULL, 0 };
  const WsPoint *ends = label->place.leader;
  cairo_new_path (sheet->cr);
  cairo_move_to (sheet->cr, ends[0].x, ends[0].y);
  cairo_line_to (sheet->cr, ends[1].x, ends[1].y);
  wsi_sheet_stroke (sheet, &pen);
}

static gint
by_rank (gconstpointer a, gconstpointer b)
{
  return (gint)((const WsLabel *)a)->rank - (gint)((const WsLabel *)b)->rank;
}

/* TRUE when all found a place. */
static gboolean
place_labels (const WsDrawing *drawing, const WsLabelField *field)
{
  GArray *labels = drawing->labels;
  g_autofree WsLabelWish *wishes = g_new0 (WsLabelWish, labels->len);
  g_autofree WsLabelPlace *places = g_new0 (WsLabelPlace, labels->len);
  gboolean all = TRUE;
  for (guint i = 0; i < labels->len; i++)
    wishes[i] = wish_of (drawing->sheet, &g_array_index (labels, WsLabel, i));
  wsi_labels_place (field, wishes, labels->len, places);
  for (guint i = 0; i < labels->len; i++)
  {
    g_array_index (labels, WsLabel, i).place = places[i];
    all = all && places[i].is_placed;
  }
  return all;
}

/* Those without a place try again in smaller letters. */
static void
find_places (const WsDrawing *drawing, const WsLabelField *field)
{
  static const double smaller[] = { 0.75, 0.55 };
  gboolean done = place_labels (drawing, field);
  for (gsize i = 0; !done && i < G_N_ELEMENTS (smaller); i++)
  {
    for (guint k = 0; k < drawing->labels->len; k++)
    {
      WsLabel *label = &g_array_index (drawing->labels, WsLabel, k);
      if (!label->place.is_placed)
        label->size = smaller[i];
    }
    done = place_labels (drawing, field);
  }
}

void
wsi_drawing_write_labels (const WsDrawing *drawing)
{
  const WsSheet *sheet = drawing->sheet;
  GArray *labels = drawing->labels, *lines = wsi_sheet_lines (sheet, drawing->report);
  const WsLabelField field = { { sheet->x, sheet->y, sheet->width, sheet->height },
                               sheet->unit,
                               (const WsKeepClear *)(void *)lines->data,
                               lines->len,
                               (const WsArea *)(void *)drawing->symbols->data,
                               drawing->symbols->len };
  g_array_sort (labels, by_rank);
  for (guint i = 0; i < labels->len; i++)
    g_array_index (labels, WsLabel, i).size = 1.0;
  find_places (drawing, &field);
  for (guint i = 0; i < labels->len; i++)
    if (g_array_index (labels, WsLabel, i).place.has_leader)
      draw_leader (sheet, &g_array_index (labels, WsLabel, i));
  for (guint i = 0; i < labels->len; i++)
    if (g_array_index (labels, WsLabel, i).place.is_placed)
      write_label (sheet, &g_array_index (labels, WsLabel, i));
  wsi_sheet_lines_free (lines);
}
