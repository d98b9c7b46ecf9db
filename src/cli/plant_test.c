/*
 * Verb `plant`, as it is called.
 */
#include "cli/program_for_tests.h"

#include "archive/sample_for_tests.h"

static void
store (WsArchive *archive, const char *tool, const char *station, int week, double value)
{
  static guint n;
  g_autoptr (GDateTime) monday = g_date_time_new_utc (2026, 8, 3, 8, 0, 0);
  g_autoptr (GDateTime) when = g_date_time_add_weeks (monday, week);
  g_autofree char *id = g_strdup_printf ("row-%u", ++n);
  g_autofree char *time = g_date_time_format (when, "%Y-%m-%dT%H:%M:%SZ");
  const Sample sample = { id, time, tool, week == 8 ? "reject" : "accept", value, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_free (inspection->station);
  inspection->station = g_strdup (station);
  inspection->reground = week == 0;
  assert_true (ws_archive_store (archive, inspection, NULL, NULL));
}

static char *
filled_archive (const Fixture *fixture)
{
  char *folder = file_in (fixture, "plant");
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  assert_non_null (archive);
  for (int week = 0; week < 6; week++)
  {
    store (archive, "QT-M-0001", "bench 1", week, 118 + 0.001 * (week % 2));
    store (archive, "QT-M-0001", "bench 2", week, 118.3 + 0.001 * (week % 2));
  }
  for (int week = 0; week <= 8; week += 2)
    store (archive, "QT-D-0002", "bench 2", week, 118);
  return folder;
}

static void
benches_are_compared (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *folder = filled_archive (fixture);
  g_autofree char *card =
    write_card (fixture, "master.tool", "[master]\npoint_angle_deg = 118 +- 0.02\n");
  g_auto (Run) by_hand =
    run ("plant", "benches", "-a", folder, "--tool", "QT-M-0001", "--quantity", "point_angle_deg",
         "--reference", "118.3", "--reference-u", "0.02", NULL);
  assert_int_equal (by_hand.status, 1);
  assert_contains (by_hand.out, "against the reference, 118.300 ± 0.020");
  assert_contains (by_hand.out, "reads too little");
  g_auto (Run) json = run ("plant", "benches", "-a", folder, "--tool", "QT-M-0001", "--json", NULL);
  assert_int_equal (json.status, 1);
  assert_contains (json.out, "\"reference_is\": \"weighted mean\"");
  g_auto (Run) alike = run ("plant", "benches", "-a", folder, "--tool", "QT-M-0001", "--quantity",
                            "diameter_mm", NULL);
  assert_int_equal (alike.status, 0);
  g_auto (Run) other = run ("plant", "benches", "-a", folder, "--tool", "QT-M-0002", NULL);
  assert_int_equal (other.status, 66);
  assert_non_null (card);
}

static void
a_card_names_its_master (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *folder = filled_archive (fixture);
  g_autofree char *master = file_in (fixture, "QT-M-0001.tool");
  g_autofree char *plain = file_in (fixture, "plain.tool");
  static const char text[] = "[tool]\nid = QT-M-0001\nkind = twist-drill\ndiameter_mm = 6.5\n";
  g_autofree char *marked = g_strconcat (text, "[master]\npoint_angle_deg = 118 +- 0.02\n", NULL);
  assert_true (g_file_set_contents (plain, text, -1, NULL));
  assert_true (g_file_set_contents (master, marked, -1, NULL));
  g_auto (Run) good = run ("plant", "benches", "-a", folder, "--card", master, NULL);
  assert_int_equal (good.status, 1);
  assert_contains (good.out, "reads too much");
  g_auto (Run) unmarked = run ("plant", "benches", "-a", folder, "--card", plain, NULL);
  assert_int_equal (unmarked.status, 65);
  assert_contains (unmarked.err, "[master]");
}

static void
lives_are_told (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *folder = filled_archive (fixture);
  g_auto (Run) text = run ("plant", "lives", "-a", folder, "--tool", "QT-D-*", NULL);
  assert_int_equal (text.status, 0);
  assert_contains (text.out, "1 edges, 1 ended by a reject");
  assert_contains (text.out, "QT-D-0002, R. Vane, reground 2026-08-03T08:00:00Z: after 56.0 days");
  g_auto (Run) json = run ("plant", "lives", "-a", folder, "--by", "station", "--json", NULL);
  assert_int_equal (json.status, 0);
  assert_contains (json.out, "\"name\": \"bench 2\"");
  g_auto (Run) none = run ("plant", "lives", "-a", folder, "--tool", "QT-X", NULL);
  assert_int_equal (none.status, 2);
}

static void
wrong_calls_are_refused (void **state)
{
  (void)state;
  static const char *const calls[][7] = {
    { "benches", NULL },
    { "benches", "-a", "x", NULL },
    { "benches", "-a", "x", "-t", "QT-*", NULL },
    { "benches", "-a", "x", "-t", "Q", "--reference=1", NULL },
    { "benches", "-a", "x", "-t", "Q", "--reference=1", "--reference-u=1" },
    { "lives", NULL },
    { "lives", "-a", "x", "more", NULL },
    { "lives", "-a", "x", "--by", "moon", NULL },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
  {
    const char *const *words = calls[i];
    g_auto (Run) told = run (
      "plant", words[0], words[0] != NULL ? words[1] : NULL, words[1] != NULL ? words[2] : NULL,
      words[1] != NULL && words[2] != NULL ? words[3] : NULL,
      words[1] != NULL && words[2] != NULL && words[3] != NULL ? words[4] : NULL,
      i == 3 || i == 4 ? words[5] : NULL, i == 4 ? words[6] : NULL, NULL);
    assert_int_equal (told.status, 64);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (benches_are_compared, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_card_names_its_master, set_up, tear_down),
    cmocka_unit_test_setup_teardown (lives_are_told, set_up, tear_down),
    cmocka_unit_test_setup_teardown (wrong_calls_are_refused, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
