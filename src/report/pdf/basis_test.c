/*
 * What makes a page fit to be signed: who, by what, by which rule, and what proves it.
 */
#include "base/testing.h"

#include <cairo.h>
#include <glib/gstdio.h>
#include <whetsight/error.h>
#include <whetsight/pdf.h>

#include "archive/columns.h"
#include "archive/sample_for_tests.h"
#include "report/pdf/qr.h"

#define TIME "2026-11-25T12:00:00Z"
#define MOST_BYTES 250000

typedef struct
{
  char *folder;
} Fixture;

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-basis-XXXXXX", NULL);
  *state = fixture;
  return 0;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  sample_remove_tree (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture);
  return 0;
}

/* With what newer records say: free with ws_inspection_free(). */
static WsInspection *
inspection_new (const char *verdict)
{
  const Sample sample = { "id-0", "2026-11-25T10:15:02Z", "QT-D-0118", verdict, 118.25, NULL };
  WsInspection *inspection = sample_inspection (&sample);
  GString *record = g_string_new (inspection->record);
  g_string_replace (record, "\"program\": \"0.1.0\"",
                    "\"program\": \"whetsight 0.1.7\", \"measured_by\": \"M. Quill\"", 1);
  g_string_replace (record, "\"kind\": \"twist-drill\"",
                    "\"card_sha256\": \"c0ffee\", \"kind\": \"twist-drill\"", 1);
  g_string_replace (
    record, "\"calibration\": null",
    "\"calibration\": {\"id\": \"cal-1\", \"sha256\": \"ca11\", \"camera\": \"cam-7\","
    " \"model\": \"pinhole\", \"made\": \"2026-11-01T08:00:00Z\", \"expires\":"
    " \"2027-11-01T08:00:00Z\", \"expired\": false, \"check\": \"passed\","
    " \"check_time\": \"2026-11-24T07:00:00Z\"}",
    1);
  g_string_replace (record, "\"limit_source\": \"tool card\"",
                    "\"conformance\": 0.9772, \"limit_source\": \"tool card\"", 1);
  g_free (inspection->record);
  inspection->record = g_string_free (record, FALSE);
  assert_true (wsi_columns_fill (inspection, NULL, NULL, NULL));
  inspection->hash = g_strdup ("0123abcd");
  return inspection;
}

static GBytes *
print (const WsPdfPage *page, const WsPdfShop *shop, GError **error)
{
  const WsPdfStyle style = { WS_PAPER_A4, WS_LENGTHS_MM, NULL, TIME, shop };
  return ws_pdf_report (page, 1, &style, error);
}

/* Free with g_free(). */
static char *
text_of (const Fixture *fixture, GBytes *pdf)
{
  char *said = NULL;
  g_autofree char *program = g_find_program_in_path ("pdftotext");
  g_autofree char *path = g_build_filename (fixture->folder, "report.pdf", NULL);
  char *const call[] = { (char *)"pdftotext", (char *)"-layout", path, (char *)"-", NULL };
  if (program == NULL)
    return NULL;
  assert_true (
    g_file_set_contents (path, g_bytes_get_data (pdf, NULL), (gssize)g_bytes_get_size (pdf), NULL));
  assert_true (g_spawn_sync (NULL, (char **)call, NULL, G_SPAWN_SEARCH_PATH, NULL, NULL, &said,
                             NULL, NULL, NULL));
  return said;
}

