#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/error.h>
#include <whetsight/pdf.h>

#include "archive/columns.h"
#include "archive/sample_for_tests.h"
#include "report/canvas.h"

/* Points. */
#define MARGIN 42.0

#define TIME "2026-11-25T12:00:00Z"

static const WsQuantityInfo *
lookup (const char *view, const char *name)
{
  static const WsQuantityInfo angle = { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" };
  static const WsQuantityInfo corner = { "corner_N_angle", WS_UNIT_DEGREE, NULL, "Corner N angle",
                                         "" };
  (void)view;
  if (g_str_equal (name, "corner_N_angle_deg"))
    return &corner;
  return g_str_equal (name, "point_angle_deg") ? &angle : NULL;
}

static WsInspection *
inspection_new (const char *id, const char *verdict)
{
  const Sample sample = { id, "2026-11-25T10:15:02Z", "QT-D-0118", verdict, 118.25, NULL };
  WsInspection *inspection = sample_inspection (&sample);
  assert_true (wsi_columns_fill (inspection, NULL, NULL, NULL));
  inspection->hash = g_strdup ("0123abcd");
  return inspection;
}

static GBytes *
print (guint n, const WsPdfStyle *style)
{
  static const char *const verdicts[] = { "accept", "reject", "undecided" };
  g_autoptr (GPtrArray) kept = g_ptr_array_new_with_free_func ((GDestroyNotify)ws_inspection_free);
  g_autofree WsPdfPage *pages = g_new0 (WsPdfPage, n);
  g_autoptr (GError) error = NULL;
  for (guint i = 0; i < n; i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%u", i);
    g_ptr_array_add (kept, inspection_new (id, verdicts[i % 3]));
    pages[i].inspection = g_ptr_array_index (kept, i);
  }
  GBytes *pdf = ws_pdf_report (pages, n, style, &error);
  assert_null (error);
  return pdf;
}

static guint
count (GBytes *bytes, const char *what)
{
  gsize n;
  const char *data = g_bytes_get_data (bytes, &n);
  const gsize length = strlen (what);
  guint found = 0;
  for (gsize i = 0; i + length <= n; i++)
    found += memcmp (data + i, what, length) == 0;
  return found;
}

static void
skip_without (const char *program)
{
  char *found = g_find_program_in_path (program);
  const gboolean is_there = found != NULL;
  g_free (found);
  if (!is_there)
    skip_for ("%s is not installed (Debian: poppler-utils)", program);
}

/* What another program makes of it.  Free with g_free(). */
static char *
ask (GBytes *pdf, const char *program, const char *option, const char *last)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-pdf-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "report.pdf", NULL);
  char *const call[] = { (char *)program, (char *)(option != NULL ? option : path),
                         option != NULL ? path : NULL, (char *)last, NULL };
  char *said = NULL;
  assert_true (
    g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize)g_bytes_get_size (pdf), NULL));
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &said,
                             NULL, NULL, NULL));
  sample_remove_tree (folder);
  return said;
}

/* The second beside the first, or on a line below. */
static void
assert_in_order (const char *text, const char *first, const char *second)
{
  assert_contains (text, first);
  assert_contains (strstr (text, first), second);
}

static void
test_pages (void **state)
{
  (void)state;
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME, NULL };
  const struct
  {
    guint inspections, pages;
  } cases[] = { { 1, 1 }, { 2, 3 }, { 45, 46 }, { 60, 62 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autoptr (GBytes) pdf = print (cases[i].inspections, &style);
    g_autofree char *pages = g_strdup_printf ("/Count %u", cases[i].pages);
    assert_int_equal (count (pdf, "%PDF-1."), 1);
    assert_true (count (pdf, pages) > 0);
    assert_true (count (pdf, "/FontFile2") + count (pdf, "/FontFile3") > 0);
  }
}

static void
test_words (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME, NULL };
  g_autoptr (GBytes) pdf = print (2, &style);
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  assert_contains (text, "Summary of inspections");
  assert_contains (text, "page 3 of 3");
  assert_contains (text, "ACCEPT");
  assert_contains (text, "REJECT");
  assert_contains (text, "118.250 ± 0.050 °");
  assert_in_order (text, "6.4885 ± 0.0012 mm", "[0.255453 ± 0.000047 in]");
  assert_contains (text, "unknown");
  assert_contains (text, "Grind lip a 1.5° sharper.");
  assert_contains (text, "has a chip < 0.1 mm");
  assert_contains (text, "R. Vane");
  assert_contains (text, "Inspected by");
  static const char *const facts[] = { "Tool +QT-D-0118",       "Kind +twist-drill",
                                       "View +drill-side",      "Measured +2026-11-25",
                                       "Station +bench 2",      "Ground by +R. Vane",
                                       "Archive hash +0123abcd" };
  for (gsize i = 0; i < G_N_ELEMENTS (facts); i++)
    if (!g_regex_match_simple (facts[i], text, 0, 0))
      fail_msg ("no \"%s\" in:\n%s", facts[i], text);
  /* The summary's columns, one beside the other. */
  g_autoptr (GRegex) row =
    g_regex_new ("QT-D-0118 +twist-drill +drill-side +2026-11-25[^\n]* +ACCEPT +2\n", 0, 0, NULL);
  assert_true (g_regex_match (row, text, 0, NULL));
}

