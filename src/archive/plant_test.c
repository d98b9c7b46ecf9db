#include "archive/archive_for_tests.h"

#include "archive/plant.h"
#include "report/plant.h"

#define MASTER "QT-M-0001"

/* ---- Rows ------------------------------------------------------------------------------------ */

typedef struct
{
  const char *tool, *station, *grinder, *verdict, *view;
  double day, angle;
  gboolean reground;
} Shot;

static void
store (WsArchive *archive, const Shot *shot)
{
  static guint n;
  g_autoptr (GError) error = NULL;
  g_autoptr (GDateTime) monday = g_date_time_new_utc (2026, 8, 3, 8, 0, 0);
  g_autoptr (GDateTime) when = g_date_time_add_seconds (monday, shot->day * 86400);
  g_autofree char *id = g_strdup_printf ("shot-%u", ++n);
  g_autofree char *time = g_date_time_format (when, "%Y-%m-%dT%H:%M:%SZ");
  const Sample sample = { id, time, shot->tool, shot->verdict, shot->angle, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  g_autofree char *record = inspection->record;
  g_auto (GStrv) pieces = g_strsplit (record, "\"drill-side\"", 2);
  inspection->record = g_strjoin (
    NULL, pieces[0], "\"", shot->view != NULL ? shot->view : "drill-side", "\"", pieces[1], NULL);
  g_free (inspection->station);
  g_free (inspection->grinder);
  inspection->station = g_strdup (shot->station);
  inspection->grinder = g_strdup (shot->grinder);
  inspection->reground = shot->reground;
  assert_true (ws_archive_store (archive, inspection, NULL, &error));
}

/* Three benches for eight weeks: the second reads 0.2° too much, the third's reading rises by
 * 0.02° a week. */
static void
fill_benches (WsArchive *archive)
{
  static const double scatter[] = { 0.004, -0.006, 0.002, 0.005, -0.003, -0.005, 0.006, -0.003 };
  static const char *const stations[] = { "bench 1", "bench 2", "bench 3" };
  for (int week = 0; week < 8; week++)
    for (int i = 0; i < 3; i++)
    {
      const double off = i == 1 ? 0.2 : i == 2 ? 0.02 * week : 0;
      store (archive, &(Shot){ .tool = MASTER,
                               .station = stations[i],
                               .verdict = "accept",
                               .day = 7 * week + i,
                               .angle = 118 + off + scatter[(week + 3 * i) % 8] });
    }
}

static WsToolCard *
master_card (void)
{
  WsToolCard *card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  const WsMasterValue master = { g_strdup ("point_angle_deg"), 118, 0.02 };
  card->is_master = TRUE;
  g_array_append_val (card->masters, master);
  return card;
}

static WsPlantBenches *
compare (const Fixture *fixture, const WsToolCard *card)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  filter.tool = MASTER;
  WsPlantBenches *found = wsi_plant_benches (archive, &filter, card, &error);
  assert_null (error);
  return found;
}

/* ---- Benches --------------------------------------------------------------------------------- */

static void
benches_stand_apart_and_drift (void **state)
{
  g_autoptr (WsToolCard) card = master_card ();
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    fill_benches (archive);
  }
  g_autoptr (WsPlantBenches) found = compare (*state, card);
  assert_int_equal (found->n, 24);
  assert_int_equal (found->quantities->len, 2); /* the lip length is null */
  const WsPlantQuantity *angle = g_ptr_array_index (found->quantities, 1);
  assert_string_equal (angle->quantity, "point_angle_deg");
  assert_int_equal (angle->gauges.n, 3);
  const WsGauge *one = &angle->gauges.gauges[0], *two = one + 1, *three = one + 2;
  assert_string_equal (two->name, "bench 2");
  assert_int_equal (one->weeks, 8);
  assert_near (one->bias, 0, 0.005);
  assert_near (two->bias, 0.2, 0.005);
  assert_near (one->u_lasting, 0.025, 1e-9); /* no budget: all of U = 0.05 may last */
  assert_true (one->U > 0.049 && one->U < 0.053);
  assert_false (wsi_gauge_is_apart (one) || wsi_gauge_drifts (one) || wsi_gauge_drifts (two));
  assert_true (wsi_gauge_is_apart (two) && wsi_gauge_drifts (three));
  assert_near (three->moved, 0.14, 0.02);
  g_autofree char *text = wsi_plant_benches_text (found);
  assert_contains (text, "24 inspections of the master tool");
  assert_contains (text, "against the reference, 118.000 ± 0.020");
  assert_contains (text, "reads too much; stands: ");
  assert_contains (text, "DRIFTS: +0.1");
  assert_contains (text, "bench 1 – bench 2");
}

