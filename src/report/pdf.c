#include <cairo-pdf.h>
#include <jansson.h>
#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/pdf.h>

#include "base/geometry.h"
#include "base/number.h"
#include "report/canvas.h"
#include "report/picture/picture_area.h"
#include "report/words.h"

/* All in points, 1/72 inch. */
#define MARGIN 42.0
#define TITLE 15.0
#define BAND 40.0
#define TEXT 8.5
#define SMALL 7.0
#define ROW 1.45 /* of the letters' size */
#define FOOTER 26.0
#define SIGNATURE 44.0
#define LEAST_PICTURE 90.0
#define NO_PICTURE 20.0   /* room to say so */
#define MOST_PICTURE 0.36 /* of the paper's height */
#define SUMMARY_ROWS 40
#define TABLE 7.6 /* letters of the table */

/* Letters are measured by a screen's rules and printed without: a little wider (own trials). */
#define PRINTED_WIDER 1.05

#define MM_PER_INCH 25.4

/* A page that is too full is set in smaller letters, down to a third of the size. */
#define SHRINK 0.93
#define LEAST_SCALE 0.35

typedef struct
{
  cairo_t *cr; /* NULL only while its heights are measured: see `dry` */
  const WsPdfStyle *style;
  double width, height; /* of the paper */
  double scale;         /* of letters */
  gboolean dry;         /* nothing is drawn; only `y` moves */
  double y;
} Page;

/* ---- Words ------------------------------------------------------------------------------ */

static const char *
text_at (const json_t *object, const char *key)
{
  return json_string_value (json_object_get (object, key));
}

