#include <whetsight/remeasure.h>

#include "base/testing.h"

#include <glib/gstdio.h>
#include <math.h>
#include <whetsight/error.h>
#include <whetsight/exchange.h>

#include "archive/archive_for_tests.h"
#include "archive/state.h"

#define SETTINGS "ca978112ca1bbdcafac231b39a23dc4da786eff8147c4e72b9807785afee48bb"
#define OTHERS "3e23e8160039594a33894f6564e1b1348bbd7a0088d42c4acb73eeaed59c009d"

/* What measuring row i of fill() again gives: another angle, and the verdict that it leads to. */
static char *
result_of (int i, double angle, const char *verdict)
{
  g_autofree char *bytes = g_strdup_printf ("picture %d", i);
  g_autofree char *tool = g_strdup_printf ("QT-D-000%d", i);
  g_autoptr (GBytes) original = g_bytes_new (bytes, strlen (bytes));
  const Sample sample = { "again", "2026-11-29T10:00:00Z", tool, verdict, angle, original };
  return sample_record (&sample);
}

static gboolean
add (WsArchive *archive, const char *id, const char *record, const char *settings,
     const char *reason, gboolean *added, GError **error)
{
  const WsRemeasured again = { record, settings, "Q. Quill", reason, "quill" };
  return ws_archive_add_remeasured (archive, id, &again, added, error);
}

static void
expect_added (WsArchive *archive, int i, double angle, const char *verdict, const char *reason)
{
  g_autofree char *id = g_strdup_printf ("id-%d", i);
  g_autofree char *record = result_of (i, angle, verdict);
  g_autoptr (GError) error = NULL;
  gboolean added = FALSE;
  if (!add (archive, id, record, SETTINGS, reason, &added, &error))
    fail_msg ("%s", error->message);
  assert_true (added);
}

static void
expect_refused (WsArchive *archive, const char *id, const char *record, WsErrorCode code,
                const char *words)
{
  g_autoptr (GError) error = NULL;
  gboolean added = TRUE;
  assert_false (add (archive, id, record, SETTINGS, "new limit", &added, &error));
  assert_false (added);
  assert_int_equal (error->code, code);
  assert_contains (error->message, words);
}

/* ---- Storing --------------------------------------------------------------------------------- */

/* The result is there byte by byte, beside an inspection that stays as it was. */
static void
it_stands_beside (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *record = result_of (2, 119.5, "accept");
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_autoptr (WsInspection) before = ws_archive_find (archive, "id-2", NULL);
  const WsNoteWords signed_off = { WS_NOTE_SIGN_OFF, "Q. Quill", "as drawn", NULL };
  assert_true (ws_archive_add_note (archive, "id-2", &signed_off, NULL, NULL));
  expect_added (archive, 2, 119.5, "accept", "new limit");
  g_autoptr (WsInspection) after = ws_archive_find (archive, "id-2", NULL);
  assert_null (after->wrong);
  assert_string_equal (after->record, before->record);
  assert_string_equal (after->hash, before->hash);
  assert_int_equal (after->notes->len, 2);
  const WsNote *first = g_ptr_array_index (after->notes, 0);
  const WsNote *note = g_ptr_array_index (after->notes, 1);
  assert_int_equal (first->kind, WS_NOTE_SIGN_OFF);
  assert_int_equal (note->kind, WS_NOTE_REMEASURED);
  assert_string_equal (note->text, "new limit");
  assert_string_equal (note->settings, SETTINGS);
  assert_string_equal (note->was, "accept");
  assert_string_equal (note->now, "accept");
  g_autofree char *end = g_strconcat ("\"result\": ", record, "}", NULL);
  assert_true (g_str_has_suffix (note->record, end));
  assert_contains (note->record, "whetsight " WS_VERSION);
}

static gboolean
count (const WsInspection *inspection, gpointer data, GError **error)
{
  (void)inspection;
  (void)error;
  ++*(guint *)data;
  return TRUE;
}

/* A tool wasn't looked at once more. */
static void
it_is_no_inspection (void **state)
{
  const Fixture *fixture = *state;
  WsArchiveFilter filter = WS_ARCHIVE_ALL;
  guint n = 0;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  expect_added (archive, 2, 119.5, "accept", "new limit");
  filter.quantity = "point_angle_deg";
  assert_true (ws_archive_each (archive, &filter, TRUE, count, &n, NULL));
  assert_int_equal (n, N_ROWS);
  g_autoptr (GPtrArray) values = ws_archive_values (archive, &filter, NULL);
  assert_int_equal (values->len, N_ROWS);
  g_autofree char *told = verify (fixture, NULL, &(guint64){ 0 });
  assert_string_equal (told, "");
}