static void
test_words (void **state)
{
  static const char *const words[] = {
    "Quillbrook Turning",
    "4 Mill Lane",
    "Wharton Fittings",
    "2026-1187",
    "Hose barb",
    "M. Quill",
    "R. Vane",
    "last on 2026-11-20",
    "whetsight 0.1.7",
    "camera cam-7, station bench 2",
    "made 2026-11-01 08:00:00 UTC, valid until 2027-11-01 08:00:00 UTC",
    "last check: passed 2026-11-24 07:00:00 UTC",
    "Card QT-D-0118, SHA-256 c0ffee",
    "97.7 %",
    "Decision rule",
    "ISO 14253-1:2017. Accepted is what lies inside its limits",
    "7.8.3.1 b, 7.8.6; ISO 10012:2003, 7.3.1",
    "ISO 10012:2003, 7.1.4",
    "Inspection id-0",
    "Archive hash 0123abcd",
    "CLOCK SET BACK: this was stored after an inspection of 2026-11-30",
    "ISO/IEC 17025:2017, 7.8.2.1 o",
    "page 1 of "
  };
  const WsPdfShop shop = { "Quillbrook Turning", "4 Mill Lane", NULL,
                           "Wharton Fittings",   "2026-1187",   "Hose barb" };
  g_autoptr (WsInspection) inspection = inspection_new ("accept");
  inspection->clock = g_strdup ("2026-11-30T10:00:00Z");
  const WsPdfPage page = { .inspection = inspection, .regrind = "last on 2026-11-20" };
  g_autoptr (GBytes) pdf = print (&page, &shop, NULL);
  g_autofree char *text = text_of (*state, pdf);
  if (text == NULL)
    skip ();
  for (gsize i = 0; i < G_N_ELEMENTS (words); i++)
    assert_contains (text, words[i]);
}

/* What is known of the tool from elsewhere doesn't read as if a retake's picture told it. */
static void
test_a_retake_tells_nothing_of_the_tool (void **state)
{
  g_autoptr (WsInspection) inspection = inspection_new ("retake");
  const WsPdfPage page = { .inspection = inspection, .state = "fit: drill-side accept" };
  g_autoptr (GBytes) pdf = print (&page, NULL, NULL);
  g_autofree char *text = text_of (*state, pdf);
  if (text == NULL)
    skip ();
  assert_contains (text, "Its other pictures: fit: drill-side accept");
  assert_lacks (text, "All views");
}