/* The summary, then the inspections in the order given, each with its own number, identity
 * and verdict. */
static void
test_order_of_pages (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  static const char *const words[] = { "ACCEPT", "REJECT", "UNDECIDED" };
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME, NULL };
  g_autoptr (GBytes) pdf = print (3, &style);
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  g_auto (GStrv) pages = g_strsplit (text, "\f", -1);
  assert_int_equal (g_strv_length (pages), 5);
  assert_string_equal (pages[4], "");
  for (guint i = 0; i < 4; i++)
  {
    g_autofree char *number = g_strdup_printf ("page %u of 4", i + 1);
    assert_contains (pages[i], number);
    if (i == 0)
      assert_contains (pages[i], "Summary of inspections");
    else
      assert_lacks (pages[i], "Summary of inspections");
    for (guint k = 0; k < 3; k++)
    {
      g_autofree char *id = g_strdup_printf ("id-%u", k);
      if (i == 0 || k == i - 1)
        assert_contains (pages[i], words[k]);
      else
        assert_lacks (pages[i], words[k]);
      if (i > 0 && k == i - 1)
        assert_contains (pages[i], id);
      else if (i > 0)
        assert_lacks (pages[i], id);
    }
  }
}

/* No word sticks out beyond the margins of an A4 page, 595 points wide. */
static void
test_words_keep_to_the_margins (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME, NULL };
  g_autoptr (GBytes) pdf = print (2, &style);
  g_autofree char *text = ask (pdf, "pdftotext", "-bbox", "-");
  guint n = 0;
  double left = HUGE_VAL, right = 0;
  for (const char *word = strstr (text, "<word xMin=\""); word != NULL;
       word = strstr (word + 1, "<word xMin=\""))
  {
    const char *to = strstr (word, "xMax=\"");
    assert_non_null (to);
    left = MIN (left, g_ascii_strtod (word + strlen ("<word xMin=\""), NULL));
    right = MAX (right, g_ascii_strtod (to + strlen ("xMax=\""), NULL));
    n++;
  }
  assert_true (n > 50);
  assert_near (left, MARGIN, 1.5);
  assert_near (right, 595.3 - MARGIN, 1.5);
}

static void
test_paper (void **state)
{
  (void)state;
  const WsPdfStyle letter = { WS_PAPER_LETTER, WS_LENGTHS_INCHES_MM, lookup, TIME, NULL };
  g_autoptr (GBytes) pdf = print (1, &letter);
  assert_true (count (pdf, "0 0 612 792") > 0);
}

static void
test_units (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  const WsPdfStyle letter = { WS_PAPER_LETTER, WS_LENGTHS_INCHES_MM, lookup, TIME, NULL };
  g_autoptr (GBytes) pdf = print (1, &letter);
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  assert_in_order (text, "0.255453 ± 0.000047 in", "[6.4885 ± 0.0012 mm]");
}

static void
test_fonts (void **state)
{
  (void)state;
  skip_without ("pdffonts");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME, NULL };
  g_autoptr (GBytes) pdf = print (1, &style);
  g_autofree char *fonts = ask (pdf, "pdffonts", NULL, NULL);
  assert_contains (fonts, "DejaVuSans");
  assert_contains (fonts, "yes yes");
  assert_lacks (fonts, " no  ");
}

/* What is printed with "diameter_mm" limited to `limits` by `source`. */
static char *
text_limited (const char *limits, const char *source)
{
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME, NULL };
  g_autoptr (WsInspection) inspection = inspection_new ("id-0", "accept");
  g_autofree char *now = g_strdup_printf ("%s, \"limit_source\": \"%s\"", limits, source);
  GString *record = g_string_new (inspection->record);
  assert_int_equal (g_string_replace (record,
                                      "\"lower\": 6.478, \"upper\": 6.5, "
                                      "\"limit_source\": \"tool card\"",
                                      now, 0),
                    1);
  g_free (inspection->record);
  inspection->record = g_string_free (record, FALSE);
  const WsPdfPage page = { .inspection = inspection, .annotated = NULL };
  g_autoptr (GBytes) pdf = ws_pdf_report (&page, 1, &style, NULL);
  assert_non_null (pdf);
  return ask (pdf, "pdftotext", "-layout", "-");
}