/* The diameter is 6.4885 ± 0.0012 always: without a reference the mean of all stands for it. */
static void
without_a_reference_the_mean_is_taken (void **state)
{
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    fill_benches (archive);
  }
  g_autoptr (WsPlantBenches) found = compare (*state, NULL);
  const WsPlantQuantity *diameter = g_ptr_array_index (found->quantities, 0);
  assert_true (diameter->has_biases && diameter->gauges.by_mean);
  assert_near (diameter->gauges.gauges[0].en, 0, 1e-9);
  assert_null (wsi_plant_doubt_words (diameter));
  g_autofree char *doubt = wsi_plant_doubt_words (g_ptr_array_index (found->quantities, 1));
  assert_contains (doubt, "don't agree within their U");
}

static void
one_bench_alone_tells_no_bias (void **state)
{
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    store (archive,
           &(Shot){ .tool = MASTER, .station = "bench 1", .verdict = "accept", .angle = 118 });
    store (archive, &(Shot){ .tool = MASTER, .station = NULL, .verdict = "accept", .angle = 118 });
    store (archive,
           &(Shot){ .tool = MASTER, .station = "bench 1", .verdict = "retake", .angle = 118 });
  }
  g_autoptr (WsPlantBenches) found = compare (*state, NULL);
  const WsPlantQuantity *of = g_ptr_array_index (found->quantities, 1);
  assert_false (of->has_biases);
  g_autofree char *text = wsi_plant_benches_text (found);
  assert_contains (text, "nothing can be said of biases");
  assert_contains (text, "not enough weeks: 1 of 5");
  assert_contains (text, "1 retakes; 1 without a name");
  g_autofree char *json = wsi_plant_benches_json (found);
  assert_contains (json, "\"reference_is\": null");
}

/* What isn't as it was written is no reading, and it is said. */
static void
an_altered_row_is_left_out (void **state)
{
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    fill_benches (archive);
  }
  change (*state, "UPDATE inspection SET station = 'bench 2' WHERE number = 1");
  g_autoptr (WsPlantBenches) found = compare (*state, NULL);
  assert_int_equal (found->left.wrong->len, 1);
  assert_int_equal (found->n, 23);
  g_autofree char *text = wsi_plant_benches_text (found);
  assert_contains (text, "Left out: 1 not as they were written: shot-");
}

/* ---- Lives ----------------------------------------------------------------------------------- */

static WsPlantLives *
lives_of (const Fixture *fixture, WsPlantBy by)
{
  g_autoptr (GError) error = NULL;
  const WsArchiveFilter filter = WS_ARCHIVE_ALL;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  WsPlantLives *found = wsi_plant_lives (archive, &filter, by, &error);
  assert_null (error);
  return found;
}

/* From a regrind on looked at every day until it ends. */
static void
store_edge (WsArchive *archive, const char *tool, const char *grinder, double from, int days,
            gboolean ends)
{
  for (int day = 0; day <= days; day++)
    store (archive, &(Shot){ .tool = tool,
                             .station = "bench 1",
                             .grinder = grinder,
                             .verdict = day == days && ends ? "reject" : "accept",
                             .day = from + 1.5 * day,
                             .angle = 118,
                             .reground = day == 0 });
}

static void
edges_of_one_grinder_end_early (void **state)
{
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    for (int i = 0; i < 7; i++)
    {
      g_autofree char *tool = g_strdup_printf ("QT-D-010%d", i);
      store_edge (archive, tool, "R. Vane", 0, 2 + i % 3, TRUE);
      store_edge (archive, tool, "L. Marsh", 30, 8 + i % 4, i != 0);
    }
  }
  g_autoptr (WsPlantLives) found = lives_of (*state, WS_PLANT_BY_GRINDER);
  assert_int_equal (found->groups->len, 2);
  const WsPlantGroup *marsh = g_ptr_array_index (found->groups, 0);
  const WsPlantGroup *vane = g_ptr_array_index (found->groups, 1);
  assert_string_equal (vane->name, "R. Vane");
  assert_int_equal (vane->by_days.n, 7);
  assert_int_equal (vane->by_days.n_ended, 7);
  assert_int_equal (marsh->by_days.n_ended, 6);
  assert_near (vane->by_days.median, 4.5, 1e-9); /* 3, 3, 3, 4.5, 4.5, 6, 6 */
  assert_near (vane->by_inspections.median, 4, 1e-9);
  assert_true (wsi_plant_ends_early (found, vane));
  assert_false (wsi_plant_ends_early (found, marsh));
  g_autofree char *text = wsi_plant_lives_text (found);
  assert_contains (text, "R. Vane: END EARLY");
  assert_contains (text, "L. Marsh: no earlier than others");
  assert_contains (text, "7 edges, 6 ended by a reject");
  g_autoptr (WsPlantLives) stations = lives_of (*state, WS_PLANT_BY_STATION);
  assert_int_equal (stations->groups->len, 1);
  g_autofree char *json = wsi_plant_lives_json (stations);
  assert_contains (json, "\"edges\": 14");
}