static void
once_for_each_reason_and_settings (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *record = result_of (2, 119.5, "accept");
  g_autoptr (GError) error = NULL;
  gboolean added;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  expect_added (archive, 2, 119.5, "accept", "new limit");
  assert_true (add (archive, "id-2", record, SETTINGS, "new limit", &added, &error));
  assert_false (added);
  assert_true (add (archive, "id-2", record, OTHERS, "new limit", &added, &error));
  assert_true (added);
  assert_true (add (archive, "id-2", record, SETTINGS, "new edge", &added, &error));
  assert_true (added);
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-2", NULL);
  assert_int_equal (found->notes->len, 3);
  assert_non_null (ws_inspection_remeasured (found, OTHERS, "new limit"));
  assert_null (ws_inspection_remeasured (found, OTHERS, "new edge"));
}

static void
what_does_not_belong_is_refused (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *own = result_of (2, 118, "accept"), *other = result_of (3, 118, "accept");
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  expect_refused (archive, "id-2", other, WS_ERROR_DATA, "of another picture");
  expect_refused (archive, "id-2", "{}", WS_ERROR_DATA, "of another picture");
  expect_refused (archive, "id-2", "no record", WS_ERROR_DATA, "");
  expect_refused (archive, "id-9", own, WS_ERROR_NO_INPUT, "no inspection");
  change (fixture, "UPDATE inspection SET tool = 'QT-D-9'"
                   " WHERE id = 'id-2'");
  expect_refused (archive, "id-2", own, WS_ERROR_DATA, "not as it was written");
}

/* From a line of an import, say: no tool gets another one's numbers, and no inspection becomes
 * wrong by what was put beside it. */
static void
a_result_of_another_picture_is_not_taken_in (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *own = result_of (2, 118, "accept"), *other = result_of (3, 118, "accept");
  g_autoptr (GError) error = NULL;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_autoptr (WsInspection) forged = g_new0 (WsInspection, 1);
  expect_added (archive, 2, 118, "accept", "new limit");
  g_autoptr (WsInspection) there = ws_archive_find (archive, "id-2", NULL);
  const WsNote *note = g_ptr_array_index (there->notes, 0);
  g_auto (GStrv) parts = g_strsplit (note->record, own, 2);
  assert_int_equal (g_strv_length (parts), 2);
  g_autofree char *swapped = g_strjoinv (other, parts);
  g_auto (GStrv) ids = g_strsplit (swapped, note->id, 2);
  forged->record = g_strjoinv ("forged", ids);
  assert_false (ws_archive_store (archive, forged, NULL, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  assert_contains (error->message, "its result is of another picture");
  g_autoptr (WsInspection) found = ws_archive_find (archive, "id-2", NULL);
  assert_null (found->wrong);
}

/* ---- Several at once --------------------------------------------------------------------------
 */

typedef struct
{
  const Fixture *fixture;
  guint n_added;
} Racer;

static gpointer
race (gpointer data)
{
  Racer *racer = data;
  g_autoptr (WsArchive) archive = ws_archive_open (racer->fixture->address, WS_ARCHIVE_WRITE, NULL);
  for (int i = 1; i <= N_ROWS; i++)
  {
    gboolean added = FALSE;
    g_autofree char *id = g_strdup_printf ("id-%d", i);
    g_autofree char *record = result_of (i, 117, "accept");
    g_autoptr (GError) error = NULL;
    if (add (archive, id, record, SETTINGS, "race", &added, &error))
      racer->n_added += added ? 1 : 0;
    else
      g_printerr ("%s\n", error->message);
  }
  return NULL;
}

static void
no_doubles_by_several_at_once (void **state)
{
  const Fixture *fixture = *state;
  GThread *threads[4];
  Racer racers[G_N_ELEMENTS (threads)];
  guint n_added = 0;
  fill (fixture);
  for (gsize i = 0; i < G_N_ELEMENTS (threads); i++)
  {
    racers[i] = (Racer){ fixture, 0 };
    threads[i] = g_thread_new (NULL, race, &racers[i]);
  }
  for (gsize i = 0; i < G_N_ELEMENTS (threads); i++)
  {
    g_thread_join (threads[i]);
    n_added += racers[i].n_added;
  }
  assert_int_equal (n_added, N_ROWS);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_READ);
  guint64 rows;
  char hash[65];
  assert_true (ws_archive_head (archive, &rows, hash, NULL));
  assert_int_equal (rows, 2 * N_ROWS);
}

/* ---- What it means for the tool -----------------------------------------------------------------
 */

static WsVerdict
verdict_of (WsArchive *archive, const char *id)
{
  g_autoptr (WsInspection) found = ws_archive_find (archive, id, NULL);
  return wsi_archive_standing (found);
}

static WsToolStanding
standing_of (WsArchive *archive, const char *tool)
{
  WsToolState *state = wsi_archive_tool_state (archive, tool, NULL);
  const WsToolStanding standing = state->standing;
  wsi_tool_state_free (state);
  return standing;
}

/* Nothing becomes good by being looked at again; what is bad now isn't good. */
static void
the_worse_verdict_counts (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  assert_int_equal (standing_of (archive, "QT-D-0001"), WS_TOOL_FIT);
  assert_int_equal (standing_of (archive, "QT-D-0004"), WS_TOOL_NOT_FIT);
  expect_added (archive, 1, 120.5, "reject", "new limit");
  expect_added (archive, 2, 120.02, "undecided", "new limit");
  expect_added (archive, 4, 118, "accept", "new limit");
  assert_int_equal (standing_of (archive, "QT-D-0001"), WS_TOOL_NOT_FIT);
  assert_int_equal (standing_of (archive, "QT-D-0002"), WS_TOOL_INCOMPLETE);
  assert_int_equal (standing_of (archive, "QT-D-0004"), WS_TOOL_NOT_FIT);
  assert_int_equal (verdict_of (archive, "id-1"), WS_VERDICT_REJECT);
  assert_int_equal (verdict_of (archive, "id-4"), WS_VERDICT_REJECT);
  /* A wrong limit is put right by measuring once more. */
  expect_added (archive, 1, 117.5, "accept", "the limit was mistyped");
  assert_int_equal (standing_of (archive, "QT-D-0001"), WS_TOOL_FIT);
}

/* ---- Shards ------------------------------------------------------------------------------------
 */

/* `printf id-1 | sha256sum` begins with eb66c623, as coreutils have it. */
static void
shards_are_told_by_the_id (void **state)
{
  static const struct
  {
    const char *id;
    guint bits;
  } known[] = { { "id-1", 0xeb66c623 }, { "id-2", 0xd5d5b1c8 } };
  guint counts[8] = { 0 };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (known); i++)
    for (guint n = 1; n < 9; n++)
      assert_int_equal (ws_shard_of (known[i].id, n), known[i].bits % n);
  for (guint i = 0; i < 8000; i++)
  {
    g_autofree char *id = g_strdup_printf ("20261125T101502Z-%08x-5e0d11", i);
    counts[ws_shard_of (id, 8)]++;
  }
  /* 1000 each; four standard deviations of the binomial distribution. */
  for (guint i = 0; i < 8; i++)
    assert_in_range (counts[i], 1000 - 119, 1000 + 119);
}