/* As on the card, and in inches inward; built-in ones rounded inward. */
static void
test_limits_are_not_widened (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  g_autofree char *narrow = text_limited ("\"lower\": 6.48546, \"upper\": 6.48554", "tool card");
  assert_in_order (narrow, "6.48546 .. 6.48554 mm", "[0.255334 .. 0.255336 in]");
  g_autofree char *inch = text_limited ("\"lower\": null, \"upper\": 0.1016", "tool card");
  assert_in_order (inch, ".. 0.1016 mm", "[.. 0.004 in]");
  g_autofree char *built_in = text_limited ("\"lower\": null, \"upper\": 0.12388", "from memory");
  assert_in_order (built_in, ".. 0.123 mm", "[.. ");
}

/* By the clock on the wall: in the facts, the summary and the foot. */
static void
test_times_are_local (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME, NULL };
  assert_true (g_setenv ("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", TRUE));
  g_autoptr (GBytes) pdf = print (2, &style);
  assert_true (g_setenv ("TZ", "UTC0", TRUE));
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  assert_contains (text, "2026-11-25 11:15:02 CET");
  assert_contains (text, "2026-11-25 11:15 CET");
  assert_contains (text, "printed 2026-11-25 13:00:00 CET");
  assert_lacks (text, "10:15");
}

/* A page an inspection of a record whose text `old` is replaced by `new`. */
static GBytes *
print_changed (const char *verdict, const char *old, const char *new, const char *annotated)
{
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME, NULL };
  g_autoptr (WsInspection) inspection = inspection_new ("id-0", verdict);
  GString *record = g_string_new (inspection->record);
  assert_int_equal (g_string_replace (record, old, new, 0), 1);
  g_free (inspection->record);
  inspection->record = g_string_free (record, FALSE);
  const WsPdfPage page = { .inspection = inspection, .annotated = annotated };
  GBytes *pdf = ws_pdf_report (&page, 1, &style, NULL);
  assert_non_null (pdf);
  return pdf;
}

static char *
text_changed (const char *verdict, const char *old, const char *new)
{
  g_autoptr (GBytes) pdf = print_changed (verdict, old, new, NULL);
  return ask (pdf, "pdftotext", "-layout", "-");
}

/* Quantities have the labels that their view declares, with their number where there are many; one
 * that no view knows is told in words, too. */
static void
test_labels (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  g_autofree char *text =
    text_changed ("accept", "\"lip_length_a_mm\": {",
                  "\"corner_12_angle_deg\": {\"value\": 89.7, \"U\": 0.02}, \"odd_length_mm\": {");
  assert_contains (text, "Point angle");
  assert_contains (text, "Corner 12 angle");
  assert_contains (text, "Odd length");
  assert_lacks (text, "_");
}

/* There is nothing to sign in a retake. */
static void
test_signatures (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  static const char *const verdicts[] = { "accept", "reject", "undecided", "retake" };
  for (gsize i = 0; i < G_N_ELEMENTS (verdicts); i++)
  {
    g_autofree char *text = text_changed (verdicts[i], "\"advice\"", "\"advice\"");
    if (i < 3)
      assert_contains (text, "Inspected by (name, signature)");
    else
      assert_lacks (text, "signature");
  }
}

static void
test_cautions (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  g_autofree char *text =
    text_changed ("reject", "\"advice\"", "\"cautions\": [\"Wear eye protection.\"], \"advice\"");
  assert_contains (text, "Take care");
  assert_contains (text, "Wear eye protection.");
}

/* Why, beside what to do: the finding that a verdict rests on, else what has the verdict. */
static void
test_reasons (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  g_autofree char *out =
    text_changed ("reject", "\"reason\": null", "\"reason\": null, \"action\": \"regrind\"");
  assert_contains (out, "Regrind. Outside the limits: point angle.");
  g_autofree char *near = text_changed ("undecided", "\"reason\": null", "\"reason\": null");
  assert_contains (near, "Too near the limits to tell: point angle.");
  g_autofree char *held = text_changed ("undecided", "\"reason\": null", "\"reason\": \"chip\"");
  assert_contains (held, "Lip a, \"left\", has a chip < 0.1 mm.\n");
  assert_lacks (held, "Too near");
  g_autofree char *good = text_changed ("accept", "\"reason\": null", "\"reason\": null");
  assert_lacks (good, "limits:");
}

