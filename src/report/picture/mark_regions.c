#include "report/picture/mark_regions.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/language.h"
#include "report/picture/labels.h"

/* Oxide films are outlined, never covered: their colour is what one must see.  They lie within
 * each other and are told apart by dashes and names. */
typedef struct
{
  const char *label;
  double dashes[2]; /* units; 0: solid */
} Film;

static const Film films[] = {
  { N_ ("straw"), { 0.0, 0.0 } }, { N_ ("brown"), { 14.0, 6.0 } }, { N_ ("purple"), { 7.0, 6.0 } },
  { N_ ("blue"), { 3.0, 5.0 } },  { N_ ("grey"), { 1.0, 8.0 } },
};

static const Film *
film_of (const WsMark *mark)
{
  for (gsize i = 0; i < G_N_ELEMENTS (films); i++)
    if (g_strcmp0 (mark->label, films[i].label) == 0)
      return &films[i];
  return &films[0];
}

/* Its outermost place toward where labels of its film best stand, on the sheet. */
static WsPoint
region_end (const WsDrawing *drawing, const WsMark *mark, WsPoint away)
{
  WsPoint end = wsi_drawing_place (drawing, mark, 0);
  for (guint i = 1; i < mark->points->len; i++)
  {
    const WsPoint p = wsi_drawing_place (drawing, mark, i);
    if (wsi_point_dot (wsi_point_sub (p, end), away) > 0.0)
      end = p;
  }
  return end;
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

void
wsi_draw_burn (const WsDrawing *drawing, const WsMark *mark)
{
  const Film *film = film_of (mark);
  const WsPen border = { WS_VERMILION, 2.2, film->dashes, film->dashes[0] > 0.0 ? 2 : 0 };
  wsi_drawing_path (drawing, mark);
  cairo_close_path (drawing->sheet->cr);
  wsi_sheet_stroke (drawing->sheet, &border);
}

#define SMALLEST_LABELLED 40.0 /* units */

/* Beside the burn, each film in a direction of its own. */
void
wsi_draw_burn_label (const WsDrawing *drawing, const WsMark *mark)
{
  const Film *film = film_of (mark);
  if (region_size (drawing, mark) < SMALLEST_LABELLED)
    return;
  const double turn = (double)(film - films) * 0.4 * G_PI - 0.75 * G_PI;
  const WsPoint away = wsi_point (cos (turn), sin (turn));
  wsi_drawing_label_beyond (drawing, WS_LABEL_REGION, WS_VERMILION,
                            region_end (drawing, mark, away), away, _ (film->label));
}

/* The land in its true width, outlined as an edge is, and as a fault only where it is judged
 * one. */
void
wsi_draw_land (const WsDrawing *drawing, const WsMark *mark)
{
  const WsQuantity *quantity = wsi_drawing_quantity (drawing->report->result, mark->label);
  const gboolean is_amiss = quantity != NULL && wsi_drawing_is_amiss (quantity);
  const WsPen border = { is_amiss ? wsi_label_colour (quantity) : WS_SKY_BLUE, 2.4, NULL, 0 };
  wsi_drawing_path (drawing, mark);
  cairo_close_path (drawing->sheet->cr);
  wsi_sheet_stroke (drawing->sheet, &border);
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
  g_autofree char *value = wsi_drawing_value_words (quantity);
  g_autofree char *text = g_strconcat (_ ("wear land "), value, NULL);
  WsPoint first = wsi_drawing_place (drawing, mark, 0);
  WsPoint last = wsi_drawing_place (drawing, mark, mark->points->len / 2 - 1);
  WsPoint across = wsi_drawing_place (drawing, mark, mark->points->len - 1);
  WsPoint middle = wsi_point_along (first, 0.5, wsi_point_sub (last, first));
  WsPoint away = wsi_point_sub (first, wsi_drawing_towards (first, across, 1.0));
  wsi_drawing_label_beyond (drawing, WS_LABEL_REGION, wsi_label_colour (quantity), middle, away,
                            text);
}