/* A record of an older program says less, and none of it is made up. */
static void
test_what_was_not_recorded (void **state)
{
  const Sample sample = { "id-0", "2026-11-25T10:15:02Z", "QT-D-0118", "accept", 118.25, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  assert_true (wsi_columns_fill (inspection, NULL, NULL, NULL));
  g_clear_pointer (&inspection->grinder, g_free);
  const WsPdfPage page = { .inspection = inspection };
  g_autoptr (GBytes) pdf = print (&page, NULL, NULL);
  g_autofree char *text = text_of (*state, pdf);
  if (text == NULL)
    skip ();
  assert_true (g_regex_match_simple ("Measured by +not recorded", text, 0, 0));
  assert_true (g_regex_match_simple ("Ground by +not recorded", text, 0, 0));
  assert_contains (text, "its revision was not recorded");
  assert_contains (text, "camera not named");
  assert_lacks (text, "Customer");
}

/* ---- Pictures -------------------------------------------------------------------------- */

/* A grainy sheet as wide as it is made for a picture of five megapixels. */
static char *
sheet_new (const Fixture *fixture)
{
  char *path = g_build_filename (fixture->folder, "annotated.png", NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (5);
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, 1296, 1400);
  guchar *pixels = cairo_image_surface_get_data (surface);
  const gsize n = (gsize)cairo_image_surface_get_stride (surface) * 1400;
  for (gsize i = 0; i < n; i++)
    pixels[i] = (guchar)(200 + g_rand_int_range (rand, -6, 7));
  cairo_surface_mark_dirty (surface);
  assert_int_equal (cairo_surface_write_to_png (surface, path), CAIRO_STATUS_SUCCESS);
  cairo_surface_destroy (surface);
  return path;
}

static gboolean
holds (GBytes *bytes, const char *what)
{
  gsize n;
  const char *data = g_bytes_get_data (bytes, &n);
  const gsize length = strlen (what);
  for (gsize i = 0; i + length <= n; i++)
    if (memcmp (data + i, what, length) == 0)
      return TRUE;
  return FALSE;
}

static void
test_a_jpeg_stays_one (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *sheet = sheet_new (fixture);
  g_autofree char *original = g_build_filename (fixture->folder, "original", NULL);
  g_autoptr (WsInspection) inspection = inspection_new ("accept");
  GString *record = g_string_new (inspection->record);
  g_string_replace (record, "\"width\": 640, \"height\": 480", "\"width\": 2592, \"height\": 1944",
                    1);
  g_free (inspection->record);
  inspection->record = g_string_free (record, FALSE);
  const WsPdfPage page = { .inspection = inspection, .annotated = sheet, .original = original };
  assert_true (g_file_set_contents (original, "\xFF\xD8\xFF\xE0", -1, NULL));
  g_autoptr (GBytes) as_jpeg = print (&page, NULL, NULL);
  assert_true (holds (as_jpeg, "/DCTDecode"));
  assert_true (g_bytes_get_size (as_jpeg) <= MOST_BYTES);
  assert_true (g_file_set_contents (original, "\x89PNG", -1, NULL));
  g_autoptr (GBytes) lossless = print (&page, NULL, NULL);
  assert_false (holds (lossless, "/DCTDecode"));
}

static void
test_a_logo (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  g_autofree char *sheet = sheet_new (fixture);
  const WsPdfShop with = { .company = "Quillbrook Turning", .logo = sheet };
  const WsPdfShop without = { .company = "Quillbrook Turning", .logo = "/nowhere/logo.png" };
  g_autoptr (WsInspection) inspection = inspection_new ("accept");
  const WsPdfPage page = { .inspection = inspection };
  g_autoptr (GBytes) pdf = print (&page, &with, NULL);
  assert_true (holds (pdf, "/Subtype /Image"));
  assert_null (print (&page, &without, &error));
  assert_contains (error->message, "logo: ");
  assert_contains (error->message, "/nowhere/logo.png");
}

/* ---- The code -------------------------------------------------------------------------- */

static gboolean
is_dark (cairo_surface_t *surface, int x, int y)
{
  return cairo_image_surface_get_data (
           surface)[y * cairo_image_surface_get_stride (surface) + 4 * x] < 128;
}

/* Dark, light and dark again across a finder pattern, 7 modules of `module` px: 1 1 3 1 1. */
static gboolean
is_finder (cairo_surface_t *surface, int left, int top, int module)
{
  static const gboolean dark[] = { TRUE, FALSE, TRUE, TRUE, TRUE, FALSE, TRUE };
  for (int i = 0; i < 7; i++)
    if (is_dark (surface, left + i * module + module / 2, top + 3 * module + module / 2) !=
          dark[i] ||
        is_dark (surface, left + 3 * module + module / 2, top + i * module + module / 2) != dark[i])
      return FALSE;
  return TRUE;
}

/* Version 1, 21 modules and 4 around them, has three finders. */
static void
test_qr (void **state)
{
  (void)state;
  const int module = 10, size = 29 * module, first = 4 * module, last = 18 * module;
  cairo_surface_t *surface = cairo_image_surface_create (CAIRO_FORMAT_RGB24, size, size);
  cairo_t *cr = cairo_create (surface);
  g_autofree char *long_text = g_strnfill (5000, 'x');
  cairo_set_source_rgb (cr, 1.0, 1.0, 1.0);
  cairo_paint (cr);
  assert_true (wsi_qr_draw (cr, "id-0", 0.0, 0.0, size));
  assert_false (wsi_qr_draw (cr, long_text, 0.0, 0.0, size));
  cairo_surface_flush (surface);
  assert_true (is_finder (surface, first, first, module));
  assert_true (is_finder (surface, last, first, module));
  assert_true (is_finder (surface, first, last, module));
  assert_false (is_finder (surface, last, last, module));
  for (int i = 0; i < size; i++)
    assert_false (is_dark (surface, i, 2 * module));
  cairo_destroy (cr);
  cairo_surface_destroy (surface);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_words, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_retake_tells_nothing_of_the_tool, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_was_not_recorded, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_jpeg_stays_one, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_logo, set_up, tear_down),
    cmocka_unit_test (test_qr),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
