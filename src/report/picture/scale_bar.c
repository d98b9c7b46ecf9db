#include "report/picture/scale_bar.h"

#include <math.h>

#include "base/language.h"
#include "base/number.h"
#include "base/size.h"
#include "report/picture/labels.h"

/* Units. */
#define ASIDE 14.0 /* from the picture's border, and around the bar within its box */
#define HEIGHT 58.0
#define THICK 8.0
#define LETTERS 24.0
#define UNDER 12.0 /* from the box's lower end to the bar's lower side */

#define MOST_PART 0.2 /* of the picture's width */

static WsTextStyle
style_of (const WsScaleBar *bar)
{
  return (WsTextStyle){
    .size = bar->letters, .bold = TRUE, .colour = WS_INK, .across = WS_MIDDLE, .down = WS_END
  };
}

/* The bar's length and what stands over it. */
static WsScaleBar
size_of (const WsSheet *sheet, const WsOptics *optics, WsUnits units)
{
  WsScaleBar bar = { .letters = LETTERS * sheet->unit };
  g_strlcpy (bar.label, _ ("no scale"), sizeof bar.label);
  if (optics == NULL || !optics->has_scale)
    return bar;
  const gboolean inches = units == WS_UNITS_IN;
  const double per_px = optics->mm_per_px / sheet->factor / (inches ? WS_MM_PER_INCH : 1.0);
  const double length = wsi_number_round_down (MOST_PART * sheet->width * per_px);
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  g_snprintf (bar.label, sizeof bar.label, "%s %s",
              g_ascii_formatd (buffer, sizeof buffer, "%.4g", length), inches ? "in" : "mm");
  bar.length = length / per_px;
  return bar;
}

static gboolean
covers (const WsArea *box, const GArray *lines)
{
  for (guint i = 0; i < lines->len; i++)
    if (wsi_box_meets_line (box, &g_array_index (lines, WsKeepClear, i)))
      return TRUE;
  return FALSE;
}

WsScaleBar
wsi_scale_bar_place (const WsSheet *sheet, const WsReport *report)
{
  const double u = sheet->unit;
  WsScaleBar bar = size_of (sheet, report->optics, report->units);
  const WsTextStyle style = style_of (&bar);
  const double most = sheet->width - 4.0 * ASIDE * u;
  double width, height;
  wsi_canvas_measure (sheet->cr, &style, bar.label, &width, &height);
  if (width > most)
  {
    bar.letters *= fmax (most / width, 0.1);
    width = most;
  }
  const double wide = fmax (bar.length, width) + 2.0 * ASIDE * u,
               high = (bar.length > 0.0 ? HEIGHT : HEIGHT - UNDER - THICK) * u;
  const double left = sheet->x + ASIDE * u, right = sheet->x + sheet->width - ASIDE * u - wide,
               top = sheet->y + ASIDE * u, bottom = sheet->y + sheet->height - 12.0 * u - high;
  const WsArea corners[] = { { right, bottom, wide, high },
                             { left, bottom, wide, high },
                             { right, top, wide, high },
                             { left, top, wide, high } };
  GArray *lines = wsi_sheet_lines (sheet, report);
  gsize corner = 0;
  while (corner < G_N_ELEMENTS (corners) && covers (&corners[corner], lines))
    corner++;
  bar.box = corners[corner % G_N_ELEMENTS (corners)];
  wsi_sheet_lines_free (lines);
  return bar;
}

void
wsi_scale_bar_draw (const WsSheet *sheet, const WsScaleBar *bar)
{
  cairo_t *cr = sheet->cr;
  const double u = sheet->unit, middle = bar->box.x + 0.5 * bar->box.width,
               bottom = bar->box.y + bar->box.height;
  cairo_new_path (cr);
  cairo_rectangle (cr, bar->box.x, bar->box.y, bar->box.width, bar->box.height);
  cairo_set_source_rgba (cr, 1.0, 1.0, 1.0, 0.88);
  cairo_fill (cr);
  const WsTextStyle style = style_of (bar);
  const double lift = bar->length > 0.0 ? UNDER + THICK + 2.0 : 5.0;
  if (bar->length > 0.0)
    wsi_canvas_box (cr, WS_INK, middle - 0.5 * bar->length, bottom - (UNDER + THICK) * u,
                    bar->length, THICK * u);
  wsi_canvas_text (cr, &style, middle, bottom - lift * u, bar->label);
}
