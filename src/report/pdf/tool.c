/*
 * A tool's pages: verdict, what to do and the picture on the first, then what that rests on.
 */
#include "report/pdf/tool.h"

#include <math.h>

#include <whetsight/error.h>

#include "archive/note.h"
#include "base/geometry.h"
#include "base/shown.h"
#include "report/pdf/read.h"
#include "report/pdf/sheet.h"
#include "report/pdf/table.h"
#include "report/picture/picture_area.h"
#include "report/units.h"
#include "report/words.h"

#define BAND 40.0
#define ACTION 12.0 /* letters */
#define SIGNATURE 40.0
#define NO_PICTURE 20.0     /* room to say so */
#define MOST_PICTURE 0.58   /* of the paper's height */
#define PICTURE_MARGIN 14.0 /* at its sides: it is what one looks at */

/* ---- Head, facts and lists --------------------------------------------------------------- */

static void
draw_band (WsPage *page, WsVerdict verdict, const char *words)
{
  const double middle = page->y + 0.5 * BAND;
  WsTextStyle word = wsi_page_letters (24.0, TRUE, wsi_canvas_verdict_ink (verdict));
  WsTextStyle more = wsi_page_letters (ACTION, TRUE, word.colour);
  word.down = more.down = WS_MIDDLE;
  more.across = WS_END;
  if (!page->dry)
  {
    wsi_canvas_box (page->cr, wsi_canvas_verdict_colour (verdict), WS_PAGE_MARGIN, page->y,
                    wsi_page_inner_width (page), BAND);
    wsi_canvas_verdict_shape (page->cr, verdict, wsi_point (WS_PAGE_MARGIN + 0.5 * BAND, middle),
                              0.34 * BAND, word.colour);
  }
  wsi_page_put (page, &word, WS_PAGE_MARGIN + BAND, middle, wsi_words_verdict (verdict));
  wsi_page_put (page, &more, page->width - WS_PAGE_MARGIN - 8.0, middle, words);
  page->y += BAND + 5.0;
}

/* What a retake asks for, or the finding that the verdict rests on, by the reason's code; else
 * which quantities have the tool's verdict.  "" when there is nothing to tell; free with g_free().
 */
static char *
reason_words (const WsPage *page, const WsInspection *inspection, const json_t *record)
{
  gsize i;
  const char *name;
  json_t *entry, *findings = json_object_get (record, "findings");
  const char *code = wsi_record_text (record, "reason");
  const char *verdict = inspection->verdict;
  if (wsi_record_sentence (inspection->reason) != NULL)
    return g_strdup (wsi_record_sentence (inspection->reason));
  json_array_foreach (
    findings, i, entry) if (code != NULL && g_strcmp0 (wsi_record_text (entry, "code"), code) ==
                                              0) return g_strdup (wsi_record_text (entry, "text"));
  const gboolean is_out = g_strcmp0 (verdict, "reject") == 0;
  if (!is_out && g_strcmp0 (verdict, "undecided") != 0)
    return g_strdup ("");
  GString *words = g_string_new (NULL);
  json_object_foreach (json_object_get (record, "quantities"), name, entry)
  {
    if (g_strcmp0 (wsi_record_text (entry, "verdict"), verdict) != 0)
      continue;
    g_autofree char *label = wsi_page_label (page, inspection->view, name);
    label[0] = g_ascii_tolower (label[0]);
    g_string_append_printf (words, "%s%s",
                            words->len > 0 ? ", "
                            : is_out       ? "Outside the limits: "
                                           : "Too near the limits to tell: ",
                            label);
  }
  if (words->len > 0)
    g_string_append_c (words, '.');
  return g_string_free (words, FALSE);
}