/* More than a page holds goes on to others, under the same head, with the table's own again, and
 * all are counted. */
static void
test_long_records (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  GString *many = g_string_new (NULL);
  for (guint i = 1; i <= 150; i++)
    g_string_append_printf (many, "\"corner_%u_angle_deg\": {\"value\": 89.7, \"U\": 0.02}, ", i);
  g_string_append (many, "\"lip_length_a_mm\": {");
  g_autofree char *text = text_changed ("accept", "\"lip_length_a_mm\": {", many->str);
  g_string_free (many, TRUE);
  g_auto (GStrv) pages = g_strsplit (text, "\f", -1);
  const guint n = g_strv_length (pages) - 1;
  assert_in_range (n, 3, 5);
  guint n_rows = 0, n_signed = 0;
  for (guint i = 0; i < n; i++)
  {
    g_autofree char *number = g_strdup_printf ("page %u of %u", i + 1, n);
    assert_contains (pages[i], number);
    assert_contains (pages[i], "Inspection report");
    n_signed += strstr (pages[i], "Inspected by") != NULL ? 1 : 0;
    const gboolean has_rows = strstr (pages[i], "Corner") != NULL;
    assert_int_equal (strstr (pages[i], "Quantity") != NULL, has_rows);
    for (const char *at = pages[i]; (at = strstr (at, "Corner ")) != NULL; at++)
      n_rows++;
  }
  assert_int_equal (n_rows, 150);
  assert_int_equal (n_signed, 1);
  assert_contains (pages[n - 1], "Inspected by");
}

/* An annotated sheet of a picture of 640 x 480 px, which it shows twice as large in purple below a
 * head whose height grows with the sheet's width, on green.  Free with g_free(). */
static char *
annotated_new (const char *folder, int width)
{
  char *path = g_build_filename (folder, "annotated.png", NULL);
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, width, 1500);
  cairo_t *cr = cairo_create (surface);
  wsi_canvas_box (cr, WS_GREEN, 0, 0, width, 1500);
  wsi_canvas_box (cr, WS_PURPLE, 0, 188.0 * width / 1280, 1280, 960);
  assert_int_equal (cairo_surface_write_to_png (surface, path), CAIRO_STATUS_SUCCESS);
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
  return path;
}

typedef struct
{
  int left, right, top, bottom; /* ends not included */
  guint n;
} Seen;

static Seen
find (cairo_surface_t *surface, WsColour colour)
{
  Seen seen = { G_MAXINT, 0, G_MAXINT, 0, 0 };
  const double bgr[] = { colour.b, colour.g, colour.r };
  for (int y = 0; y < cairo_image_surface_get_height (surface); y++)
    for (int x = 0; x < cairo_image_surface_get_width (surface); x++)
    {
      const guchar *p = cairo_image_surface_get_data (surface) +
                        y * cairo_image_surface_get_stride (surface) + 4 * x;
      gboolean is_it = TRUE;
      for (int i = 0; i < 3; i++)
        is_it = is_it && fabs (p[i] - 255 * bgr[i]) < 6;
      if (!is_it)
        continue;
      seen = (Seen){ MIN (seen.left, x), MAX (seen.right, x + 1), MIN (seen.top, y),
                     MAX (seen.bottom, y + 1), seen.n + 1 };
    }
  return seen;
}

/* Of a summary on two pages, nothing of the second shows on the first: above its rows there are no
 * signs of verdicts. */
static void
test_summary_of_two_pages (void **state)
{
  (void)state;
  skip_without ("pdftoppm");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME, NULL };
  g_autofree char *folder = g_dir_make_tmp ("whetsight-pdf-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "report.pdf", NULL);
  g_autofree char *root = g_build_filename (folder, "page", NULL);
  g_autofree char *page = g_strconcat (root, ".png", NULL);
  g_autoptr (GBytes) pdf = print (60, &style);
  assert_true (
    g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize)g_bytes_get_size (pdf), NULL));
  const char *const call[] = { "pdftoppm", "-r", "72", "-png", "-singlefile",
                               "-l",       "1",  path, root,   NULL };
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL, NULL,
                             NULL, NULL));
  cairo_surface_t *surface = cairo_image_surface_create_from_png (page);
  assert_int_equal (cairo_surface_status (surface), CAIRO_STATUS_SUCCESS);
  const Seen reject = find (surface, WS_VERMILION);
  cairo_surface_destroy (surface);
  sample_remove_tree (folder);
  assert_true (reject.n > 0);
  assert_true (reject.top > 80);
}

