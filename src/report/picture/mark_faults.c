#include "report/picture/mark_faults.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/language.h"
#include "report/picture/labels.h"
#include "report/words.h"

#define RING 18.0 /* units */

/* What shows, where that isn't what the quantity is called; by the beginning of its stem.  Where
 * the place says which side is meant, a sign would say it twice. */
static const struct
{
  const char *stem, *words;
} shown[] = {
  { "chip_depth", N_ ("chip") },           { "corner_wear", N_ ("worn corner") },
  { "corner_radius", N_ ("worn corner") }, { "lip_height_difference", N_ ("lip stands higher") },
  { "point_offset", N_ ("point off by") },
};

static char *
fault_words (const WsQuantity *quantity)
{
  g_autofree char *value = wsi_drawing_value_words (quantity);
  for (gsize i = 0; i < G_N_ELEMENTS (shown); i++)
    if (g_str_has_prefix (quantity->info->stem, shown[i].stem))
      return g_strdup_printf ("%s %s", _ (shown[i].words), value + (*value == '-'));
  g_autofree char *label = wsi_words_label (quantity);
  return g_strdup_printf ("%s %s", label, value);
}

/* Ring and name, on the side that points out of the tool. */
static void
ring_fault (const WsDrawing *drawing, const WsQuantity *quantity, WsPoint at, double radius,
            WsPoint away)
{
  const WsColour colour = quantity->verdict == WS_VERDICT_UNDECIDED
                            ? wsi_canvas_verdict_colour (WS_VERDICT_UNDECIDED)
                            : WS_VERMILION;
  const WsPen line = { colour, 3.5, NULL, 0 };
  g_autofree char *text = fault_words (quantity);
  wsi_drawing_ring (drawing, &line, at, radius);
  wsi_drawing_label_beyond (drawing, WS_LABEL_FAULT, colour, wsi_point_along (at, radius, away),
                            away, text);
}

static WsPoint
outward (const WsDrawing *drawing, WsPoint at)
{
  const WsPoint away = wsi_point_sub (at, drawing->inside);
  const double length = wsi_point_length (away);
  return length > 0.0 ? wsi_point (away.x / length, away.y / length) : wsi_point (0.0, -1.0);
}

/* "chip_depth" with the mark's letter. */
static const WsQuantity *
chip_of (const WsDrawing *drawing, const WsMark *mark)
{
  g_autofree char *stem =
    g_strconcat ("chip_depth", mark->label != NULL ? "_" : "", mark->label, NULL);
  return wsi_drawing_quantity (drawing->report->result, stem);
}

void
wsi_draw_chip (const WsDrawing *drawing, const WsMark *mark)
{
  const WsPen line = { WS_VERMILION, 3.5, NULL, 0 };
  if (mark->points->len < 2)
    return;
  const WsPoint top = wsi_drawing_place (drawing, mark, 0);
  const WsPoint bottom = wsi_drawing_place (drawing, mark, 1);
  const double r = fmax (RING * drawing->sheet->unit, 1.2 * wsi_point_distance (top, bottom));
  const WsPoint away = wsi_point_sub (wsi_drawing_towards (bottom, top, 1.0), bottom);
  const WsQuantity *quantity = chip_of (drawing, mark);
  if (quantity != NULL)
  {
    ring_fault (drawing, quantity, bottom, r, away);
    return;
  }
  wsi_drawing_ring (drawing, &line, bottom, r);
  wsi_drawing_label_beyond (drawing, WS_LABEL_FAULT, line.colour, wsi_point_along (bottom, r, away),
                            away, _ ("chip"));
}

/* Where a segment deviates most; its limits say whether that is a fault.  What is accepted is in
 * the table: with a ring it would look like one. */
void
wsi_draw_worst (const WsDrawing *drawing, const WsMark *mark)
{
  const WsQuantity *quantity = wsi_drawing_quantity (drawing->report->result, mark->label);
  if (quantity != NULL && quantity->verdict == WS_VERDICT_ACCEPT)
    return;
  const WsColour colour = quantity != NULL ? wsi_label_colour (quantity) : WS_WHITE;
  const WsPen line = { colour, 3.0, NULL, 0 };
  const double r = 13.0 * drawing->sheet->unit;
  const WsPoint at = wsi_drawing_place (drawing, mark, 0), away = outward (drawing, at);
  wsi_drawing_ring (drawing, &line, at, r);
  if (quantity == NULL)
    return;
  g_autofree char *value = wsi_drawing_value_words (quantity);
  wsi_drawing_label_beyond (drawing, WS_LABEL_FAULT, colour, wsi_point_along (at, r, away), away,
                            value);
}

static gboolean
has_mark (const WsResult *result, const WsQuantity *quantity)
{
  if (g_str_has_prefix (quantity->info->stem, "chip_depth"))
    for (guint i = 0; i < result->marks->len; i++)
      if (((const WsMark *)g_ptr_array_index (result->marks, i))->role == WS_MARK_CHIP)
        return TRUE;
  return FALSE;
}

gboolean
wsi_drawing_is_ringed (const WsQuantity *quantity)
{
  return quantity->known && quantity->has_place && wsi_drawing_is_amiss (quantity);
}

void
wsi_draw_faults (const WsDrawing *drawing)
{
  const WsResult *result = drawing->report->result;
  /* Held, numbers say nothing against the tool: it may be another than the card's. */
  if (result->hold == WS_HOLD_VERDICT)
    return;
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    if (!wsi_drawing_is_ringed (quantity) || has_mark (result, quantity))
      continue;
    const WsPoint at = wsi_sheet_place (drawing->sheet, quantity->where_px);
    ring_fault (drawing, quantity, at, RING * drawing->sheet->unit, outward (drawing, at));
  }
}
