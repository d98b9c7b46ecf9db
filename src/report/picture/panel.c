#include "report/picture/panel.h"

#include <math.h>

#include "base/language.h"
#include "base/number.h"
#include "base/shown.h"
#include "optics/calibration.h"
#include "report/canvas.h"
#include "report/words.h"

/* All sizes in units; a sheet is 1280 units wide or more. */
#define MARGIN 28.0
#define VERDICT_HEIGHT 188.0
#define VERDICT_LETTERS 104.0
#define VERDICT_MIDDLE 64.0
#define REASON_LETTERS 28.0 /* fewer where the reason takes more than its height */
#define REASON_TOP 122.0
#define REASON_HEIGHT 60.0
#define ROW_HEIGHT 33.0
#define ROW_LETTERS 20.0
#define LEAST_LETTERS 8.0
#define LABEL_GAP 12.0
#define LIMITS_HEIGHT 15.0 /* more for a row with limits below its value */
#define LIMITS_LETTERS 15.0
#define ADVICE_LETTERS 24.0
#define SMALL_LETTERS 15.0
#define COLUMN_GAP 44.0

/* Parts of a column's width. */
#define VALUE_END 0.78
#define GAUGE_START 0.815
#define GAUGE_END 0.935
#define SHAPE_AT 0.98

static WsTextStyle
letters (const WsPanel *panel, double size, gboolean bold, WsColour colour)
{
  return (WsTextStyle){ .size = size * panel->unit, .bold = bold, .colour = colour };
}

static void
fill_rectangle (const WsPanel *panel, double x, double y, double width, double height,
                WsColour colour)
{
  cairo_new_path (panel->cr);
  cairo_rectangle (panel->cr, x, y, width, height);
  wsi_canvas_colour (panel->cr, colour);
  cairo_fill (panel->cr);
}

/* The verdict. */

/* Makes letters smaller until they fit. */
static void
fit_letters (const WsPanel *panel, WsTextStyle *style, const char *text, double most_width,
             double most_height)
{
  double width, height;
  wsi_canvas_measure (panel->cr, style, text, &width, &height);
  while ((width > most_width || height > most_height) && style->size > LEAST_LETTERS * panel->unit)
  {
    style->size -= 0.5 * panel->unit;
    wsi_canvas_measure (panel->cr, style, text, &width, &height);
  }
}

/* Beside the verdict's word, which ends at `left`. */
static void
draw_identity (const WsPanel *panel, const WsReport *report, double left, WsColour ink)
{
  const double u = panel->unit, right = panel->x + panel->width - MARGIN * u;
  g_autofree char *tool = wsi_words_tool (report);
  g_autofree char *time = wsi_words_time (report);
  g_autofree char *lines = g_strdup_printf ("%s · %s", tool, time);
  g_auto (GStrv) parts = g_strsplit (lines, " · ", 3);
  double y = panel->y + 24.0 * u;
  for (gsize i = 0; parts[i] != NULL; i++, y += 36.0 * u)
  {
    WsTextStyle style = letters (panel, i == 0 ? 26.0 : 22.0, i == 0, ink);
    style.across = WS_END;
    fit_letters (panel, &style, parts[i], right - left - MARGIN * u, HUGE_VAL);
    wsi_canvas_text (panel->cr, &style, right, y, parts[i]);
  }
}

/* Returns where it ends. */
static double
draw_word (const WsPanel *panel, const WsReport *report, double middle, WsColour ink)
{
  const double x = panel->x + (MARGIN + 124.0) * panel->unit;
  const char *text = _ (wsi_words_verdict (report->result->verdict));
  WsTextStyle style = letters (panel, VERDICT_LETTERS, TRUE, ink);
  double width, height;
  style.down = WS_MIDDLE;
  wsi_canvas_measure (panel->cr, &style, text, &width, &height);
  wsi_canvas_text (panel->cr, &style, x, middle, text);
  return x + width;
}

double
wsi_panel_verdict_height (double unit)
{
  return VERDICT_HEIGHT * unit;
}