/* What to do with the tool, which a grinder looks for first, and why. */
static void
put_action (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  const char *action = wsi_words_action_named (wsi_record_text (record, "action"));
  const char *aside = wsi_record_text (record, "set_aside");
  g_autofree char *reason = reason_words (page, inspection, record);
  g_autofree char *words =
    g_strdup_printf ("%s %s", action != NULL ? action : "", aside != NULL ? aside : reason);
  WsTextStyle style = wsi_page_letters (ACTION, TRUE, WS_INK);
  style.wrap = wsi_page_inner_width (page);
  g_strstrip (words);
  if (*words != '\0')
    page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

/* What this view and the others say of the tool together. */
static void
put_state (WsPage *page, const char *state)
{
  g_autofree char *words = state != NULL ? g_strdup_printf ("All views: %s", state) : NULL;
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, TRUE, WS_INK);
  style.wrap = wsi_page_inner_width (page);
  if (words != NULL)
    page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

/* Two columns, read across; `side` is the next one's. */
static void
put_fact (WsPage *page, guint *side, const char *name, const char *text)
{
  const WsTextStyle key = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  const WsTextStyle value = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_INK);
  const double half = 0.5 * wsi_page_inner_width (page), x = WS_PAGE_MARGIN + *side * half;
  if (text == NULL || *text == '\0')
    return;
  wsi_page_put (page, &key, x, page->y, name);
  wsi_page_put_fitting (page, value, x + 62.0, page->y, half - 68.0, text);
  if (*side == 1)
    page->y += WS_PAGE_ROW * WS_PAGE_TEXT;
  *side = 1 - *side;
}

static void
put_facts (WsPage *page, const WsPdfPage *what, const json_t *record)
{
  const WsInspection *inspection = what->inspection;
  const json_t *tool = json_object_get (record, "tool");
  const double size = isfinite (wsi_record_number (tool, "diameter_mm"))
                        ? wsi_record_number (tool, "diameter_mm")
                        : wsi_record_number (tool, "width_mm");
  g_autofree char *number = wsi_record_size (size);
  g_autofree char *time = wsi_words_local_time (inspection->time);
  g_autofree char *kind =
    g_strdup_printf ("%s%s%s%s", inspection->kind, *number != '\0' ? ", " : "", number,
                     *number != '\0' ? " mm" : "");
  guint side = 0;
  put_fact (page, &side, "Tool", inspection->tool != NULL ? inspection->tool : "no card");
  put_fact (page, &side, "Kind", kind);
  put_fact (page, &side, "View", inspection->view);
  put_fact (page, &side, "Measured", time);
  put_fact (page, &side, "Station", inspection->station);
  put_fact (page, &side, "Ground by", inspection->grinder);
  if (side == 1)
    page->y += WS_PAGE_ROW * WS_PAGE_TEXT;
  page->y += 4.0;
}

