/*
 * What people add to inspections and ask of tools, as they would call the program.  Its path comes
 * in the environment, WHETSIGHT.
 */
#include "archive/archive_for_tests.h"

#include <sys/wait.h>

typedef struct
{
  int status;
  char *out, *err;
} Run;

static void
run_clear (Run *run)
{
  g_free (run->out);
  g_free (run->err);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

/* Arguments end in NULL. */
static Run
run (const char *argument, ...)
{
  Run run = { 0 };
  int wait_status;
  va_list rest;
  g_autoptr (GPtrArray) call = g_ptr_array_new ();
  g_ptr_array_add (call, (gpointer)g_getenv ("WHETSIGHT"));
  va_start (rest, argument);
  for (; argument != NULL; argument = va_arg (rest, const char *))
    g_ptr_array_add (call, (gpointer)argument);
  va_end (rest);
  g_ptr_array_add (call, NULL);
  assert_true (g_spawn_sync (NULL, (char **)call->pdata, NULL, G_SPAWN_DEFAULT, NULL, NULL,
                             &run.out, &run.err, &wait_status, NULL));
  run.status = WIFEXITED (wait_status) ? WEXITSTATUS (wait_status) : -1;
  return run;
}

/* ---- Notes ------------------------------------------------------------------------------ */

/* id-4 is rejected. */
static void
release_it (const Fixture *fixture)
{
  g_auto (Run) release = run ("archive", "release", fixture->folder, "id-4", "--as", "Q. Quill",
                              "--reason", "roughing only", NULL);
  assert_int_equal (release.status, 0);
}

static void
test_a_release_is_shown_and_is_no_accept (void **state)
{
  static const char told[] = "RELEASED AGAINST THE VERDICT by Q. Quill";
  const Fixture *fixture = *state;
  fill (fixture);
  release_it (fixture);
  g_auto (Run) show = run ("archive", "show", fixture->folder, "id-4", NULL);
  assert_contains (show.out, "verdict     reject");
  assert_contains (show.out, told);
  assert_contains (show.out, "roughing only");
  g_auto (Run) list =
    run ("archive", "list", fixture->folder, "--verdict", "reject", "--tool", "QT-D-0004", NULL);
  assert_contains (list.out, "reject");
  assert_contains (list.out, told);
  assert_contains (list.out, "Tool QT-D-0004 is not fit");
  g_auto (Run) accepted = run ("archive", "list", fixture->folder, "--verdict", "accept", NULL);
  assert_null (strstr (accepted.out, "id-4"));
  g_auto (Run) verify = run ("archive", "verify", fixture->folder, NULL);
  assert_int_equal (verify.status, 0);
  assert_contains (verify.out, "5 inspections, 1 notes on them, ");
}

static void
test_a_release_in_exports (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  release_it (fixture);
  g_auto (Run) csv =
    run ("archive", "export", fixture->folder, "--format", "csv", "id-4", "id-5", NULL);
  assert_contains (csv.out, ",released_against_verdict,notes\r\n");
  assert_contains (csv.out, ",yes,\"RELEASED AGAINST THE VERDICT by Q. Quill");
  assert_contains (csv.out, ",no,\r\n");
  g_auto (Run) qif = run ("archive", "export", fixture->folder, "--format", "qif", "id-4", NULL);
  assert_contains (qif.out, "<InspectionStatusEnum>FAIL</InspectionStatusEnum>");
  assert_contains (qif.out, "name=\"notes\" value=\"RELEASED AGAINST THE VERDICT by Q. Quill");
  g_auto (Run) assets =
    run ("archive", "export", fixture->folder, "--format", "mtconnect", "id-4", NULL);
  assert_contains (assets.out, "<Status>UNAVAILABLE</Status>");
  assert_contains (assets.out, "inspection id-4 RELEASED AGAINST THE VERDICT by Q. Quill");
}

/* Twice: the second time all is there already. */
static void
test_notes_go_along (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *lines = g_build_filename (fixture->folder, "..", "lines.jsonl", NULL);
  g_autofree char *other = g_strconcat (fixture->folder, "-other", NULL);
  g_auto (Run) comment = { 0 };
  fill (fixture);
  release_it (fixture);
  comment = run ("archive", "comment", fixture->folder, "id-1", "--as", "R. Vane", "--reason",
                 "coated again", NULL);
  assert_int_equal (comment.status, 0);
  g_auto (Run) exported = run ("archive", "export", fixture->folder, "--format", "jsonl",
                               "--output", lines, "id-1", "id-4", NULL);
  assert_int_equal (exported.status, 0);
  g_auto (Run) import = run ("archive", "import", other, lines, NULL);
  g_auto (Run) again = run ("archive", "import", other, lines, NULL);
  g_auto (Run) show = run ("archive", "show", other, "id-4", NULL);
  g_auto (Run) verify = run ("archive", "verify", other, NULL);
  sample_remove_tree (other);
  g_remove (lines);
  assert_string_equal (import.err, "");
  assert_string_equal (import.out, "4 imported, 0 there already\n");
  assert_string_equal (again.out, "0 imported, 4 there already\n");
  assert_contains (show.out, "imported: roughing only");
  assert_int_equal (verify.status, 0);
}

/* Without what it is on a note says nothing. */
static void
test_a_note_alone (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *lines = g_build_filename (fixture->folder, "..", "alone.jsonl", NULL);
  g_autofree char *other = g_strconcat (fixture->folder, "-alone", NULL);
  fill (fixture);
  release_it (fixture);
  g_auto (Run) exported =
    run ("archive", "export", fixture->folder, "--format", "jsonl", "id-4", NULL);
  const char *note = strchr (exported.out, '\n') + 1;
  assert_true (g_file_set_contents (lines, note, -1, NULL));
  g_auto (Run) import = run ("archive", "import", other, lines, NULL);
  sample_remove_tree (other);
  g_remove (lines);
  assert_int_equal (import.status, 65);
  assert_contains (import.err, "line 1: nothing imported");
  assert_contains (import.err, "the inspection it is on, id-4, is not here");
}

static void
test_what_can_not_be_noted (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  g_auto (Run) nobody =
    run ("archive", "release", fixture->folder, "id-4", "--reason", "because", NULL);
  assert_int_equal (nobody.status, 64);
  g_auto (Run) no_reason =
    run ("archive", "release", fixture->folder, "id-4", "--as", "Q. Quill", "--reason", " ", NULL);
  assert_int_equal (no_reason.status, 64);
  assert_contains (no_reason.err, "no reason is given");
  g_auto (Run) accepted = run ("archive", "release", fixture->folder, "id-1", "--as", "Q. Quill",
                               "--reason", "because", NULL);
  assert_int_equal (accepted.status, 65);
  assert_contains (accepted.err, "accepted, so there is no verdict to release it against");
  g_auto (Run) unknown = run ("archive", "sign", fixture->folder, "id-9", "--as", "Q. Quill",
                              "--reason", "looked at", NULL);
  assert_int_equal (unknown.status, 66);
  g_auto (Run) no_archive =
    run ("archive", "sign", "/nowhere", "id-1", "--as", "Q. Quill", "--reason", "looked at", NULL);
  assert_int_equal (no_archive.status, 66);
  g_auto (Run) escape = run ("archive", "comment", fixture->folder, "id-1", "--as", "Q\033[31m",
                             "--reason", "one\ntwo", NULL);
  assert_int_equal (escape.status, 0);
  g_auto (Run) show = run ("archive", "show", fixture->folder, "id-1", NULL);
  assert_null (strchr (show.out, '\033'));
  assert_contains (show.out, "one\\ntwo");
}

static void
test_a_removed_release_is_told (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  release_it (fixture);
  change (fixture, "DELETE FROM record WHERE number = 6; DELETE FROM inspection WHERE number = 6");
  g_auto (Run) verify = run ("archive", "verify", fixture->folder, NULL);
  assert_int_equal (verify.status, 1);
  assert_contains (verify.out, "rows removed: 6 were written, 5 are there");
}

/* ---- In time ------------------------------------------------------------------------------ */

static Run
trend_of (const Fixture *fixture)
{
  return run ("trend", "--archive", fixture->folder, "--kind", "twist-drill", "--quantity",
              "point_angle_deg", NULL);
}

static void
store_angle (WsArchive *archive, int i, double angle)
{
  g_autofree char *id = g_strdup_printf ("id-%d", i);
  g_autofree char *time = g_strdup_printf ("2026-11-25T%02d:00:00Z", 10 + i);
  const Sample sample = { id, time, "QT-D-0001", "accept", angle, NULL };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  assert_true (ws_archive_store (archive, inspection, NULL, NULL));
}

/* What rises ends outside the limits; one more in the middle leaves that an earlier signal. */
static void
test_a_trend_ends_by_its_signals (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  for (int i = 0; i < 6; i++)
    store_angle (archive, i, 117.0 + 0.1 * i);
  g_auto (Run) none = trend_of (fixture);
  assert_int_equal (none.status, 0);
  assert_contains (none.out, "Cp ");
  assert_contains (none.out, "Cpk ");
  assert_contains (none.out, "95 % intervals\n");
  store_angle (archive, 6, 117.6);
  g_auto (Run) newest = trend_of (fixture);
  assert_int_equal (newest.status, 1);
  assert_contains (newest.out, "SIGNAL: ");
  assert_contains (newest.out, "with signals they tell little");
  store_angle (archive, 7, 117.3);
  g_auto (Run) earlier = trend_of (fixture);
  assert_int_equal (earlier.status, 2);
  assert_contains (earlier.out, "earlier signals: ");
}

/* A page a tool, each with its name. */
static void
test_history (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *pdf = g_strconcat (fixture->folder, ".pdf", NULL);
  g_autofree char *bytes = NULL;
  gsize n = 0;
  gboolean has_count = FALSE;
  fill (fixture);
  g_auto (Run) all = run ("archive", "history", fixture->folder, "--pdf", pdf, NULL);
  assert_int_equal (all.status, 0);
  assert_true (g_file_get_contents (pdf, &bytes, &n, NULL));
  g_remove (pdf);
  for (gsize i = 0; i + 8 < n; i++)
    has_count = has_count || memcmp (bytes + i, "/Count 5", 8) == 0;
  assert_true (has_count);
  assert_contains (all.out, "QT-D-0003: twist-drill, 1 pictures from 2026-11-25 to 2026-11-25; ");
  assert_contains (all.out, "0 regrinds on record.");
  g_auto (Run) none = run ("archive", "history", fixture->folder, "--tool", "QT-D-003", NULL);
  assert_int_equal (none.status, 66);
  assert_contains (none.err, "did you mean QT-D-0003?");
}

/* ---- Finding ---------------------------------------------------------------------------- */

/* With a bracket in a name, which stands for itself. */
static void
test_wildcards (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  {
    g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
    const Sample sample = { "id-b", "2026-11-25T20:00:00Z", "QT-[9]", "accept", 118.0, NULL };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  }
  static const struct
  {
    const char *tool, *has, *lacks;
  } cases[] = {
    { "QT-D-*", "id-1", "id-b" },  { "QT-D-000?", "id-5", "id-b" }, { "QT-D-*3", "id-3", "id-1" },
    { "QT-[9]*", "id-b", "id-1" }, { "*-D-0001", "id-1", "id-2" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_auto (Run) list = run ("archive", "list", fixture->folder, "--tool", cases[i].tool, NULL);
    assert_contains (list.out, cases[i].has);
    assert_null (strstr (list.out, cases[i].lacks));
  }
  g_auto (Run) grinder =
    run ("archive", "list", fixture->folder, "--grinder", "R. *", "--station", "bench ?", NULL);
  assert_contains (grinder.out, "id-1");
  g_auto (Run) none = run ("archive", "list", fixture->folder, "--tool", "qt-*", NULL);
  assert_string_equal (none.out, "");
}

/* What all views say of a tool is told of 20 tools, and of more by another command. */
static void
test_a_list_of_many_tools (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  for (guint i = 6; i <= 21; i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%u", i);
    g_autofree char *tool = g_strdup_printf ("QT-D-%04u", i);
    const Sample sample = { id, "2026-11-25T10:15:02Z", tool, "accept", 118.0, NULL };
    g_autoptr (WsInspection) row = sample_inspection (&sample);
    g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
    assert_true (ws_archive_store (archive, row, NULL, NULL));
  }
  g_auto (Run) few = run ("archive", "list", fixture->folder, "--last", "20", NULL);
  assert_contains (few.out, "Tool QT-D-0021 is ");
  assert_null (strstr (few.out, "tools: what all views"));
  g_auto (Run) many = run ("archive", "list", fixture->folder, NULL);
  assert_contains (many.out,
                   "21 tools: what all views say of each, whetsight archive tools tells.");
  assert_null (strstr (many.out, "Tool QT-D-0021 is "));
}

static void
test_tables (void **state)
{
  const Fixture *fixture = *state;
  fill (fixture);
  release_it (fixture);
  g_auto (Run) table =
    run ("archive", "table", fixture->folder, "--quantity", "point_angle_deg", "--csv", NULL);
  assert_string_equal (
    table.out,
    "grinder,tools,inspections,accept,reject,undecided,retake,released,reground,rejected_percent,"
    "values,mean,standard_deviation\r\n"
    "R. Vane,5,5,2,3,0,0,1,0,60.0,5,120.036,1.6096831986450015\r\n");
  g_auto (Run) machines =
    run ("archive", "table", fixture->folder, "--by", "machine", "--tool", "QT-D-000?", NULL);
  assert_true (g_regex_match_simple ("machine +tools +all", machines.out, 0, 0));
  assert_true (g_regex_match_simple ("\n- +5 +5 +2 +3 ", machines.out, 0, 0));
  g_auto (Run) tools = run ("archive", "tools", fixture->folder, NULL);
  assert_true (g_regex_match_simple ("QT-D-0004 +twist-drill +1 pictures, last 2026-11-25, 0 "
                                     "regrinds, RELEASED AGAINST A VERDICT: not fit",
                                     tools.out, 0, 0));
  change (fixture, "UPDATE inspection SET grinder = 'Q. Quill' WHERE number = 1");
  g_auto (Run) changed = run ("archive", "table", fixture->folder, NULL);
  assert_int_equal (changed.status, 65);
  assert_null (strstr (changed.out, "Quill"));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_a_release_is_shown_and_is_no_accept, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_release_in_exports, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_notes_go_along, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_note_alone, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_can_not_be_noted, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_removed_release_is_told, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_trend_ends_by_its_signals, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_history, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_wildcards, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_list_of_many_tools, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_tables, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