/* What to do, and why: as large as it fits. */
static void
draw_reason (const WsPanel *panel, const char *text, WsColour ink)
{
  const double u = panel->unit;
  WsTextStyle style = letters (panel, REASON_LETTERS, TRUE, ink);
  style.down = WS_MIDDLE;
  style.wrap = panel->width - 2.0 * MARGIN * u;
  fit_letters (panel, &style, text, HUGE_VAL, REASON_HEIGHT * u);
  wsi_canvas_text (panel->cr, &style, panel->x + MARGIN * u,
                   panel->y + (REASON_TOP + 0.5 * REASON_HEIGHT) * u, text);
}

double
wsi_panel_draw_verdict (const WsPanel *panel, const WsReport *report)
{
  double u = panel->unit;
  WsVerdict verdict = report->result->verdict;
  g_autofree char *banner =
    verdict == WS_VERDICT_RETAKE
      ? g_strdup (_ ("Measure again. Nothing was measured in this picture."))
      : wsi_words_action (report);
  WsColour ink = wsi_canvas_verdict_ink (verdict);
  fill_rectangle (panel, panel->x, panel->y, panel->width, VERDICT_HEIGHT * u,
                  wsi_canvas_verdict_colour (verdict));

  double middle = panel->y + VERDICT_MIDDLE * u;
  wsi_canvas_verdict_shape (panel->cr, verdict, (WsPoint){ panel->x + (MARGIN + 50.0) * u, middle },
                            48.0 * u, ink);
  const double left = draw_word (panel, report, middle, ink);
  draw_reason (panel, banner, ink);
  draw_identity (panel, report, left, ink);
  return VERDICT_HEIGHT * u;
}

/* Advice. */

/* One paragraph behind a bullet; returns its height. */
static double
draw_paragraph (const WsPanel *panel, double y, gboolean bold, const char *text)
{
  double u = panel->unit;
  double width, height;
  WsTextStyle style = letters (panel, ADVICE_LETTERS, bold, WS_INK);
  style.wrap = panel->width - (2.0 * MARGIN + 26.0) * u;
  wsi_canvas_measure (panel->cr, &style, text, &width, &height);
  fill_rectangle (panel, panel->x + MARGIN * u, y + 10.0 * u, 11.0 * u, 11.0 * u, WS_INK);
  wsi_canvas_text (panel->cr, &style, panel->x + (MARGIN + 26.0) * u, y, text);
  return height + 6.0 * u;
}

static double
draw_retake (const WsPanel *panel, double y, const WsResult *result)
{
  double height = draw_paragraph (panel, y, TRUE, _ (ws_retake_sentence (result->reason)));
  if (result->detail == NULL)
    return height;
  g_autofree char *seen = g_strconcat (_ ("Seen: "), result->detail, NULL);
  return height + draw_paragraph (panel, y + height, FALSE, seen);
}

static double
draw_advice (const WsPanel *panel, double y, const WsResult *result)
{
  double height = 0.0;
  if (result->reason != WS_RETAKE_NONE)
    height = draw_retake (panel, y, result);
  for (guint i = 0; i < result->advice->len; i++)
    height += draw_paragraph (panel, y + height, FALSE, g_ptr_array_index (result->advice, i));
  if (wsi_words_care (result) != NULL)
    height += draw_paragraph (panel, y + height, TRUE, _ (wsi_words_care (result)));
  return height > 0.0 ? height + 14.0 * panel->unit : 0.0;
}

/* Values. */

/* Where a value lies between its limits: the limits at 1/5 and 4/5 of the gauge, cut off
 * at its ends. */
static double
on_gauge (double value, double lower, double upper)
{
  return CLAMP (0.2 + 0.6 * (value - lower) / (upper - lower), 0.0, 1.0);
}

