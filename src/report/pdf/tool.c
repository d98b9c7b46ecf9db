/*
 * A tool's page: verdict, facts, picture, table, advice.
 */
#include "report/pdf/tool.h"

#include <math.h>

#include <whetsight/error.h>

#include "base/geometry.h"
#include "report/pdf/read.h"
#include "report/pdf/table.h"
#include "report/picture/picture_area.h"
#include "report/words.h"

#define BAND 40.0
#define SIGNATURE 44.0
#define LEAST_PICTURE 90.0
#define NO_PICTURE 20.0   /* room to say so */
#define MOST_PICTURE 0.36 /* of the paper's height */

/* A page that is too full is set in smaller letters, down to a third of the size. */
#define SHRINK 0.93
#define LEAST_SCALE 0.35

/* ---- Head, facts and lists --------------------------------------------------------------- */

static void
draw_band (WsPage *page, WsVerdict verdict, const char *words)
{
  const double height = BAND * page->scale, middle = page->y + 0.5 * height;
  WsTextStyle word = wsi_page_letters (page, 24.0, TRUE, wsi_canvas_verdict_ink (verdict));
  WsTextStyle more = wsi_page_letters (page, WS_PAGE_TEXT, FALSE, word.colour);
  word.down = more.down = WS_MIDDLE;
  more.across = WS_END;
  if (!page->dry)
  {
    wsi_canvas_box (page->cr, wsi_canvas_verdict_colour (verdict), WS_PAGE_MARGIN, page->y,
                    wsi_page_inner_width (page), height);
    wsi_canvas_verdict_shape (page->cr, verdict, wsi_point (WS_PAGE_MARGIN + 0.5 * height, middle),
                              0.34 * height, word.colour);
  }
  wsi_page_put (page, &word, WS_PAGE_MARGIN + height, middle, wsi_words_verdict (verdict));
  more.wrap = 0.0;
  wsi_page_put (page, &more, page->width - WS_PAGE_MARGIN - 8.0, middle, words);
  page->y += height + 6.0;
}

