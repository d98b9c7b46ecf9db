/*
 * What reads an archive shows nothing of a row that was changed behind its back.
 */
#include "cli/program_for_tests.h"

#include <sqlite3.h>

#include "archive/sample_for_tests.h"

/* Three of a tool, "id-1" to "id-3"; the second rejected. */
static char *
make_archive (const Fixture *fixture)
{
  static const double angles[] = { 0.0, 118.0, 121.25, 119.0 };
  char *folder = file_in (fixture, "archive");
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, NULL);
  for (int i = 1; i <= 3; i++)
  {
    g_autofree char *id = g_strdup_printf ("id-%d", i);
    g_autofree char *time = g_strdup_printf ("2026-11-25T1%d:00:00Z", i);
    const Sample sample = { id, time, "QT-D-1", i == 2 ? "reject" : "accept", angles[i], NULL };
    g_autoptr (WsInspection) inspection = sample_inspection (&sample);
    assert_true (ws_archive_store (archive, inspection, NULL, NULL));
  }
  return folder;
}

static void
change (const char *folder, const char *sql)
{
  sqlite3 *db = NULL;
  g_autofree char *path = g_build_filename (folder, "archive.db", NULL);
  assert_int_equal (sqlite3_open (path, &db), SQLITE_OK);
  assert_int_equal (sqlite3_exec (db, sql, NULL, NULL, NULL), SQLITE_OK);
  sqlite3_close (db);
}

static void
assert_left_out (const Run *run)
{
  assert_int_equal (run->status, 65);
  assert_contains (run->err, "id-2 left out, not as it was written");
}

static void
test_readers (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = make_archive (fixture);
  g_autofree char *pdf = file_in (fixture, "report.pdf");
  g_auto (Run) before = run ("archive", "list", archive, NULL);
  assert_int_equal (before.status, 0);
  change (archive, "UPDATE inspection SET verdict = 'accept' WHERE number = 2");

  g_auto (Run) list = run ("archive", "list", archive, NULL);
  assert_left_out (&list);
  assert_contains (list.out, "id-2  NOT AS IT WAS WRITTEN\n");
  assert_contains (list.out, "Tool QT-D-1 is incomplete");
  g_auto (Run) records = run ("archive", "list", archive, "--json", NULL);
  assert_left_out (&records);
  assert_lacks (records.out, "id-2");
  g_auto (Run) show = run ("archive", "show", archive, "id-2", NULL);
  assert_left_out (&show);
  assert_string_equal (show.out, "");
  g_auto (Run) trend =
    run ("trend", "--archive", archive, "--quantity", "point_angle_deg", "--tool", "QT-D-1", NULL);
  assert_left_out (&trend);
  assert_contains (trend.out, "2 values");
  g_auto (Run) report = run ("report", "--archive", archive, "--pdf", pdf, NULL);
  assert_left_out (&report);
  static const char *const forms[] = { "csv", "jsonl", "qif", "mtconnect" };
  for (gsize i = 0; i < G_N_ELEMENTS (forms); i++)
  {
    g_auto (Run) exported = run ("archive", "export", archive, "--format", forms[i], NULL);
    assert_left_out (&exported);
    assert_lacks (exported.out, "121.25");
  }
}

static void
test_a_study (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = make_archive (fixture);
  g_autofree char *plan = file_in (fixture, "plan.csv");
  assert_true (
    g_file_set_contents (plan, "part,operator,inspection\n1,a,id-1\n1,a,id-2\n", -1, NULL));
  change (archive, "UPDATE quantity SET value = 118 WHERE number = 2");
  g_auto (Run) study =
    run ("study", "--archive", archive, "--quantity", "point_angle_deg", "--plan", plan, NULL);
  assert_int_equal (study.status, 65);
  assert_contains (study.err, "not as it was written");
}