/* A band for the limits, a needle for the value, a bar as long as +-U. */
static void
draw_gauge (const WsPanel *panel, double y, const WsQuantity *quantity)
{
  double u = panel->unit;
  double x = panel->x + GAUGE_START * panel->width;
  double width = (GAUGE_END - GAUGE_START) * panel->width;
  double upper = quantity->upper;
  /* What has an upper limit only can't be below 0. */
  double lower = isfinite (quantity->lower) ? quantity->lower : 0.0;
  if (!quantity->known || !isfinite (upper) || !isfinite (quantity->U) || lower >= upper)
    return;

  double left = on_gauge (quantity->value - quantity->U, lower, upper);
  double right = on_gauge (quantity->value + quantity->U, lower, upper);
  double needle = on_gauge (quantity->value, lower, upper);
  double start = isfinite (quantity->lower) ? 0.2 : 0.0;
  WsColour colour = wsi_canvas_verdict_colour (quantity->verdict);
  fill_rectangle (panel, x, y - 1.0 * u, width, 2.0 * u, WS_PALE);
  fill_rectangle (panel, x + start * width, y - 9.0 * u, (0.8 - start) * width, 18.0 * u, WS_PALE);
  fill_rectangle (panel, x + left * width, y - 3.0 * u, (right - left) * width, 6.0 * u, colour);
  fill_rectangle (panel, x + needle * width - 3.0 * u, y - 12.0 * u, 6.0 * u, 24.0 * u, WS_INK);
}

static char *
value_text (const WsQuantity *quantity)
{
  g_autofree char *value = wsi_words_value (quantity);
  g_autofree char *uncertainty = wsi_words_uncertainty (quantity);
  const char *unit = wsi_words_unit (quantity);
  gboolean degrees = ws_unit_is_angle (quantity->info->unit);
  if (value == NULL)
    return g_strdup (_ ("unknown"));
  return g_strdup_printf ("%s ± %s%s%s%s", value, uncertainty != NULL ? uncertainty : "?",
                          degrees ? "" : " ", degrees ? "°" : unit,
                          quantity->given ? _ (", given") : "");
}

/* "limits 116 .. 120°"; "" without any.  Free with g_free(). */
static char *
limits_text (const WsQuantity *quantity)
{
  g_autofree char *limits = wsi_words_limits (quantity);
  const gboolean degrees = quantity->info->unit == WS_UNIT_DEGREE;
  if (*limits == '\0')
    return g_strdup ("");
  return g_strdup_printf (_ ("limits %s%s%s"), limits, degrees ? "°" : " ",
                          degrees ? "" : wsi_words_unit (quantity));
}

/* What stands below the value: its limits, and the value in inches before them where both are
 * wanted.  Free with g_free(). */
static char *
below_text (const WsQuantity *quantity)
{
  const WsQuantity mm = wsi_words_shown_in (quantity, WS_UNITS_MM),
                   in = wsi_words_shown_in (quantity, WS_UNITS_IN);
  if (!wsi_words_in_both (quantity) || !quantity->known)
    return limits_text (quantity);
  g_autofree char *limits = limits_text (&mm);
  g_autofree char *inches = value_text (&in);
  return *limits != '\0' ? g_strdup_printf ("%s, %s", inches, limits) : g_steal_pointer (&inches);
}

/* In the main unit alone. */
static char *
main_value_text (const WsQuantity *quantity)
{
  const WsQuantity mm = wsi_words_shown_in (quantity, WS_UNITS_MM);
  return value_text (wsi_words_in_both (quantity) ? &mm : quantity);
}

static double
row_height (const WsPanel *panel, const WsQuantity *quantity)
{
  g_autofree char *limits = below_text (quantity);
  return (ROW_HEIGHT + (*limits != '\0' ? LIMITS_HEIGHT : 0.0)) * panel->unit;
}

/* In smaller letters, where there is no room for it beside the value. */
static void
draw_label (const WsPanel *panel, double middle, double room, const char *text)
{
  WsTextStyle style = letters (panel, ROW_LETTERS, FALSE, WS_INK);
  style.down = WS_MIDDLE;
  fit_letters (panel, &style, text, room, HUGE_VAL);
  wsi_canvas_text (panel->cr, &style, panel->x, middle, text);
}

/* The value, and its limits below it. */
static void
draw_value (const WsPanel *panel, double middle, const WsQuantity *quantity)
{
  const double u = panel->unit, right = panel->x + VALUE_END * panel->width;
  g_autofree char *value = main_value_text (quantity);
  g_autofree char *limits = below_text (quantity);
  WsTextStyle style = letters (panel, ROW_LETTERS, quantity->verdict != WS_VERDICT_NONE, WS_INK);
  WsTextStyle small = letters (panel, LIMITS_LETTERS, FALSE, WS_GREY);
  style.down = small.down = WS_MIDDLE;
  style.across = small.across = WS_END;
  const double lift = *limits != '\0' ? 0.5 * LIMITS_HEIGHT * u : 0.0;
  wsi_canvas_text (panel->cr, &style, right, middle - lift, value);
  wsi_canvas_text (panel->cr, &small, right, middle + 1.9 * lift, limits);
  double taken, height;
  g_autofree char *label = wsi_words_label (quantity);
  wsi_canvas_measure (panel->cr, &style, value, &taken, &height);
  draw_label (panel, middle - lift, VALUE_END * panel->width - taken - LABEL_GAP * u, label);
}