/* One look at an edge has several views; one that is rejected then was badly ground. */
static void
a_look_has_several_views (void **state)
{
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    const Shot shots[] = {
      { "QT-D-1", "b", "R. Vane", "accept", "drill-side", 0, 118, FALSE }, /* begun unseen */
      { "QT-D-1", "b", "R. Vane", "accept", "drill-side", 5, 118, TRUE },
      { "QT-D-1", "b", "R. Vane", "accept", "drill-end", 5.01, 118, TRUE },
      { "QT-D-1", "b", "R. Vane", "undecided", "drill-side", 9, 118, FALSE },
      { "QT-D-1", "b", "R. Vane", "reject", "drill-end", 9.01, 118, FALSE },
      { "QT-D-1", "b", "R. Vane", "accept", "drill-end", 10, 118, FALSE }, /* of an ended edge */
      { "QT-D-1", "b", "R. Vane", "accept", "drill-side", 12, 118, TRUE },
      { "QT-D-1", "b", "R. Vane", "reject", "drill-end", 12.02, 118, FALSE },
      { "QT-D-1", "b", "R. Vane", "accept", "drill-end", 12.5, 118, TRUE },
      { "QT-D-1", "b", "R. Vane", "accept", "drill-end", 20.5, 118, FALSE },
      { "QT-D-2", "b", NULL, "accept", "drill-end", 1, 118, TRUE },
    };
    for (gsize i = 0; i < G_N_ELEMENTS (shots); i++)
      store (archive, &shots[i]);
  }
  g_autoptr (WsPlantLives) found = lives_of (*state, WS_PLANT_BY_GRINDER);
  const WsPlantGroup *vane = g_ptr_array_index (found->groups, 0);
  assert_int_equal (found->groups->len, 1);
  assert_int_equal (found->n_begun_unseen, 1);
  assert_int_equal (found->left.n_nameless, 1);
  assert_int_equal (vane->n_as_ground, 1);
  assert_int_equal (vane->by_days.n, 2);
  assert_int_equal (vane->by_days.n_ended, 1);
  assert_near (g_array_index (vane->lives, WsLife, 0).length, 4.01, 0.001);
  assert_near (g_array_index (vane->inspections, WsLife, 0).length, 2, 0);
  assert_near (g_array_index (vane->lives, WsLife, 1).length, 8, 0.001);
  assert_false (g_array_index (vane->lives, WsLife, 1).ended);
  g_autofree char *text = wsi_plant_lives_text (found);
  assert_contains (text, "nobody to compare with");
  assert_contains (text, "1 edges whose regrind isn't in the archive");
  assert_contains (text, "1 more were rejected as they were ground");
}

static void
an_edge_with_an_altered_row_isnt_used (void **state)
{
  {
    g_autoptr (WsArchive) archive = open_archive (*state, WS_ARCHIVE_WRITE);
    store_edge (archive, "QT-D-1", "R. Vane", 0, 3, TRUE);
    store_edge (archive, "QT-D-1", "R. Vane", 20, 3, TRUE);
  }
  change (*state, "UPDATE inspection SET verdict = 'accept' WHERE number = 4");
  g_autoptr (WsPlantLives) found = lives_of (*state, WS_PLANT_BY_GRINDER);
  assert_int_equal (found->n_doubted, 1);
  const WsPlantGroup *vane = g_ptr_array_index (found->groups, 0);
  assert_int_equal (vane->by_days.n, 1);
  g_autofree char *text = wsi_plant_lives_text (found);
  assert_contains (text, "1 edges with an inspection that isn't as it was written");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (benches_stand_apart_and_drift, set_up, tear_down),
    cmocka_unit_test_setup_teardown (without_a_reference_the_mean_is_taken, set_up, tear_down),
    cmocka_unit_test_setup_teardown (one_bench_alone_tells_no_bias, set_up, tear_down),
    cmocka_unit_test_setup_teardown (edges_of_one_grinder_end_early, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_look_has_several_views, set_up, tear_down),
  };
  const struct CMUnitTest in_a_folder[] = {
    cmocka_unit_test_setup_teardown (an_altered_row_is_left_out, set_up, tear_down),
    cmocka_unit_test_setup_teardown (an_edge_with_an_altered_row_isnt_used, set_up, tear_down),
  };
  return run_on_both_engines (tests) + cmocka_run_group_tests (in_a_folder, NULL, NULL);
}