static void
check_picture (int sheet_width)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-pdf-XXXXXX", NULL);
  g_autofree char *annotated = annotated_new (folder, sheet_width);
  g_autofree char *path = g_build_filename (folder, "report.pdf", NULL);
  g_autofree char *root = g_build_filename (folder, "page", NULL);
  g_autofree char *page = g_strconcat (root, ".png", NULL);
  g_autoptr (GBytes) pdf = print_changed ("retake", "\"advice\"", "\"advice\"", annotated);
  assert_true (
    g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize)g_bytes_get_size (pdf), NULL));
  const char *const call[] = { "pdftoppm", "-r", "72", "-png", "-singlefile", path, root, NULL };
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, NULL, NULL,
                             NULL, NULL));
  cairo_surface_t *surface = cairo_image_surface_create_from_png (page);
  assert_int_equal (cairo_surface_status (surface), CAIRO_STATUS_SUCCESS);
  const Seen picture = find (surface, WS_PURPLE), around = find (surface, WS_GREEN);
  cairo_surface_destroy (surface);
  sample_remove_tree (folder);
  assert_int_equal (around.n, 0);
  assert_true (picture.bottom - picture.top >= 0.5 * 842);
  assert_near ((double)(picture.right - picture.left) / (picture.bottom - picture.top), 4.0 / 3.0,
               0.01);
  assert_near (picture.left, 595 - picture.right, 2);
  assert_true (picture.n > 0.98 * (picture.right - picture.left) * (picture.bottom - picture.top));
}

/* The picture takes at least half the page, whole and without what surrounds it, such as the tool
 * turned upright on a wider sheet. */
static void
test_picture (void **state)
{
  (void)state;
  skip_without ("pdftoppm");
  check_picture (1280);
  check_picture (1920);
}

static void
check_sheet (const char *sheet, const char *width, const char *expected)
{
  g_autofree char *new = g_strdup_printf ("\"width\": %s", width);
  g_autoptr (GBytes) pdf = print_changed ("retake", "\"width\": 640", new, sheet);
  g_autofree char *said = ask (pdf, "pdftotext", "-layout", "-");
  assert_contains (said, expected);
}

/* An archive that somebody else wrote may hold anything in a picture's place. */
static void
test_strange_sheets (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  g_autofree char *folder = g_dir_make_tmp ("whetsight-pdf-XXXXXX", NULL);
  g_autofree char *sound = annotated_new (folder, 1280);
  g_autofree char *damaged = g_build_filename (folder, "damaged.png", NULL);
  static const char bytes[] =
    "\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\x7f\xff\xff\xff\x7f\xff\xff\xff\x08\2\0\0\0";
  assert_true (g_file_set_contents (damaged, bytes, sizeof bytes - 1, NULL));
  check_sheet (damaged, "640", "missing or can't be read");
  check_sheet (folder, "640", "missing or can't be read");
  check_sheet ("/dev/zero", "640", "missing or can't be read");
  check_sheet (sound, "2000", "not of this inspection");
  check_sheet (sound, "1e300", "no annotated picture");
  check_sheet (sound, "-640", "no annotated picture");
  check_sheet (sound, "\"640\"", "no annotated picture");
  sample_remove_tree (folder);
}

static void
test_no_record (void **state)
{
  (void)state;
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME, NULL };
  WsInspection inspection = { .record = (char *)"{", .id = (char *)"x", .kind = (char *)"y" };
  const WsPdfPage page = { .inspection = &inspection, .annotated = NULL };
  g_autoptr (GError) error = NULL;
  assert_null (ws_pdf_report (&page, 1, &style, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_pages),           cmocka_unit_test (test_words),
    cmocka_unit_test (test_order_of_pages),  cmocka_unit_test (test_words_keep_to_the_margins),
    cmocka_unit_test (test_paper),           cmocka_unit_test (test_units),
    cmocka_unit_test (test_fonts),           cmocka_unit_test (test_no_record),
    cmocka_unit_test (test_labels),          cmocka_unit_test (test_signatures),
    cmocka_unit_test (test_cautions),        cmocka_unit_test (test_reasons),
    cmocka_unit_test (test_long_records),    cmocka_unit_test (test_picture),
    cmocka_unit_test (test_strange_sheets),  cmocka_unit_test (test_limits_are_not_widened),
    cmocka_unit_test (test_times_are_local), cmocka_unit_test (test_summary_of_two_pages),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
