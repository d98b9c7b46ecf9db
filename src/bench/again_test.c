/*
 * The page of what measuring again changed.
 */
#include "bench/bench_for_tests.h"

#include <whetsight/remeasure.h>

#include "archive/sample_for_tests.h"

/* An inspection, and what measuring its picture again gave. */
static void
store (Bench *bench, const char *id, double angle, const char *verdict, double angle_now,
       const char *verdict_now)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  const Sample sample = { id, time, "QT-D-<7>", verdict, angle, NULL };
  const Sample again = { "again", time, "QT-D-<7>", verdict_now, angle_now, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autofree char *record = sample_record (&again);
  g_autoptr (GError) error = NULL;
  char settings[WS_SHA256_HEX_SIZE];
  gboolean added;
  wsi_sha256_hex ("settings", 8, settings);
  const WsRemeasured words = { record, settings, "Q. Quill", "new <limit>", NULL };
  WsArchive *archive = wsi_serve_take (bench->serve, NULL);
  assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  if (!ws_archive_add_remeasured (archive, id, &words, &added, &error))
    fail_msg ("%s", error->message);
  wsi_serve_give (bench->serve, archive);
}

static void
nothing_measured_again (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  g_autofree char *text = bench_page (bench, "/quality/again", NULL);
  assert_contains (text, "Nothing was measured again: whetsight remeasure");
  g_autofree char *quality = bench_page (bench, "/quality", NULL);
  assert_contains (quality, "href=\"/quality/again\"");
}

static void
what_changed_is_told (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  store (bench, "again-1", 118, "accept", 120.5, "reject");
  store (bench, "again-2", 118, "accept", 118, "accept");
  g_autofree char *text = bench_page (bench, "/quality/again", NULL);
  assert_contains (text, ": 2 of 2");
  assert_contains (text, "Verdicts that changed: 1");
  assert_contains (text, "<a href=\"/inspections/again-1\">QT-D-&lt;7&gt;</a>");
  assert_lacks (text, "/inspections/again-2");
  assert_contains (text, "new &lt;limit&gt;");
  /* One of two moved by 50 U. */
  assert_contains (text, "<th scope=\"row\">Point angle</th><td>1</td><td>25.00</td>");
  assert_contains (text, "Quantities that stayed: 1");
  g_autofree char *german = bench_page (bench, "/quality/again", "de");
  assert_contains (german, "Erneut gemessen");
  assert_contains (german, "Geänderte Urteile: 1");
  g_autofree char *own = bench_page (bench, "/inspections/again-1", NULL);
  assert_contains (own, "MEASURED AGAIN by Q. Quill");
  assert_contains (own, "NOW reject, was accept</p>");
  assert_contains (own, "<p class=\"trouble\">MEASURED AGAIN by Q. Quill");
  g_autofree char *same = bench_page (bench, "/inspections/again-2", NULL);
  assert_contains (same, "accept as before");
  assert_lacks (same, "class=\"trouble\"");
  g_autofree char *json = bench_page (bench, "/api/inspections/again-1", NULL);
  assert_contains (json, "\"now\"");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (nothing_measured_again),
    cmocka_unit_test (what_changed_is_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