static double
number_at (const json_t *object, const char *key)
{
  const json_t *value = json_object_get (object, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

static WsVerdict
verdict_of (const char *name)
{
  for (int i = WS_VERDICT_ACCEPT; name != NULL && i <= WS_VERDICT_RETAKE; i++)
    if (g_str_equal (name, ws_verdict_name ((WsVerdict)i)))
      return (WsVerdict)i;
  return WS_VERDICT_NONE;
}

static const char *
sentence_of (const char *reason)
{
  for (int i = 1; reason != NULL && i < WS_N_RETAKES; i++)
    if (g_str_equal (reason, ws_retake_code ((WsRetake)i)))
      return ws_retake_sentence ((WsRetake)i);
  return NULL;
}

/* "6.4885 ± 0.0012 mm" of a value in its unit divided by `per`; free with g_free(). */
static char *
value_words (double value, double U, double per, const char *unit)
{
  const guint places = ws_number_places (U / per);
  g_autofree char *number = ws_number_format (value / per, places);
  g_autofree char *reach = isfinite (U) ? ws_number_format (U / per, places) : g_strdup ("?");
  return g_strdup_printf ("%s ± %s %s", number, reach, unit);
}

/* Three digits of small ones: built-in limits follow from factors and would go on for ever. */
static char *
end_words (double end, double per)
{
  char buffer[G_ASCII_DTOSTR_BUF_SIZE];
  const char *format = fabs (end) < 1.0 ? "%.3g" : "%.5g";
  return g_strdup (isfinite (end) ? g_ascii_formatd (buffer, sizeof buffer, format, end / per)
                                  : "");
}

static char *
limit_words (const json_t *entry, double per, const char *unit)
{
  g_autofree char *lower = end_words (number_at (entry, "lower"), per);
  g_autofree char *upper = end_words (number_at (entry, "upper"), per);
  if (*lower == '\0' && *upper == '\0')
    return g_strdup ("");
  return g_strdup_printf ("%s%s..%s%s %s", lower, *lower != '\0' ? " " : "",
                          *upper != '\0' ? " " : "", upper, g_str_equal (unit, "deg") ? "°" : unit);
}

/* What stands in a cell: the main unit, or both for lengths.  Takes both texts over. */
static char *
both (const Page *page, gboolean is_length, char *mm, char *inches)
{
  char *cell = NULL;
  if (!is_length || page->style->lengths == WS_LENGTHS_MM || *mm == '\0')
    cell = g_strdup (mm);
  else if (page->style->lengths == WS_LENGTHS_MM_INCHES)
    cell = g_strdup_printf ("%s [%s]", mm, inches);
  else
    cell = g_strdup_printf ("%s [%s]", inches, mm);
  g_free (mm);
  g_free (inches);
  return cell;
}

/* ---- Setting text ------------------------------------------------------------------------- */

static WsTextStyle
letters (const Page *page, double size, gboolean bold, WsColour colour)
{
  return (WsTextStyle){ .size = size * page->scale, .bold = bold, .colour = colour };
}

/* At x, in `wrap` points of width (0: one line); returns the height. */
static double
put (const Page *page, const WsTextStyle *style, double x, double y, const char *text)
{
  double width, height;
  ws_canvas_measure (page->cr, style, text, &width, &height);
  if (!page->dry)
    ws_canvas_text (page->cr, style, x, y, text);
  return height;
}

/* Letters get smaller until the text fits its column. */
static void
put_fitting (const Page *page, WsTextStyle style, double x, double y, double room, const char *text)
{
  double width, height;
  ws_canvas_measure (page->cr, &style, text, &width, &height);
  width *= PRINTED_WIDER;
  if (width > room)
    style.size *= room / width;
  put (page, &style, x, y, text);
}

static double
inner_width (const Page *page)
{
  return page->width - 2.0 * MARGIN;
}

static void
rule (const Page *page, double y)
{
  if (!page->dry)
    ws_canvas_line (page->cr, WS_PALE, 0.6, ws_point (MARGIN, y),
                    ws_point (page->width - MARGIN, y));
}

static void
put_heading (Page *page, const char *text)
{
  const WsTextStyle style = letters (page, TEXT, TRUE, WS_INK);
  page->y += 5.0 * page->scale;
  page->y += put (page, &style, MARGIN, page->y, text) + 1.0;
}

static void
put_paragraph (Page *page, const char *bullet, const char *text)
{
  WsTextStyle style = letters (page, TEXT, FALSE, WS_INK);
  const double indent = *bullet != '\0' ? 10.0 * page->scale : 0.0;
  if (*bullet != '\0')
    put (page, &style, MARGIN, page->y, bullet);
  style.wrap = inner_width (page) - indent;
  page->y += put (page, &style, MARGIN + indent, page->y, text) + 1.0;
}

/* ---- Head and foot ------------------------------------------------------------------------- */

static void
draw_title (Page *page, const char *title, const char *right)
{
  const Page full = { page->cr, page->style, page->width, page->height, 1.0, page->dry, 0.0 };
  const WsTextStyle style = letters (&full, TITLE, TRUE, WS_INK);
  WsTextStyle small = letters (&full, TEXT, FALSE, WS_GREY);
  small.across = WS_END;
  put (&full, &style, MARGIN, MARGIN - 14.0, title);
  put (&full, &small, page->width - MARGIN, MARGIN - 8.0, right);
  page->y = MARGIN + 10.0;
}

static void
draw_footer (const Page *page, guint number, guint of)
{
  const Page full = { page->cr, page->style, page->width, page->height, 1.0, page->dry, 0.0 };
  WsTextStyle style = letters (&full, SMALL, FALSE, WS_GREY);
  const double y = page->height - FOOTER;
  g_autofree char *left =
    g_strdup_printf ("whetsight %s · printed %s", WS_VERSION, page->style->time);
  g_autofree char *right = g_strdup_printf ("page %u of %u", number, of);
  put (&full, &style, MARGIN, y, left);
  style.across = WS_END;
  put (&full, &style, page->width - MARGIN, y, right);
}

static void
draw_band (Page *page, WsVerdict verdict, const char *words)
{
  const double height = BAND * page->scale, middle = page->y + 0.5 * height;
  WsTextStyle word = letters (page, 24.0, TRUE, ws_canvas_verdict_ink (verdict));
  WsTextStyle more = letters (page, TEXT, FALSE, word.colour);
  word.down = more.down = WS_MIDDLE;
  more.across = WS_END;
  if (!page->dry)
  {
    ws_canvas_box (page->cr, ws_canvas_verdict_colour (verdict), MARGIN, page->y,
                   inner_width (page), height);
    ws_canvas_verdict_shape (page->cr, verdict, ws_point (MARGIN + 0.5 * height, middle),
                             0.34 * height, word.colour);
  }
  put (page, &word, MARGIN + height, middle, ws_words_verdict (verdict));
  more.wrap = 0.0;
  put (page, &more, page->width - MARGIN - 8.0, middle, words);
  page->y += height + 6.0;
}

/* ---- A tool's page ------------------------------------------------------------------------- */

static void
put_fact (Page *page, const char *name, const char *text)
{
  const WsTextStyle key = letters (page, TEXT, FALSE, WS_GREY);
  WsTextStyle value = letters (page, TEXT, FALSE, WS_INK);
  if (text == NULL || *text == '\0')
    return;
  value.wrap = inner_width (page) - 80.0;
  put (page, &key, MARGIN, page->y, name);
  page->y += put (page, &value, MARGIN + 80.0, page->y, text);
}

static void
put_facts (Page *page, const WsInspection *inspection, const json_t *record)
{
  const json_t *tool = json_object_get (record, "tool");
  const json_t *image = json_object_get (record, "image");
  const double size = isfinite (number_at (tool, "diameter_mm")) ? number_at (tool, "diameter_mm")
                                                                 : number_at (tool, "width_mm");
  g_autofree char *number = end_words (size, 1.0);
  g_autofree char *kind =
    g_strdup_printf ("%s%s%s%s", inspection->kind, *number != '\0' ? ", " : "", number,
                     *number != '\0' ? " mm" : "");
  g_autofree char *picture =
    g_strdup_printf ("%s%s%s", inspection->image_name != NULL ? inspection->image_name : "?",
                     text_at (image, "sha256") != NULL ? ", SHA-256 " : "",
                     text_at (image, "sha256") != NULL ? text_at (image, "sha256") : "");
  put_fact (page, "Tool", inspection->tool != NULL ? inspection->tool : "no card");
  put_fact (page, "Kind", kind);
  put_fact (page, "View", inspection->view);
  put_fact (page, "Measured", inspection->time);
  put_fact (page, "Station", inspection->station);
  put_fact (page, "Ground by", inspection->grinder);
  put_fact (page, "Picture", picture);
  put_fact (page, "Archive hash", inspection->hash);
}

static void
put_calibration (Page *page, const json_t *record)
{
  const json_t *calibration = json_object_get (record, "calibration");
  const json_t *scale = json_object_get (record, "scale");
  char number[G_ASCII_DTOSTR_BUF_SIZE] = "";
  put_heading (page, "Calibration");
  if (json_is_object (scale))
    g_ascii_formatd (number, sizeof number, "%.7g", number_at (scale, "mm_per_px"));
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
    put_paragraph (page, "", words);
    return;
  }
  const char *check = text_at (calibration, "check");
  const char *check_time = text_at (calibration, "check_time");
  g_autofree char *words = g_strdup_printf (
    "%s, camera %s, model %s, %s; last check: %s%s%s%s. SHA-256 %s", text_at (calibration, "id"),
    text_at (calibration, "camera"), text_at (calibration, "model"),
    json_is_true (json_object_get (calibration, "expired")) ? "EXPIRED" : "valid when measured",
    check != NULL ? check : "never", check_time != NULL ? " " : "",
    check_time != NULL ? check_time : "",
    json_is_true (json_object_get (calibration, "check_ignored")) ? ", not counted" : "",
    text_at (calibration, "sha256"));
  put_paragraph (page, "", words);
}

/* ---- The table -------------------------------------------------------------------------- */

/* Parts of the inner width where columns start and end. */
static const double columns[] = { 0.0, 0.17, 0.215, 0.565, 0.915, 1.0 };

static double
column (const Page *page, guint i)
{
  return MARGIN + columns[i] * inner_width (page);
}

static void
put_cell (const Page *page, guint i, const WsTextStyle *style, const char *text)
{
  const double room = (columns[i + 1] - columns[i]) * inner_width (page) - 4.0;
  put_fitting (page, *style, column (page, i), page->y, room, text);
}

static guint
footnote (GPtrArray *sources, const char *source)
{
  guint index;
  if (g_ptr_array_find_with_equal_func (sources, source, g_str_equal, &index))
    return index + 1;
  g_ptr_array_add (sources, (gpointer)source);
  return sources->len;
}

static char *
limits_cell (const Page *page, const json_t *entry, const char *unit, GPtrArray *sources)
{
  const char *source = text_at (entry, "limit_source");
  char *limits = both (page, g_str_equal (unit, "mm"), limit_words (entry, 1.0, unit),
                       limit_words (entry, MM_PER_INCH, "in"));
  if (source == NULL || g_str_equal (source, "tool card") || *limits == '\0')
    return limits;
  char *noted = g_strdup_printf ("%s (%u)", limits, footnote (sources, source));
  g_free (limits);
  return noted;
}

static void
put_row (Page *page, const WsInspection *inspection, const char *name, const json_t *entry,
         GPtrArray *sources)
{
  const WsQuantityInfo *info =
    page->style->lookup != NULL ? page->style->lookup (inspection->view, name) : NULL;
  const char *mark = strrchr (name, '_');
  const char *unit = mark != NULL ? mark + 1 : "";
  const char *shown = g_str_equal (unit, "deg") ? "°" : unit;
  const WsVerdict verdict = verdict_of (text_at (entry, "verdict"));
  const WsTextStyle style = letters (page, TABLE, FALSE, WS_INK);
  const WsTextStyle strong = letters (page, TABLE, verdict == WS_VERDICT_REJECT, WS_INK);
  const double value = number_at (entry, "value"), U = number_at (entry, "U");
  g_autofree char *words =
    isfinite (value) ? both (page, g_str_equal (unit, "mm"), value_words (value, U, 1.0, shown),
                             value_words (value, U, MM_PER_INCH, "in"))
                     : g_strdup ("unknown");
  g_autofree char *limits = limits_cell (page, entry, unit, sources);
  put_cell (page, 0, &style, info != NULL ? info->label : name);
  put_cell (page, 1, &style, info != NULL && info->symbol != NULL ? info->symbol : "");
  put_cell (page, 2, &strong, words);
  put_cell (page, 3, &style, limits);
  put_cell (page, 4, &strong, verdict != WS_VERDICT_NONE ? ws_verdict_name (verdict) : "–");
  page->y += ROW * TABLE * page->scale;
  rule (page, page->y - 1.0);
}

static void
put_table (Page *page, const WsInspection *inspection, const json_t *record)
{
  const char *name;
  json_t *entry;
  json_t *quantities = json_object_get (record, "quantities");
  g_autoptr (GPtrArray) sources = g_ptr_array_new ();
  const WsTextStyle head = letters (page, TABLE, TRUE, WS_INK);
  static const char *const titles[] = { "Quantity", "", "Value ± U (k = 2)", "Limits", "Verdict" };
  if (json_object_size (quantities) == 0)
    return;
  page->y += 4.0;
  for (guint i = 0; i < G_N_ELEMENTS (titles); i++)
    put_cell (page, i, &head, titles[i]);
  page->y += ROW * TABLE * page->scale;
  rule (page, page->y - 1.0);
  json_object_foreach (quantities, name, entry) put_row (page, inspection, name, entry, sources);
  for (guint i = 0; i < sources->len; i++)
  {
    WsTextStyle note = letters (page, SMALL, FALSE, WS_GREY);
    g_autofree char *words = g_strdup_printf ("(%u) not on the tool card: %s", i + 1,
                                              (const char *)g_ptr_array_index (sources, i));
    note.wrap = inner_width (page);
    page->y += put (page, &note, MARGIN, page->y, words);
  }
}

/* Texts, or objects with a text. */
static void
put_list (Page *page, const char *title, const json_t *record, const char *key)
{
  gsize i;
  json_t *entry;
  json_t *list = json_object_get (record, key);
  if (json_array_size (list) == 0)
    return;
  put_heading (page, title);
  json_array_foreach (list, i, entry)
  {
    const char *text = json_is_string (entry) ? json_string_value (entry) : text_at (entry, "text");
    if (text != NULL)
      put_paragraph (page, "•", text);
  }
}

/* ---- The picture -------------------------------------------------------------------------- */

static void
paint_part (const Page *page, cairo_surface_t *sheet, const WsArea *area, double height)
{
  cairo_t *cr = page->cr;
  const double factor = fmin (height / area->height, inner_width (page) / area->width);
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
draw_picture (Page *page, const char *path, const json_t *record, double height)
{
  const json_t *image = json_object_get (record, "image");
  const double width = number_at (image, "width"), rows = number_at (image, "height");
  WsArea area;
  cairo_surface_t *sheet =
    !page->dry && path != NULL ? cairo_image_surface_create_from_png (path) : NULL;
  if (sheet != NULL && cairo_surface_status (sheet) == CAIRO_STATUS_SUCCESS && width > 0 &&
      rows > 0)
  {
    ws_report_picture_area ((guint)width, (guint)rows, &area);
    if (area.y + area.height <= cairo_image_surface_get_height (sheet))
      paint_part (page, sheet, &area, height);
  }
  else if (!page->dry)
  {
    WsTextStyle style = letters (page, TEXT, FALSE, WS_GREY);
    style.across = style.down = WS_MIDDLE;
    put (page, &style, 0.5 * page->width, page->y + 0.5 * height, "no annotated picture");
  }
  if (sheet != NULL)
    cairo_surface_destroy (sheet);
  page->y += height + 4.0;
}

static void
draw_signature (const Page *page)
{
  const WsTextStyle style = letters (page, TEXT, FALSE, WS_GREY);
  const double y = page->height - FOOTER - 22.0;
  const double middle = MARGIN + 0.62 * inner_width (page);
  ws_canvas_line (page->cr, WS_INK, 0.6, ws_point (MARGIN, y), ws_point (middle - 20.0, y));
  ws_canvas_line (page->cr, WS_INK, 0.6, ws_point (middle, y), ws_point (page->width - MARGIN, y));
  put (page, &style, MARGIN, y + 2.0, "Inspected by (name, signature)");
  put (page, &style, middle, y + 2.0, "Date");
}

/* Everything but the picture; with `picture` of its height. */
static void
set_page (Page *page, const WsPdfPage *what, const json_t *record, double picture)
{
  const WsInspection *inspection = what->inspection;
  const WsVerdict verdict = verdict_of (inspection->verdict);
  const char *sentence = sentence_of (inspection->reason);
  draw_title (page, "Inspection report", inspection->id);
  draw_band (page, verdict, inspection->tool != NULL ? inspection->tool : inspection->kind);
  put_facts (page, inspection, record);
  page->y += 4.0;
  draw_picture (page, what->annotated, record, picture);
  if (sentence != NULL)
    put_paragraph (page, "", sentence);
  put_table (page, inspection, record);
  put_list (page, "What was found", record, "findings");
  put_list (page, "What to do", record, "advice");
  put_list (page, "Take care", record, "cautions");
  put_calibration (page, record);
}

/* Letters get smaller until there is room for the picture as well. */
static double
fit (const Page *page, const WsPdfPage *what, const json_t *record, double *scale)
{
  const double bottom = page->height - FOOTER - SIGNATURE;
  const double least = what->annotated != NULL ? LEAST_PICTURE : NO_PICTURE;
  double room = 0.0;
  for (*scale = 1.0; *scale > LEAST_SCALE; *scale *= SHRINK)
  {
    Page trial = *page;
    trial.dry = TRUE;
    trial.scale = *scale;
    set_page (&trial, what, record, 0.0);
    room = bottom - trial.y;
    if (room >= least)
      break;
  }
  return CLAMP (room, NO_PICTURE, what->annotated != NULL ? MOST_PICTURE * page->height : least);
}

static gboolean
draw_tool (Page *page, const WsPdfPage *what, GError **error)
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

/* ---- The summary -------------------------------------------------------------------------- */

static void
put_counts (Page *page, const WsPdfPage *pages, gsize n)
{
  GString *words = g_string_new (NULL);
  g_string_append_printf (words, "%" G_GSIZE_FORMAT " inspections", n);
  for (int verdict = WS_VERDICT_ACCEPT; verdict <= WS_VERDICT_RETAKE; verdict++)
  {
    guint count = 0;
    for (gsize i = 0; i < n; i++)
      count += verdict_of (pages[i].inspection->verdict) == (WsVerdict)verdict;
    g_string_append_printf (words, "%s %u %s", verdict == WS_VERDICT_ACCEPT ? ":" : ",", count,
                            ws_verdict_name ((WsVerdict)verdict));
  }
  put_paragraph (page, "", words->str);
  g_string_free (words, TRUE);
  page->y += 6.0;
}

static void
put_summary_row (Page *page, const WsInspection *inspection, guint number)
{
  const WsVerdict verdict = verdict_of (inspection->verdict);
  const WsTextStyle style = letters (page, TEXT, FALSE, WS_INK);
  WsTextStyle last = style;
  g_autofree char *text = g_strdup_printf ("%u", number);
  const double x = MARGIN, width = inner_width (page);
  put_fitting (page, style, x, page->y, 0.20 * width,
               inspection->tool != NULL ? inspection->tool : "no card");
  put_fitting (page, style, x + 0.22 * width, page->y, 0.14 * width, inspection->kind);
  put_fitting (page, style, x + 0.37 * width, page->y, 0.13 * width, inspection->view);
  put_fitting (page, style, x + 0.51 * width, page->y, 0.22 * width, inspection->time);
  ws_canvas_verdict_shape (page->cr, verdict, ws_point (x + 0.75 * width, page->y + 5.5), 4.0,
                           ws_canvas_verdict_colour (verdict));
  put_fitting (page, style, x + 0.77 * width, page->y, 0.14 * width, ws_words_verdict (verdict));
  last.across = WS_END;
  put (page, &last, x + width, page->y, text);
  page->y += ROW * TEXT + 2.0;
  rule (page, page->y - 2.0);
}

static guint
summary_pages (gsize n)
{
  return n > 1 ? (guint)((n + SUMMARY_ROWS - 1) / SUMMARY_ROWS) : 0;
}

static void
draw_summary (Page *page, const WsPdfPage *pages, gsize n, guint which)
{
  const gsize first = (gsize)which * SUMMARY_ROWS;
  draw_title (page, "Summary of inspections", page->style->time);
  if (which == 0)
    put_counts (page, pages, n);
  for (gsize i = first; i < n && i < first + SUMMARY_ROWS; i++)
    put_summary_row (page, pages[i].inspection, summary_pages (n) + (guint)i + 1);
}

/* ---- The document ------------------------------------------------------------------------ */

static cairo_status_t
take_bytes (void *closure, const unsigned char *bytes, unsigned int n_bytes)
{
  g_byte_array_append (closure, bytes, n_bytes);
  return CAIRO_STATUS_SUCCESS;
}

static gboolean
draw_all (Page *page, const WsPdfPage *pages, gsize n, GError **error)
{
  const guint before = summary_pages (n), of = before + (guint)n;
  for (guint i = 0; i < before; i++)
  {
    draw_summary (page, pages, n, i);
    draw_footer (page, i + 1, of);
    cairo_show_page (page->cr);
  }
  for (gsize i = 0; i < n; i++)
  {
    if (!draw_tool (page, &pages[i], error))
      return FALSE;
    draw_footer (page, before + (guint)i + 1, of);
    cairo_show_page (page->cr);
  }
  return TRUE;
}

GBytes *
ws_pdf_report (const WsPdfPage *pages, gsize n_pages, const WsPdfStyle *style, GError **error)
{
  /* ISO 216 A4, 210 mm x 297 mm; ANSI letter, 8.5 in x 11 in. */
  const gboolean letter = style->paper == WS_PAPER_LETTER;
  const double width = letter ? 612.0 : 210.0 / MM_PER_INCH * 72.0;
  const double height = letter ? 792.0 : 297.0 / MM_PER_INCH * 72.0;
  g_autoptr (GByteArray) bytes = g_byte_array_new ();
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream (take_bytes, bytes, width, height);
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_TITLE, "Inspection report");
  cairo_pdf_surface_set_metadata (surface, CAIRO_PDF_METADATA_CREATOR, "whetsight " WS_VERSION);
  cairo_t *cr = cairo_create (surface);
  Page page = { cr, style, width, height, 1.0, FALSE, 0.0 };
  gboolean done = draw_all (&page, pages, n_pages, error);
  cairo_destroy (cr);
  cairo_surface_finish (surface);
  const cairo_status_t status = cairo_surface_status (surface);
  cairo_surface_destroy (surface);
  if (done && status != CAIRO_STATUS_SUCCESS)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_INTERNAL, "can't write the PDF: %s",
                 cairo_status_to_string (status));
    done = FALSE;
  }
  return done ? g_bytes_new (bytes->data, bytes->len) : NULL;
}