/* What proves that this is the picture and the record. */
static void
put_hashes (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  const char *sha256 = wsi_record_text (json_object_get (record, "image"), "sha256");
  const char *name = inspection->image_name;
  g_autofree char *shown = name != NULL ? wsi_shown (name) : g_strdup ("?");
  g_autofree char *picture = g_strdup_printf (
    "Picture %s%s%s", shown, sha256 != NULL ? ", SHA-256 " : "", sha256 != NULL ? sha256 : "");
  g_autofree char *kept =
    inspection->hash != NULL ? g_strdup_printf ("Archive hash %s", inspection->hash) : NULL;
  wsi_page_put_heading (page, "Kept as");
  wsi_page_put_paragraph (page, "", picture);
  if (kept != NULL)
    wsi_page_put_paragraph (page, "", kept);
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
      *number == '\0' ? g_strdup_printf ("None: %s; lengths in px.", not_corrected)
      : isfinite (wsi_record_number (scale, "known_size_mm"))
        ? g_strdup_printf ("Scale from the tool's own size, %s mm a pixel; %s.", number,
                           not_corrected)
        : g_strdup_printf ("Scale given as %s mm a pixel; %s.", number, not_corrected);
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

/* Sentences have one unit where the table has two. */
static WsUnits
units_of (const WsPage *page)
{
  const WsLengths lengths = page->style->lengths;
  return lengths == WS_LENGTHS_INCHES || lengths == WS_LENGTHS_INCHES_MM ? WS_UNITS_IN
                                                                         : WS_UNITS_MM;
}

/* Texts, or objects with a text. */
static void
put_list (WsPage *page, const char *title, const json_t *record, const char *key)
{
  gsize i;
  json_t *entry;
  json_t *list = json_object_get (record, key);
  gboolean is_first = TRUE;
  json_array_foreach (list, i, entry)
  {
    g_autofree char *text = wsi_units_sentence (
      json_is_string (entry) ? json_string_value (entry) : wsi_record_text (entry, "text"),
      units_of (page));
    if (text == NULL || wsi_words_is_in_table (wsi_record_text (entry, "code")))
      continue;
    if (is_first)
      wsi_page_put_heading (page, title);
    is_first = FALSE;
    wsi_page_put_paragraph (page, "•", text);
  }
}

/* ---- The picture -------------------------------------------------------------------------- */

static double
most_width (const WsPage *page)
{
  return page->width - 2.0 * PICTURE_MARGIN;
}

static void
paint_part (const WsPage *page, cairo_surface_t *sheet, const WsArea *area, double height)
{
  cairo_t *cr = page->cr;
  const double factor = fmin (height / area->height, most_width (page) / area->width);
  cairo_save (cr);
  cairo_translate (cr, 0.5 * (page->width - factor * area->width), page->y);
  cairo_scale (cr, factor, factor);
  /* Without the outermost px, which would blend with what surrounds the picture. */
  cairo_rectangle (cr, 1.0, 1.0, area->width - 2.0, area->height - 2.0);
  cairo_clip (cr);
  cairo_set_source_surface (cr, sheet, -area->x, -area->y);
  cairo_paint (cr);
  cairo_restore (cr);
}

/* Of the picture as the record has it, px; FALSE when a record from elsewhere has no such size. */
static gboolean
picture_size (const json_t *record, double *width, double *rows)
{
  const json_t *image = json_object_get (record, "image");
  *width = wsi_record_number (image, "width");
  *rows = wsi_record_number (image, "height");
  return *width >= 1.0 && *rows >= 1.0 && *width <= G_MAXINT / 4 && *rows <= G_MAXINT / 4;
}

/* As wide as the paper has room for, but for upright ones. */
static double
picture_height (const WsPage *page, const WsPdfPage *what, const json_t *record)
{
  double width, rows;
  if (what->annotated == NULL || !picture_size (record, &width, &rows))
    return NO_PICTURE;
  return fmin (most_width (page) * rows / width, MOST_PICTURE * page->height);
}

/* FALSE when the sheet isn't one of a picture of that size. */
static gboolean
paint_sheet (const WsPage *page, cairo_surface_t *sheet, const json_t *record, double height)
{
  double width, rows;
  WsArea area;
  if (!picture_size (record, &width, &rows))
    return FALSE;
  wsi_report_picture_area ((guint)width, (guint)rows, cairo_image_surface_get_width (sheet), &area);
  if (area.x + area.width > cairo_image_surface_get_width (sheet) ||
      area.y + area.height > cairo_image_surface_get_height (sheet))
    return FALSE;
  paint_part (page, sheet, &area, height);
  return TRUE;
}

static void
put_no_picture (WsPage *page, double height, const char *why)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  style.across = style.down = WS_MIDDLE;
  wsi_page_put (page, &style, 0.5 * page->width, page->y + 0.5 * height, why);
}

/* The picture out of the annotated sheet; what stood around it is set anew here. */
static void
draw_picture (WsPage *page, const WsPdfPage *what, const json_t *record)
{
  g_autoptr (GError) wrong = NULL;
  const double height = picture_height (page, what, record);
  const gboolean is_named = height > NO_PICTURE;
  cairo_surface_t *sheet = !page->dry && is_named ? wsi_sheet_read (what->annotated, &wrong) : NULL;
  if (!page->dry && sheet == NULL)
    put_no_picture (page, height,
                    is_named ? "the annotated picture is missing or can't be read"
                             : "no annotated picture");
  else if (!page->dry && !paint_sheet (page, sheet, record, height))
    put_no_picture (page, height, "the annotated picture is not of this inspection");
  if (sheet != NULL)
    cairo_surface_destroy (sheet);
  page->y += height + 4.0;
}

/* A retake says nothing that one could sign for. */
static void
put_signature (WsPage *page, WsVerdict verdict)
{
  if (verdict == WS_VERDICT_RETAKE)
    return;
  wsi_page_make_room (page, SIGNATURE);
  if (page->dry)
    return;
  const WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_GREY);
  const double y = page->height - WS_PAGE_FOOTER - 22.0;
  const double middle = WS_PAGE_MARGIN + 0.62 * wsi_page_inner_width (page);
  wsi_canvas_line (page->cr, WS_INK, 0.6, wsi_point (WS_PAGE_MARGIN, y),
                   wsi_point (middle - 20.0, y));
  wsi_canvas_line (page->cr, WS_INK, 0.6, wsi_point (middle, y),
                   wsi_point (page->width - WS_PAGE_MARGIN, y));
  wsi_page_put (page, &style, WS_PAGE_MARGIN, y + 2.0, "Inspected by (name, signature)");
  wsi_page_put (page, &style, middle, y + 2.0, "Date");
}

