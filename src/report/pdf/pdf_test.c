#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/error.h>
#include <whetsight/pdf.h>

#include "archive/columns.h"
#include "archive/sample_for_tests.h"

/* Points. */
#define MARGIN 42.0

#define TIME "2026-11-25T12:00:00Z"

static const WsQuantityInfo *
lookup (const char *view, const char *name)
{
  static const WsQuantityInfo angle = { "point_angle", WS_UNIT_DEGREE, "SIG", "Point angle", "" };
  (void)view;
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

static void
test_pages (void **state)
{
  (void)state;
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME };
  const struct
  {
    guint inspections, pages;
  } cases[] = { { 1, 1 }, { 2, 3 }, { 45, 47 } };
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
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME };
  g_autoptr (GBytes) pdf = print (2, &style);
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  assert_contains (text, "Summary of inspections");
  assert_contains (text, "page 3 of 3");
  assert_contains (text, "ACCEPT");
  assert_contains (text, "REJECT");
  assert_contains (text, "118.250 ± 0.050 °");
  assert_contains (text, "6.4885 ± 0.0012 mm [0.255453 ± 0.000047 in]");
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

/* The summary, then a page an inspection in the order given, each with its own number, identity
 * and verdict. */
static void
test_order_of_pages (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  static const char *const words[] = { "ACCEPT", "REJECT", "UNDECIDED" };
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME };
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
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME };
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
  const WsPdfStyle letter = { WS_PAPER_LETTER, WS_LENGTHS_INCHES_MM, lookup, TIME };
  g_autoptr (GBytes) pdf = print (1, &letter);
  assert_true (count (pdf, "0 0 612 792") > 0);
}

static void
test_units (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  const WsPdfStyle letter = { WS_PAPER_LETTER, WS_LENGTHS_INCHES_MM, lookup, TIME };
  g_autoptr (GBytes) pdf = print (1, &letter);
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  assert_contains (text, "0.255453 ± 0.000047 in [6.4885 ± 0.0012 mm]");
}

static void
test_fonts (void **state)
{
  (void)state;
  skip_without ("pdffonts");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME };
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
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM_INCHES, lookup, TIME };
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
  const WsPdfPage page = { inspection, NULL };
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
  assert_contains (narrow, "6.48546 .. 6.48554 mm [0.255334 .. 0.255336 in]");
  g_autofree char *inch = text_limited ("\"lower\": null, \"upper\": 0.1016", "tool card");
  assert_contains (inch, ".. 0.1016 mm [.. 0.004 in]");
  g_autofree char *built_in = text_limited ("\"lower\": null, \"upper\": 0.12388", "from memory");
  assert_contains (built_in, ".. 0.123 mm [");
}

/* By the clock on the wall: in the facts, the summary and the foot. */
static void
test_times_are_local (void **state)
{
  (void)state;
  skip_without ("pdftotext");
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME };
  assert_true (g_setenv ("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", TRUE));
  g_autoptr (GBytes) pdf = print (2, &style);
  assert_true (g_setenv ("TZ", "UTC0", TRUE));
  g_autofree char *text = ask (pdf, "pdftotext", "-layout", "-");
  assert_contains (text, "2026-11-25 11:15:02 CET");
  assert_contains (text, "2026-11-25 11:15 CET");
  assert_contains (text, "printed 2026-11-25 13:00:00 CET");
  assert_lacks (text, "10:15");
}

static void
test_no_record (void **state)
{
  (void)state;
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, lookup, TIME };
  WsInspection inspection = { .record = (char *)"{", .id = (char *)"x", .kind = (char *)"y" };
  const WsPdfPage page = { &inspection, NULL };
  g_autoptr (GError) error = NULL;
  assert_null (ws_pdf_report (&page, 1, &style, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_pages),
    cmocka_unit_test (test_words),
    cmocka_unit_test (test_order_of_pages),
    cmocka_unit_test (test_words_keep_to_the_margins),
    cmocka_unit_test (test_paper),
    cmocka_unit_test (test_units),
    cmocka_unit_test (test_fonts),
    cmocka_unit_test (test_no_record),
    cmocka_unit_test (test_limits_are_not_widened),
    cmocka_unit_test (test_times_are_local),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