/* Returns its height. */
static double
draw_row (const WsPanel *panel, double y, const WsQuantity *quantity)
{
  const double u = panel->unit, height = row_height (panel, quantity), middle = y + 0.5 * height;
  draw_value (panel, middle, quantity);
  draw_gauge (panel, middle, quantity);
  if (quantity->verdict != WS_VERDICT_NONE)
    wsi_canvas_verdict_shape (panel->cr, quantity->verdict,
                              (WsPoint){ panel->x + SHAPE_AT * panel->width, middle }, 11.0 * u,
                              wsi_canvas_verdict_colour (quantity->verdict));
  fill_rectangle (panel, panel->x, y + height - 1.0, panel->width, 1.0, WS_PALE);
  return height;
}

/* Two columns, read downward. */
static double
draw_table (const WsPanel *panel, double y, const WsResult *result)
{
  const double u = panel->unit;
  const guint rows = (result->quantities->len + 1) / 2;
  WsPanel column = *panel;
  double heights[2] = { 0.0, 0.0 };
  column.width = 0.5 * (panel->width - (2.0 * MARGIN + COLUMN_GAP) * u);
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const guint side = i < rows ? 0 : 1;
    column.x = panel->x + MARGIN * u + side * (column.width + COLUMN_GAP * u);
    heights[side] +=
      draw_row (&column, y + heights[side], g_ptr_array_index (result->quantities, i));
  }
  return fmax (heights[0], heights[1]);
}

static gboolean
has_built_in_limits (const WsResult *result)
{
  for (guint i = 0; i < result->quantities->len; i++)
    if (wsi_words_is_built_in (g_ptr_array_index (result->quantities, i)))
      return TRUE;
  return FALSE;
}

/* Whoever looks at the picture years later asks first what the scale rests on. */
static char *
camera_words (const WsReport *report)
{
  const WsCalibrationUse *use = report->calibration;
  if (use == NULL)
    return g_strdup (report->optics != NULL && report->optics->known_mm > 0
                       ? _ ("camera not calibrated, scale from the tool's own size")
                       : _ ("camera not calibrated"));
  return g_strdup_printf (_ ("calibration %s%s%s"), use->calibration->id,
                          use->expired ? _ (", EXPIRED") : "",
                          g_str_equal (use->check, "failed") ? _ (", FAILED ITS CHECK") : "");
}

static double
draw_footer (const WsPanel *panel, double y, const WsReport *report)
{
  double u = panel->unit;
  double width, height;
  g_autofree char *name = wsi_shown (report->image_name);
  g_autofree char *camera = camera_words (report);
  g_autofree char *text = g_strdup_printf (
    "%s  ·  %s  ·  %s%s%s  ·  whetsight %s", name, report->id, camera,
    report->result->quantities->len > 0 ? _ ("  ·  ± expanded uncertainty, k = 2") : "",
    has_built_in_limits (report->result) ? _ ("  ·  some limits are built in, see the record") : "",
    WS_VERSION);
  WsTextStyle style = letters (panel, SMALL_LETTERS, FALSE, WS_GREY);
  style.wrap = panel->width - 2.0 * MARGIN * u;
  wsi_canvas_measure (panel->cr, &style, text, &width, &height);
  wsi_canvas_text (panel->cr, &style, panel->x + MARGIN * u, y + 12.0 * u, text);
  return height + 28.0 * u;
}

double
wsi_panel_draw_values (const WsPanel *panel, const WsReport *report)
{
  double y = panel->y + 20.0 * panel->unit;
  y += draw_advice (panel, y, report->result);
  y += draw_table (panel, y, report->result);
  y += draw_footer (panel, y, report);
  return y - panel->y;
}
