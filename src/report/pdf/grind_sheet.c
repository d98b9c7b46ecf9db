#include "report/pdf/grind_sheet.h"

#include <math.h>
#include <string.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/number.h"
#include "base/told_text.h"
#include "report/pdf/page.h"
#include "report/pdf/paper.h"
#include "report/pdf/picture.h"
#include "report/pdf/qr.h"
#include "report/pdf/read.h"
#include "report/words.h"

#define LARGE 12.5 /* letters that are read at the wheel */
#define CODE 70.0
#define PICTURE 230.0
#define INDENT 22.0
#define LINE 24.0 /* to be written on by hand */

/* ---- Words ---- */

static void
put_large (WsPage *page, const char *bullet, const char *text)
{
  WsTextStyle style = wsi_page_letters (LARGE, TRUE, WS_INK);
  double width, height;
  style.wrap = wsi_page_inner_width (page) - INDENT;
  wsi_canvas_measure (page->cr, &style, text, &width, &height);
  wsi_page_make_room (page, height);
  wsi_page_put (page, &style, WS_PAGE_MARGIN + INDENT, page->y, text);
  style.wrap = 0.0;
  wsi_page_put (page, &style, WS_PAGE_MARGIN, page->y, bullet);
  page->y += height + 3.0;
}

/* Free with g_free(). */
static char *
sentence_at (const json_t *list, gsize i)
{
  const json_t *entry = json_array_get (list, i);
  return wsi_told_text (json_is_string (entry) ? json_string_value (entry)
                                               : wsi_record_text (entry, "text"));
}

static void
put_head (WsPage *page, const WsGrindSheet *sheet)
{
  const double top = page->y;
  if (!page->dry)
    wsi_qr_draw (page->cr, sheet->tool, page->width - WS_PAGE_MARGIN - CODE, top, CODE);
  wsi_page_put (page, &(WsTextStyle){ .size = 20.0, .bold = TRUE, .colour = WS_INK },
                WS_PAGE_MARGIN, page->y, sheet->tool);
  page->y += 28.0;
  wsi_page_put_paragraph (page, "", sheet->words != NULL ? sheet->words : "");
  if (sheet->handed != NULL)
  {
    g_autofree char *time = wsi_words_local_time (sheet->handed);
    g_autofree char *words =
      g_strdup_printf ("%s: %s, %s", _ ("Handed over by"), sheet->handed_by, time);
    wsi_page_put_paragraph (page, "", words);
  }
  if (sheet->page != NULL)
  {
    g_autofree char *time = wsi_words_local_time (sheet->page->inspection->time);
    g_autofree char *words =
      g_strdup_printf ("%s: %s, %s, %s", _ ("By the picture"), time, sheet->page->inspection->view,
                       sheet->page->inspection->id);
    wsi_page_put_paragraph (page, "", words);
  }
  page->y = fmax (page->y, top + CODE + 4.0);
}

static void
put_list (WsPage *page, const char *title, const json_t *list, gboolean large)
{
  if (json_array_size (list) == 0)
    return;
  wsi_page_put_heading (page, title);
  for (gsize i = 0; i < json_array_size (list); i++)
  {
    g_autofree char *number = g_strdup_printf ("%u.", (guint)i + 1);
    g_autofree char *sentence = sentence_at (list, i);
    if (sentence == NULL)
      continue;
    if (large)
      put_large (page, number, sentence);
    else
      wsi_page_put_paragraph (page, "•", sentence);
  }
}

/* ---- Amounts ---- */

#define INCH_PLACES 4

/* "0.34 mm [0.0134 in]": as the advice tells it in words. */
static char *
amount_words (const char *name, double value)
{
  const char *suffix = strrchr (name, '_');
  const char *unit = suffix != NULL ? suffix + 1 : "";
  const gboolean is_mm = g_str_equal (unit, "mm");
  g_autofree char *number = is_mm ? wsi_number_exact (value) : wsi_number_format (value, 2);
  if (!is_mm)
    return g_strconcat (number, g_str_equal (unit, "deg") ? "°" : " px", NULL);
  g_autofree char *inches = wsi_number_format (value / WS_MM_PER_INCH, INCH_PLACES);
  return g_strdup_printf ("%s mm [%s in]", number, inches);
}

