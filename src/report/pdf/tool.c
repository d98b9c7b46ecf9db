/*
 * A tool's pages: verdict, what to do and the picture on the first, then what that rests on.
 */
#include "report/pdf/tool.h"

#include <math.h>

#include <whetsight/error.h>

#include "archive/note.h"
#include "base/geometry.h"
#include "base/language.h"
#include "base/told_text.h"
#include "report/pdf/basis.h"
#include "report/pdf/letterhead.h"
#include "report/pdf/picture.h"
#include "report/pdf/read.h"
#include "report/pdf/table.h"
#include "report/told.h"
#include "report/units.h"
#include "report/words.h"

#define BAND 40.0
#define ACTION 12.0 /* letters */
#define FACT 80.0   /* where a fact stands, beside its name */

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
  wsi_page_put (page, &word, WS_PAGE_MARGIN + BAND, middle, _ (wsi_words_verdict (verdict)));
  wsi_page_put (page, &more, page->width - WS_PAGE_MARGIN - 8.0, middle, words);
  page->y += BAND + 5.0;
}

/* What to do with the tool, which a grinder looks for first, and why. */
static void
put_action (WsPage *page, const WsInspection *inspection, const json_t *record)
{
  const char *action = wsi_words_action_named (wsi_record_text (record, "action"));
  const char *aside = wsi_record_text (record, "set_aside");
  g_autofree char *reason = wsi_told_reason (page->style->lookup, inspection->view, record);
  g_autofree char *why = wsi_told_text (aside != NULL ? aside : reason);
  g_autofree char *words = g_strdup_printf ("%s %s", action != NULL ? _ (action) : "", why);
  WsTextStyle style = wsi_page_letters (ACTION, TRUE, WS_INK);
  style.wrap = wsi_page_inner_width (page);
  g_strstrip (words);
  if (*words != '\0')
    page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

/* What this view and the others say of the tool together; a retake's page must not read as if its
 * picture did. */
static void
put_state (WsPage *page, WsVerdict verdict, const char *state)
{
  const char *who = verdict == WS_VERDICT_RETAKE
                      ? _ ("This picture says nothing of the tool. Its other pictures")
                      : _ ("All views");
  g_autofree char *words = state != NULL ? g_strdup_printf ("%s: %s", who, state) : NULL;
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
  wsi_page_put_fitting (page, value, x + FACT, page->y, half - FACT - 6.0, text);
  if (*side == 1)
    page->y += WS_PAGE_ROW * WS_PAGE_TEXT;
  *side = 1 - *side;
}

/* What asks for these lines. */
static void
put_clauses (WsPage *page)
{
  WsTextStyle small = wsi_page_letters (WS_PAGE_CLAUSE, FALSE, WS_GREY);
  small.across = WS_END;
  page->y += wsi_page_put (page, &small, page->width - WS_PAGE_MARGIN, page->y,
                           _ ("ISO/IEC 17025:2017, 7.8.2.1: e customer, g tool, i date, f method, "
                              "b, c who and where")) +
             3.0;
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
    g_strdup_printf ("%s%s%s%s", _ (inspection->kind), *number != '\0' ? ", " : "", number,
                     *number != '\0' ? " mm" : "");
  const WsPdfShop none = { 0 }, *shop = page->style->shop != NULL ? page->style->shop : &none;
  const char *by = wsi_record_text (record, "measured_by");
  guint side = 0;
  put_fact (page, &side, _ ("Customer"), shop->customer);
  put_fact (page, &side, _ ("Order"), shop->order);
  put_fact (page, &side, _ ("Part"), shop->part);
  put_fact (page, &side, _ ("Tool"), inspection->tool != NULL ? inspection->tool : _ ("no card"));
  put_fact (page, &side, _ ("Kind"), kind);
  put_fact (page, &side, _ ("View"), inspection->view);
  put_fact (page, &side, _ ("Measured"), time);
  put_fact (page, &side, _ ("Measured by"), by != NULL ? by : _ ("not recorded"));
  put_fact (page, &side, _ ("Station"), inspection->station);
  put_fact (page, &side, _ ("Measured with"), wsi_record_text (record, "program"));
  put_fact (page, &side, _ ("Ground by"),
            inspection->grinder != NULL ? inspection->grinder : _ ("not recorded"));
  put_fact (page, &side, _ ("Reground"), what->regrind);
  put_fact (page, &side, _ ("Machine"), wsi_record_text (record, "machine"));
  if (side == 1)
    page->y += WS_PAGE_ROW * WS_PAGE_TEXT;
  put_clauses (page);
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
    g_autofree char *told = wsi_told_text (
      json_is_string (entry) ? json_string_value (entry) : wsi_record_text (entry, "text"));
    g_autofree char *text = wsi_units_sentence (told, units_of (page));
    if (text == NULL || wsi_words_is_in_table (wsi_record_text (entry, "code")))
      continue;
    if (is_first)
      wsi_page_put_heading (page, title);
    is_first = FALSE;
    wsi_page_put_paragraph (page, "•", text);
  }
}

/* ---- What can't be trusted ---------------------------------------------------------------- */

/* In place of the verdict: nothing of a row that was changed is printed as a result. */
static void
set_wrong_page (WsPage *page, const WsInspection *inspection)
{
  WsTextStyle style = wsi_page_letters (24.0, TRUE, wsi_canvas_verdict_colour (WS_VERDICT_REJECT));
  g_autofree char *wrong = wsi_told_text (inspection->wrong);
  g_autofree char *words = g_strdup_printf (
    _ ("This inspection is not as it was written: %s. Nothing of it is printed as a result, and "
       "nobody "
       "should sign it. Run whetsight archive verify; a copy of the archive may still have it."),
    wrong);
  wsi_page_begin (page, _ ("Inspection report"), inspection->id);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, _ (WS_PAGE_ALTERED)) + 6.0;
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
  g_autofree char *words =
    g_strdup_printf (_ ("IMPORTED, not measured here: %s.%s"), inspection->imported,
                     inspection->has_pictures ? "" : _ (" Its pictures are not in this archive."));
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
    g_autofree char *words = wsi_note_told (note, time);
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
    g_strdup_printf (_ ("CLOCK SET BACK: this was stored after an inspection of %s."), newest);
  style.wrap = wsi_page_inner_width (page);
  page->y += wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, words) + 3.0;
}

static void
set_pages (WsPage *page, const WsPdfPage *what, const json_t *record)
{
  const WsInspection *inspection = what->inspection;
  const WsVerdict verdict = wsi_record_verdict (inspection->verdict);
  wsi_page_put_letterhead (page);
  wsi_page_begin (page, _ ("Inspection report"), inspection->id);
  draw_band (page, verdict, inspection->tool != NULL ? inspection->tool : _ (inspection->kind));
  put_action (page, inspection, record);
  put_origin (page, inspection);
  put_clock (page, inspection);
  put_notes (page, inspection);
  put_state (page, verdict, what->state);
  put_facts (page, what, record);
  wsi_page_draw_picture (page, what, record);
  put_list (page, _ ("What to do"), record, "advice");
  put_list (page, _ ("Take care"), record, "cautions");
  wsi_page_put_table (page, inspection, record);
  put_list (page, _ ("What was found"), record, "findings");
  wsi_page_put_basis (page, inspection, record);
  wsi_page_put_signature (page, verdict);
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