/* What to do with the tool: what a grinder looks for first. */
static void
put_action (WsPage *page, const json_t *record)
{
  const char *action = wsi_words_action_named (wsi_record_text (record, "action"));
  const char *why = wsi_record_text (record, "set_aside");
  if (action == NULL)
    return;
  g_autofree char *words = why != NULL ? g_strdup_printf ("%s %s", action, why) : g_strdup (action);
  WsTextStyle style = wsi_page_letters (page, 1.3 * WS_PAGE_TEXT, TRUE, WS_INK);
  style.wrap = wsi_page_inner_width (page);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

static void
put_fact (WsPage *page, const char *name, const char *text)
{
  const WsTextStyle key = wsi_page_letters (page, WS_PAGE_TEXT, FALSE, WS_GREY);
  WsTextStyle value = wsi_page_letters (page, WS_PAGE_TEXT, FALSE, WS_INK);
  if (text == NULL || *text == '\0')
    return;
  value.wrap = wsi_page_inner_width (page) - 80.0;
  wsi_page_put (page, &key, WS_PAGE_MARGIN, page->y, name);
  page->y += wsi_page_put (page, &value, WS_PAGE_MARGIN + 80.0, page->y, text);
}

static void
put_facts (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  const json_t *tool = json_object_get (record, "tool");
  const json_t *image = json_object_get (record, "image");
  const double size = isfinite (wsi_record_number (tool, "diameter_mm"))
                        ? wsi_record_number (tool, "diameter_mm")
                        : wsi_record_number (tool, "width_mm");
  g_autofree char *number = wsi_record_size (size);
  g_autofree char *time = wsi_words_local_time (inspection->time);
  g_autofree char *kind =
    g_strdup_printf ("%s%s%s%s", inspection->kind, *number != '\0' ? ", " : "", number,
                     *number != '\0' ? " mm" : "");
  g_autofree char *picture = g_strdup_printf (
    "%s%s%s", inspection->image_name != NULL ? inspection->image_name : "?",
    wsi_record_text (image, "sha256") != NULL ? ", SHA-256 " : "",
    wsi_record_text (image, "sha256") != NULL ? wsi_record_text (image, "sha256") : "");
  put_fact (page, "Tool", inspection->tool != NULL ? inspection->tool : "no card");
  put_fact (page, "Kind", kind);
  put_fact (page, "View", inspection->view);
  put_fact (page, "Measured", time);
  put_fact (page, "Station", inspection->station);
  put_fact (page, "Ground by", inspection->grinder);
  put_fact (page, "Picture", picture);
  put_fact (page, "Archive hash", inspection->hash);
}

static void
put_calibration (WsPage *page, const json_t *record)
{
  const json_t *calibration = json_object_get (record, "calibration");
  const json_t *scale = json_object_get (record, "scale");
  char number[G_ASCII_DTOSTR_BUF_SIZE] = "";
  wsi_page_put_heading (page, "Calibration");
  if (json_is_object (scale))
    g_ascii_formatd (number, sizeof number, "%.7g", wsi_record_number (scale, "mm_per_px"));
  if (!json_is_object (calibration))
  {
    const json_t *corrected = json_object_get (record, "corrected");
    const char *not_corrected =
      json_is_true (json_object_get (corrected, "perspective"))
        ? "the lens is not corrected; perspective is, by the tool's own outline"
        : "lens and perspective are not corrected";
    g_autofree char *words =
      *number != '\0' ? g_strdup_printf ("Scale given as %s mm a pixel; %s.", number, not_corrected)
                      : g_strdup_printf ("None: %s; lengths in px.", not_corrected);
    wsi_page_put_paragraph (page, "", words);
    return;
  }
  const char *check = wsi_record_text (calibration, "check");
  g_autofree char *check_time = wsi_words_local_time (wsi_record_text (calibration, "check_time"));
  g_autofree char *words = g_strdup_printf (
    "%s, camera %s, model %s, %s; last check: %s%s%s%s. SHA-256 %s",
    wsi_record_text (calibration, "id"), wsi_record_text (calibration, "camera"),
    wsi_record_text (calibration, "model"),
    json_is_true (json_object_get (calibration, "expired")) ? "EXPIRED" : "valid when measured",
    check != NULL ? check : "never", check_time != NULL ? " " : "",
    check_time != NULL ? check_time : "",
    json_is_true (json_object_get (calibration, "check_ignored")) ? ", not counted" : "",
    wsi_record_text (calibration, "sha256"));
  wsi_page_put_paragraph (page, "", words);
}

/* Texts, or objects with a text. */
static void
put_list (WsPage *page, const char *title, const json_t *record, const char *key)
{
  gsize i;
  json_t *entry;
  json_t *list = json_object_get (record, key);
  if (json_array_size (list) == 0)
    return;
  wsi_page_put_heading (page, title);
  json_array_foreach (list, i, entry)
  {
    const char *text =
      json_is_string (entry) ? json_string_value (entry) : wsi_record_text (entry, "text");
    if (text != NULL)
      wsi_page_put_paragraph (page, "•", text);
  }
}

/* ---- The picture -------------------------------------------------------------------------- */

static void
paint_part (const WsPage *page, cairo_surface_t *sheet, const WsArea *area, double height)
{
  cairo_t *cr = page->cr;
  const double factor = fmin (height / area->height, wsi_page_inner_width (page) / area->width);
  cairo_save (cr);
  cairo_translate (cr, 0.5 * (page->width - factor * area->width), page->y);
  cairo_scale (cr, factor, factor);
  cairo_rectangle (cr, 0.0, 0.0, area->width, area->height);
  cairo_clip (cr);
  cairo_set_source_surface (cr, sheet, -area->x, -area->y);
  cairo_paint (cr);
  cairo_restore (cr);
}

/* The picture out of the annotated sheet; what stood around it is set anew here. */
static void
draw_picture (WsPage *page, const char *path, const json_t *record, double height)
{
  const json_t *image = json_object_get (record, "image");
  const double width = wsi_record_number (image, "width"),
               rows = wsi_record_number (image, "height");
  WsArea area;
  cairo_surface_t *sheet =
    !page->dry && path != NULL ? cairo_image_surface_create_from_png (path) : NULL;
  if (sheet != NULL && cairo_surface_status (sheet) == CAIRO_STATUS_SUCCESS && width > 0 &&
      rows > 0)
  {
    wsi_report_picture_area ((guint)width, (guint)rows, &area);
    if (area.y + area.height <= cairo_image_surface_get_height (sheet))
      paint_part (page, sheet, &area, height);
  }
  else if (!page->dry)
  {
    WsTextStyle style = wsi_page_letters (page, WS_PAGE_TEXT, FALSE, WS_GREY);
    style.across = style.down = WS_MIDDLE;
    wsi_page_put (page, &style, 0.5 * page->width, page->y + 0.5 * height, "no annotated picture");
  }
  if (sheet != NULL)
    cairo_surface_destroy (sheet);
  page->y += height + 4.0;
}

static void
draw_signature (const WsPage *page)
{
  const WsTextStyle style = wsi_page_letters (page, WS_PAGE_TEXT, FALSE, WS_GREY);
  const double y = page->height - WS_PAGE_FOOTER - 22.0;
  const double middle = WS_PAGE_MARGIN + 0.62 * wsi_page_inner_width (page);
  wsi_canvas_line (page->cr, WS_INK, 0.6, wsi_point (WS_PAGE_MARGIN, y),
                   wsi_point (middle - 20.0, y));
  wsi_canvas_line (page->cr, WS_INK, 0.6, wsi_point (middle, y),
                   wsi_point (page->width - WS_PAGE_MARGIN, y));
  wsi_page_put (page, &style, WS_PAGE_MARGIN, y + 2.0, "Inspected by (name, signature)");
  wsi_page_put (page, &style, middle, y + 2.0, "Date");
}

/* Everything but the picture; with `picture` of its height. */
static void
set_page (WsPage *page, const WsPdfPage *what, const json_t *record, double picture)
{
  const WsInspection *inspection = what->inspection;
  const WsVerdict verdict = wsi_record_verdict (inspection->verdict);
  const char *sentence = wsi_record_sentence (inspection->reason);
  wsi_page_draw_title (page, "Inspection report", inspection->id);
  draw_band (page, verdict, inspection->tool != NULL ? inspection->tool : inspection->kind);
  put_action (page, record);
  put_facts (page, inspection, record);
  page->y += 4.0;
  draw_picture (page, what->annotated, record, picture);
  if (sentence != NULL)
    wsi_page_put_paragraph (page, "", sentence);
  wsi_page_put_table (page, inspection, record);
  put_list (page, "What was found", record, "findings");
  put_list (page, "What to do", record, "advice");
  put_list (page, "Take care", record, "cautions");
  put_calibration (page, record);
}

/* Letters get smaller until there is room for the picture as well. */
static double
fit (const WsPage *page, const WsPdfPage *what, const json_t *record, double *scale)
{
  const double bottom = page->height - WS_PAGE_FOOTER - SIGNATURE;
  const double least = what->annotated != NULL ? LEAST_PICTURE : NO_PICTURE;
  double room = 0.0;
  for (*scale = 1.0; *scale > LEAST_SCALE; *scale *= SHRINK)
  {
    WsPage trial = *page;
    trial.dry = TRUE;
    trial.scale = *scale;
    set_page (&trial, what, record, 0.0);
    room = bottom - trial.y;
    if (room >= least)
      break;
  }
  return CLAMP (room, NO_PICTURE, what->annotated != NULL ? MOST_PICTURE * page->height : least);
}

gboolean
wsi_page_draw_tool (WsPage *page, const WsPdfPage *what, GError **error)
{
  json_error_t cause;
  json_t *record = json_loads (what->inspection->record, JSON_REJECT_DUPLICATES, &cause);
  if (record == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: not a record: %s", what->inspection->id,
                 cause.text);
    return FALSE;
  }
  const double picture = fit (page, what, record, &page->scale);
  set_page (page, what, record, picture);
  page->scale = 1.0;
  draw_signature (page);
  json_decref (record);
  return TRUE;
}