/* ---- What can't be trusted ---------------------------------------------------------------- */

/* In place of the verdict: nothing of a row that was changed is printed as a result. */
static void
set_wrong_page (WsPage *page, const WsInspection *inspection)
{
  WsTextStyle style = wsi_page_letters (24.0, TRUE, wsi_canvas_verdict_colour (WS_VERDICT_REJECT));
  g_autofree char *words = g_strdup_printf (
    "This inspection is not as it was written: %s. Nothing of it is printed as a result, and "
    "nobody "
    "should sign it. Run whetsight archive verify; a copy of the archive may still have it.",
    inspection->wrong);
  wsi_page_begin (page, "Inspection report", inspection->id);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, WS_PAGE_ALTERED) + 6.0;
  style = wsi_page_letters (ACTION, TRUE, style.colour);
  style.wrap = wsi_page_inner_width (page);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words);
  wsi_page_end (page);
}

/* Nobody here saw the picture. */
static void
put_origin (WsPage *page, const WsInspection *inspection)
{
  if (inspection->imported == NULL)
    return;
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, TRUE, WS_INK);
  g_autofree char *words = g_strdup_printf (
    "IMPORTED, not measured here: %s. Its pictures are not in this archive.", inspection->imported);
  style.wrap = wsi_page_inner_width (page);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

/* What people added to it, each beside the verdict, which stays. */
static void
put_notes (WsPage *page, const WsInspection *inspection)
{
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, TRUE, WS_INK);
  style.wrap = wsi_page_inner_width (page);
  for (guint i = 0; inspection->notes != NULL && i < inspection->notes->len; i++)
  {
    const WsNote *note = g_ptr_array_index (inspection->notes, i);
    g_autofree char *time = wsi_words_local_time (note->time);
    g_autofree char *words = wsi_note_words (note, time);
    *words = g_ascii_toupper (*words);
    page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
  }
}

static void
put_clock (WsPage *page, const WsInspection *inspection)
{
  if (inspection->clock == NULL)
    return;
  WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, TRUE, WS_INK);
  g_autofree char *newest = wsi_words_local_time (inspection->clock);
  g_autofree char *words =
    g_strdup_printf ("CLOCK SET BACK: this was stored after an inspection of %s.", newest);
  style.wrap = wsi_page_inner_width (page);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

static void
set_pages (WsPage *page, const WsPdfPage *what, const json_t *record)
{
  const WsInspection *inspection = what->inspection;
  const WsVerdict verdict = wsi_record_verdict (inspection->verdict);
  wsi_page_begin (page, "Inspection report", inspection->id);
  draw_band (page, verdict, inspection->tool != NULL ? inspection->tool : inspection->kind);
  put_action (page, inspection, record);
  put_origin (page, inspection);
  put_clock (page, inspection);
  put_notes (page, inspection);
  put_state (page, what->state);
  put_facts (page, what, record);
  draw_picture (page, what, record);
  put_list (page, "What to do", record, "advice");
  put_list (page, "Take care", record, "cautions");
  wsi_page_put_table (page, inspection, record);
  put_list (page, "What was found", record, "findings");
  put_calibration (page, record);
  put_hashes (page, inspection, record);
  put_signature (page, verdict);
  wsi_page_end (page);
}

gboolean
wsi_page_draw_tool (WsPage *page, const WsPdfPage *what, GError **error)
{
  json_error_t cause;
  if (what->inspection->wrong != NULL)
  {
    set_wrong_page (page, what->inspection);
    return TRUE;
  }
  json_t *record = json_loads (what->inspection->record, JSON_REJECT_DUPLICATES, &cause);
  if (record == NULL)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: not a record: %s", what->inspection->id,
                 cause.text);
    return FALSE;
  }
  set_pages (page, what, record);
  json_decref (record);
  return TRUE;
}