/* "lip_a_at_corner_mm" -> "lip a at corner", as this thread's language has it. */
static char *
amount_name (const char *name)
{
  const char *end = strrchr (name, '_');
  g_autofree char *words = g_strndup (name, end != NULL ? (gsize)(end - name) : strlen (name));
  return wsi_told_text (g_strdelimit (words, "_", ' '));
}

static void
put_amounts (WsPage *page, const json_t *record)
{
  const char *name;
  json_t *value, *grinding = json_object_get (record, "grinding");
  if (json_object_size (grinding) == 0)
    return;
  wsi_page_put_heading (page, _ ("Amounts"));
  json_object_foreach (grinding, name, value)
  {
    g_autofree char *what = amount_name (name);
    g_autofree char *amount = amount_words (name, json_number_value (value));
    const WsTextStyle style = wsi_page_letters (LARGE, FALSE, WS_INK);
    WsTextStyle bold = wsi_page_letters (LARGE, TRUE, WS_INK);
    wsi_page_make_room (page, WS_PAGE_ROW * LARGE);
    wsi_page_put (page, &style, WS_PAGE_MARGIN + INDENT, page->y, what);
    bold.across = WS_END;
    wsi_page_put (page, &bold, WS_PAGE_MARGIN + 0.7 * wsi_page_inner_width (page), page->y, amount);
    page->y += WS_PAGE_ROW * LARGE;
    wsi_page_rule (page, page->y - 3.0);
  }
}

/* ---- To be filled in ---- */

static void
put_lines (WsPage *page)
{
  const char *const words[] = { _ ("Ground by"), _ ("Date"), _ ("Ground off, mm"),
                                _ ("Length after, mm") };
  const WsTextStyle style = wsi_page_letters (WS_PAGE_TEXT, FALSE, WS_INK);
  const double half = 0.5 * wsi_page_inner_width (page);
  wsi_page_make_room (page, LINE * (3 + G_N_ELEMENTS (words) / 2));
  wsi_page_put_heading (page, _ ("When it is ground"));
  for (gsize i = 0; i < G_N_ELEMENTS (words); i++)
  {
    const double x = WS_PAGE_MARGIN + (i % 2 == 1 ? half : 0);
    const double y = page->y + (i > 1 ? LINE : 0) + 8.0; /* two in a row */
    wsi_page_put (page, &style, x, y, words[i]);
    if (!page->dry)
      wsi_canvas_line (page->cr, WS_INK, 0.7, wsi_point (x + 90.0, y + 12.0),
                       wsi_point (x + half - 12.0, y + 12.0));
  }
  page->y += LINE * (G_N_ELEMENTS (words) / 2) + 14.0;
  wsi_page_put_paragraph (page, "",
                          _ ("Mark the tool as ground on the page Toolroom; its next picture then "
                             "counts as the first since."));
}

static gboolean
draw (WsPage *page, gpointer data, GError **error)
{
  const WsGrindSheet *sheet = data;
  (void)error;
  g_autofree char *time = wsi_words_local_time (page->style->time);
  wsi_page_begin (page, _ ("Grind sheet"), time);
  put_head (page, sheet);
  if (sheet->record == NULL)
    wsi_page_put_paragraph (page, "",
                            _ ("No picture says what is to be ground; measure it first."));
  put_list (page, _ ("What to do"), json_object_get (sheet->record, "advice"), TRUE);
  put_amounts (page, sheet->record);
  put_list (page, _ ("Take care"), json_object_get (sheet->record, "cautions"), FALSE);
  if (sheet->page != NULL)
  {
    wsi_page_put_heading (page, _ ("The picture"));
    wsi_page_make_room (page, 0.75 * PICTURE);
    page->y += wsi_page_draw_small (page, sheet->page, sheet->record, WS_PAGE_MARGIN, PICTURE);
  }
  put_lines (page);
  wsi_page_end (page);
  return TRUE;
}

GBytes *
wsi_grind_sheet_print (const WsGrindSheet *sheet, const WsPdfStyle *style, GError **error)
{
  WsGrindSheet copy = *sheet;
  return wsi_paper_print (_ ("Grind sheet"), style, draw, &copy, error);
}
