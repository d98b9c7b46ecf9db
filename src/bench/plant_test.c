/*
 * The page of the plant: benches by a master tool, and how long edges last.
 */
#include "bench/bench_for_tests.h"

#include "archive/sample_for_tests.h"

static void
store (Bench *bench, const char *tool, const char *station, guint week, double value)
{
  static guint n;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (GDateTime) when = g_date_time_add_weeks (now, (int)week - 10);
  g_autofree char *id = g_strdup_printf ("plant-%u", ++n);
  g_autofree char *time = g_date_time_format (when, "%Y-%m-%dT%H:%M:%SZ");
  const Sample sample = { id, time, tool, week == 9 ? "reject" : "accept", value, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_free (inspection->station);
  inspection->station = g_strdup (station);
  inspection->reground = week == 0;
  WsArchive *archive = wsi_serve_take (bench->serve, NULL);
  assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  wsi_serve_give (bench->serve, archive);
}

static void
without_a_master_it_says_how_to_make_one (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  g_autofree char *text = bench_page (bench, "/quality/plant", NULL);
  assert_contains (text, "group [master]");
  assert_lacks (text, "No edge&#39;s regrind is in the archive"); /* told when it is asked for */
  assert_contains (text, "href=\"/quality/plant?by=grinder\"");
  g_autofree char *asked = bench_page (bench, "/quality/plant?by=grinder", NULL);
  assert_contains (asked, "No edge&#39;s regrind is in the archive");
  g_autofree char *quality = bench_page (bench, "/quality", NULL);
  assert_contains (quality, "href=\"/quality/plant\"");
}

static void
a_bench_that_reads_too_much_is_seen (void **state)
{
  g_autoptr (Bench) bench = bench_new (FALSE);
  (void)state;
  g_autofree char *card = g_build_filename (bench->cards, "QT-M-0001.tool", NULL);
  assert_true (
    g_file_set_contents (card,
                         "[tool]\nid = QT-M-0001\nkind = twist-drill\ndiameter_mm = 6.5\n"
                         "[master]\npoint_angle_deg = 118 +- 0.02\n",
                         -1, NULL));
  for (guint week = 0; week < 6; week++)
  {
    store (bench, "QT-M-0001", "bench <1>", week, 118 + 0.001 * (week % 3));
    store (bench, "QT-M-0001", "bench 2", week, 118.2 + 0.001 * (week % 3));
  }
  for (guint week = 0; week < 10; week += 3)
    store (bench, "QT-D-0007", "bench 2", week, 118);
  g_autofree char *text = bench_page (bench, "/quality/plant?by=grinder", NULL);
  assert_contains (text, "Master tool: QT-M-0001");
  assert_contains (text, "against the reference, 118.000 ± 0.020");
  assert_contains (text, "<th scope=\"row\">bench &lt;1&gt;</th>");
  assert_contains (text, "<strong>reads too much; stands");
  assert_contains (text, "Pairs that don&#39;t agree: 1 of 1");
  assert_contains (
    text, "<th scope=\"row\">R. Vane</th><td>nobody to compare with</td><td>3</td><td>1</td>");
  assert_contains (text, "<th scope=\"col\">Whose</th><th scope=\"col\">End early?</th><th "
                         "scope=\"col\">Edges</th><th scope=\"col\">Ended</th>");
  assert_contains (text, "<th scope=\"col\">Bench</th><th scope=\"col\">Agrees?</th><th "
                         "scope=\"col\">E_n</th><th scope=\"col\">Bias</th>");
  assert_contains (text, "<a href=\"/tools/QT-D-0007\">");
  g_autofree char *stations = bench_page (bench, "/quality/plant?by=station", NULL);
  assert_contains (
    stations,
    "<th scope=\"row\">bench 2</th><td>too few have ended to tell</td><td>2</td><td>1</td>");
  g_autofree char *kinds = bench_page (bench, "/quality/plant?by=kind", "de");
  assert_contains (kinds, "Meisterwerkzeug: QT-M-0001");
  assert_contains (kinds, "zeigt zu viel");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (without_a_master_it_says_how_to_make_one),
    cmocka_unit_test (a_bench_that_reads_too_much_is_seen),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