/* ---- Export and import -------------------------------------------------------------------------
 */

static char *
note_line (WsArchive *archive, const char *id)
{
  g_autoptr (WsInspection) found = ws_archive_find (archive, id, NULL);
  const WsNote *note = g_ptr_array_index (found->notes, found->notes->len - 1);
  return g_strdup_printf ("{\"inspection\": \"whetsight-inspection/1\", \"record\": %s}",
                          note->record);
}

static void
lines_are_read_back_and_checked (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  expect_added (archive, 2, 119.5, "accept", "new limit");
  g_autofree char *line = note_line (archive, "id-2");
  g_autoptr (WsInspection) read = ws_exchange_read (line, &error);
  assert_null (error);
  assert_string_equal (read->about, "id-2");
  assert_contains (line, read->record);
  /* Accepted, with 119.5 moved to where its limits reject it. */
  g_auto (GStrv) parts = g_strsplit (line, "119.5000", 2);
  g_autofree char *lie = g_strjoinv ("125.5000", parts);
  assert_null (ws_exchange_read (lie, &error));
  assert_contains (error->message, "contradicts itself");
  g_clear_error (&error);
  g_auto (GStrv) halves = g_strsplit (line, "\"result\"", 2);
  g_autofree char *without = g_strjoinv ("\"other\"", halves);
  assert_null (ws_exchange_read (without, &error));
  assert_contains (error->message, "result");
}

/* ---- Comparing ----------------------------------------------------------------------------------
 */

static void
expect_none_wrong (const char *id, const char *wrong, gpointer data)
{
  (void)data;
  fail_msg ("%s: %s", id, wrong);
}

static const WsShift *
shift_of (const WsComparison *comparison, const char *quantity)
{
  for (guint i = 0; i < comparison->shifts->len; i++)
  {
    const WsShift *shift = g_ptr_array_index (comparison->shifts, i);
    if (g_str_equal (shift->quantity, quantity))
      return shift;
  }
  fail_msg ("no %s", quantity);
  return NULL;
}