/* Tables that would be read as something else than what was written. */
static void
test_study_tables (void **state)
{
  static const struct
  {
    const char *table, *told;
  } cases[] = {
    { "part,operator,value\n1,a,1,5\n", "line 2: more fields than the header names" },
    { "part,operator,value\n1,a\n", "line 2: fewer fields" },
    { "part,operator,length,width\n1,a,1,2\n", "line 1: several columns may hold the values" },
    { "part,operator\n1,a\n", "line 1: expected a header" },
    { "part;operator;value\n1;a;1,5\n", "line 1: expected a header" },
  };
  const Fixture *fixture = *state;
  g_autofree char *plan = file_in (fixture, "plan.csv");
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    assert_true (g_file_set_contents (plan, cases[i].table, -1, NULL));
    g_auto (Run) study = run ("study", "--plan", plan, NULL);
    assert_int_equal (study.status, 65);
    assert_contains (study.err, cases[i].told);
  }
}

/* What was mistyped is told, not passed over. */
static void
test_wrong_choices (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = make_archive (fixture);
  g_autofree char *pdf = file_in (fixture, "report.pdf");
  const char *const calls[][8] = {
    { "archive", "list", archive, "--last", "-5" },
    { "archive", "list", archive, "--tool", "QT\xff" },
    { "archive", "export", archive, "id-1", "--format", "csv", "--last=2" },
    { "report", "--archive", archive, "--pdf", pdf, "id-1", "--last=2" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
  {
    const char *const *c = calls[i];
    g_auto (Run) wrong = run (c[0], c[1], c[2], c[3], c[4], c[5], c[6], NULL);
    assert_int_equal (wrong.status, 64);
  }
  assert_false (g_file_test (pdf, G_FILE_TEST_EXISTS));
  static const char *const slips[][3] = { { "--tool", "QT-D-2", "did you mean QT-D-1?" },
                                          { "--view", "drill-sid", "did you mean drill-side?" },
                                          { "--quantity", "pont_angle_deg",
                                            "did you mean point_angle_deg?" } };
  for (gsize i = 0; i < G_N_ELEMENTS (slips); i++)
  {
    g_auto (Run) list = run ("archive", "list", archive, slips[i][0], slips[i][1], NULL);
    assert_int_equal (list.status, 0);
    assert_contains (list.err, slips[i][2]);
  }
}

static void
assert_imports_nothing (const char *archive, const char *path, const char *told)
{
  g_auto (Run) import = run ("archive", "import", archive, path, NULL);
  assert_int_equal (import.status, 65);
  assert_contains (import.err, "nothing imported");
  assert_contains (import.err, told);
  g_auto (Run) verify = run ("archive", "verify", archive, NULL);
  assert_int_equal (verify.status, 0);
  assert_contains (verify.out, "3 inspections");
}

/* A file is taken in whole or refused whole. */
static void
test_import (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *archive = make_archive (fixture);
  g_autofree char *path = file_in (fixture, "lines.jsonl");
  g_auto (Run) all =
    run ("archive", "export", archive, "--format", "jsonl", "--output", path, NULL);
  assert_int_equal (all.status, 0);
  g_auto (Run) again = run ("archive", "import", archive, path, NULL);
  assert_contains (again.out, "0 imported, 3 there already");

  /* Elsewhere they can't be taken for measurements made there. */
  g_autofree char *other = file_in (fixture, "other");
  g_auto (Run) there = run ("archive", "import", other, path, NULL);
  assert_contains (there.out, "3 imported");
  g_auto (Run) list = run ("archive", "list", other, NULL);
  assert_int_equal (list.status, 0);
  assert_contains (list.out, "  imported");
  g_auto (Run) show = run ("archive", "show", other, "id-1", NULL);
  assert_contains (show.out, "lines.jsonl, 20");
  g_auto (Run) csv = run ("archive", "export", other, "--format", "csv", NULL);
  assert_contains (csv.out, "lines.jsonl, 20");

  g_autofree char *good = NULL;
  gsize length;
  assert_true (g_file_get_contents (path, &good, &length, NULL));
  g_auto (GStrv) parts = g_strsplit (good, "R. Vane", 2);
  g_autofree char *changed = g_strjoinv ("Q. Quill", parts);
  assert_true (g_file_set_contents (path, changed, -1, NULL));
  assert_imports_nothing (archive, path, "id-1 is there already, with another text for who ground");
  good[length - 2] = '\0';
  assert_true (g_file_set_contents (path, good, (gssize)length, NULL));
  assert_imports_nothing (archive, path, "line 3: nothing imported: a zero byte");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_readers, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_study, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_study_tables, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_wrong_choices, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_import, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