/* Rows 1, 2, 3 and 4 had 118, 119, 120.06 and 121.06 with U 0.05; they move by 1, -2, 0 and 4 U. */
static void
differences_are_summed_up (void **state)
{
  const Fixture *fixture = *state;
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  expect_added (archive, 1, 118.05, "accept", "old reason");
  expect_added (archive, 1, 118.05, "accept", "new edge");
  expect_added (archive, 2, 118.9, "accept", "new edge");
  expect_added (archive, 3, 120.06, "reject", "new edge");
  expect_added (archive, 4, 121.26, "undecided", "new edge");
  g_autoptr (WsComparison) comparison =
    ws_archive_compare (archive, &all, NULL, expect_none_wrong, NULL, NULL);
  assert_int_equal (comparison->n_inspections, N_ROWS);
  assert_int_equal (comparison->n_again, 4);
  assert_int_equal (comparison->n_wrong, 0);
  assert_int_equal (comparison->flips->len, 1);
  const WsFlip *flip = g_ptr_array_index (comparison->flips, 0);
  assert_string_equal (flip->id, "id-4");
  assert_string_equal (flip->tool, "QT-D-0004");
  assert_string_equal (flip->was, "reject");
  assert_string_equal (flip->now, "undecided");
  assert_string_equal (flip->reason, "new edge");
  const WsShift *angle = shift_of (comparison, "point_angle_deg");
  assert_int_equal (angle->n, 4);
  assert_near (angle->median, 0.5, 1e-6);
  assert_near (angle->rms, sqrt ((1 + 4 + 0 + 16) / 4.0), 1e-6);
  assert_near (angle->percentile_95, 2 + 0.85 * 2, 1e-6);
  assert_near (angle->largest, 4, 1e-6);
  assert_string_equal (angle->largest_id, "id-4");
  assert_int_equal (angle->n_beyond, 2);
  assert_near (angle->median_U, 1, 1e-12);
  const WsShift *diameter = shift_of (comparison, "diameter_mm");
  assert_near (diameter->rms, 0, 1e-12);
  assert_int_equal (diameter->n_beyond, 0);
  g_autoptr (WsComparison) old =
    ws_archive_compare (archive, &all, "old reason", expect_none_wrong, NULL, NULL);
  assert_int_equal (old->n_again, 1);
}

/* Values that are gone, or there for the first time, aren't differences. */
static void
values_come_and_go (void **state)
{
  const Fixture *fixture = *state;
  const WsArchiveFilter all = WS_ARCHIVE_ALL;
  g_autofree char *record = result_of (1, 118, "accept");
  gboolean added;
  fill (fixture);
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_auto (GStrv) gone = g_strsplit (record, "\"value\": 6.4885", 2);
  g_autofree char *without = g_strjoinv ("\"value\": null", gone);
  g_auto (GStrv) come =
    g_strsplit (without, "\"lip_length_a_mm\": {\"value\": null, \"U\": null", 2);
  g_autofree char *both = g_strjoinv ("\"lip_length_a_mm\": {\"value\": 3.5, \"U\": 0.01", come);
  assert_true (add (archive, "id-1", both, SETTINGS, "new edge", &added, NULL));
  g_autoptr (WsComparison) comparison =
    ws_archive_compare (archive, &all, NULL, expect_none_wrong, NULL, NULL);
  assert_int_equal (shift_of (comparison, "diameter_mm")->n_lost, 1);
  assert_int_equal (shift_of (comparison, "diameter_mm")->n, 0);
  assert_int_equal (shift_of (comparison, "lip_length_a_mm")->n_gained, 1);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (it_stands_beside, set_up, tear_down),
    cmocka_unit_test_setup_teardown (it_is_no_inspection, set_up, tear_down),
    cmocka_unit_test_setup_teardown (once_for_each_reason_and_settings, set_up, tear_down),
    cmocka_unit_test_setup_teardown (what_does_not_belong_is_refused, set_up, tear_down),
    cmocka_unit_test_setup_teardown (a_result_of_another_picture_is_not_taken_in, set_up,
                                     tear_down),
    cmocka_unit_test_setup_teardown (no_doubles_by_several_at_once, set_up, tear_down),
    cmocka_unit_test_setup_teardown (the_worse_verdict_counts, set_up, tear_down),
    cmocka_unit_test (shards_are_told_by_the_id),
    cmocka_unit_test_setup_teardown (lines_are_read_back_and_checked, set_up, tear_down),
    cmocka_unit_test_setup_teardown (differences_are_summed_up, set_up, tear_down),
    cmocka_unit_test_setup_teardown (values_come_and_go, set_up, tear_down),
  };
  return run_on_both_engines (tests);
}
