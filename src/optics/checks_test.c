#include "base/testing.h"

#include <glib/gstdio.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <whetsight/error.h>

#include "optics/check_series.h"

#define HEADER                                                                                     \
  "run,time,calibration,file,sha256,quantity,value,U,reference,U_reference,deviation,E_n,pass\r\n"

typedef struct
{
  char *folder, *calibration, *path;
} Fixture;

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-checks-XXXXXX", NULL);
  fixture->calibration = g_build_filename (fixture->folder, "bench.calib", NULL);
  fixture->path = ws_checks_path (fixture->calibration);
  g_file_set_contents (fixture->calibration, "", 0, NULL);
  *state = fixture;
  return fixture->folder == NULL;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  g_autoptr (GDir) dir = g_dir_open (fixture->folder, 0, NULL);
  for (const char *name; (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = g_build_filename (fixture->folder, name, NULL);
    g_unlink (path);
  }
  g_rmdir (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture->calibration);
  g_free (fixture->path);
  g_free (fixture);
  return 0;
}

/* Of a pin 4.638 mm +-0.0005; `um` is the deviation. */
static WsCheck *
check_of (const char *calibration, guint run, double um)
{
  g_autofree char *name = g_strdup_printf ("run-%u", run);
  WsCheck *check = ws_check_new (name, "diameter_mm", 4.638 + um / 1000, 0.002, 4.638, 0.0005);
  check->calibration = g_strdup (calibration);
  check->file = g_strdup ("a, \"b\".png");
  check->sha256 = g_strdup ("00");
  g_snprintf (check->time, sizeof check->time, "2026-11-%02uT06:00:00Z", 1 + run % 28);
  return check;
}

static void
add (GPtrArray *checks, const char *calibration, guint run, double um)
{
  g_ptr_array_add (checks, check_of (calibration, run, um));
}

/* ---- E_n -------------------------------------------------------------------------- */

/* By hand: 1.5 um over sqrt (2^2 + 1.5^2) um = 2.5 um. */
static void
E_n_by_hand (void **state)
{
  (void)state;
  g_autoptr (WsCheck) check = ws_check_new ("r", "diameter_mm", 6.0015, 0.002, 6.0, 0.0015);
  assert_near (check->deviation, 0.0015, 1e-12);
  assert_near (check->E_n, 0.6, 1e-9);
  assert_true (check->pass);
  g_autoptr (WsCheck) low = ws_check_new ("r", "diameter_mm", 5.9974, 0.002, 6.0, 0.0015);
  assert_near (low->E_n, -1.04, 1e-9);
  assert_false (low->pass);
  g_autoptr (WsCheck) just = ws_check_new ("r", "diameter_mm", 6.0025, 0.002, 6.0, 0.0015);
  assert_true (just->pass);
  g_autoptr (WsCheck) unknown = ws_check_new ("r", "diameter_mm", NAN, 0.002, 6.0, 0.0015);
  assert_false (unknown->pass);
}

/* ---- State ------------------------------------------------------------------------ */

static void
assert_state (const GPtrArray *checks, WsCheckedState state, const char *time)
{
  const WsCheckState found = ws_checks_state (checks, "A");
  assert_int_equal (found.state, state);
  assert_string_equal (found.time, time);
}

static void
state_follows_whole_runs (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  assert_state (checks, WS_CHECKED_NEVER, "");
  add (checks, "B", 0, 9);
  assert_state (checks, WS_CHECKED_NEVER, "");
  add (checks, "A", 1, 0.1);
  add (checks, "A", 1, -0.1);
  assert_state (checks, WS_CHECKED_PASSED, "2026-11-02T06:00:00Z");
  /* One of a run's shots fails, whichever comes last. */
  add (checks, "A", 2, 5);
  add (checks, "A", 2, 0.1);
  assert_state (checks, WS_CHECKED_FAILED, "2026-11-03T06:00:00Z");
  add (checks, "A", 3, 0.1);
  add (checks, "A", 3, 5);
  assert_state (checks, WS_CHECKED_FAILED, "2026-11-03T06:00:00Z");
  /* Another calibration's pass is no pass. */
  add (checks, "B", 4, 0);
  assert_state (checks, WS_CHECKED_FAILED, "2026-11-03T06:00:00Z");
  add (checks, "A", 5, 0);
  assert_state (checks, WS_CHECKED_PASSED, "2026-11-06T06:00:00Z");
}

/* ---- Series ----------------------------------------------------------------------- */

static void
series_join_a_runs_shots (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  add (checks, "A", 1, 0.2);
  add (checks, "A", 1, 0.4);
  add (checks, "A", 1, 0.9);
  add (checks, "B", 2, 0.2);
  WsCheck *other = check_of ("A", 1, 0);
  other->reference = 2.0;
  g_ptr_array_add (checks, other);
  add (checks, "A", 3, 7);
  g_autoptr (GPtrArray) all = wsi_check_series (checks, "A");
  assert_int_equal (all->len, 2);
  const WsCheckSeries *series = all->pdata[0];
  assert_int_equal (series->points->len, 2);
  const WsCheckPoint *point = &g_array_index (series->points, WsCheckPoint, 0);
  assert_near (point->deviation, 0.0005, 1e-12);
  assert_true (point->pass);
  assert_false (point[1].pass);
  assert_int_equal (((const WsCheckSeries *)all->pdata[1])->points->len, 1);
}

/* A failed point doesn't widen the limits, and the newest is judged by the others. */
static void
limits_come_from_passed_history (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  for (guint i = 0; i < 20; i++)
    add (checks, "A", i, i % 2 ? 0.1 : -0.1);
  add (checks, "A", 20, 5);
  add (checks, "A", 21, 1.0);
  g_autoptr (GPtrArray) all = wsi_check_series (checks, "A");
  const WsCheckSeries *series = all->pdata[0];
  assert_int_equal (series->control.n, 20);
  assert_near (series->control.upper, 0.0002 * 2.6587, 1e-8);
  assert_int_equal (g_array_index (series->points, WsCheckPoint, 19).signals, 0);
  assert_int_equal (g_array_index (series->points, WsCheckPoint, 20).signals, WS_CONTROL_BEYOND);
  assert_int_equal (g_array_index (series->points, WsCheckPoint, 21).signals, WS_CONTROL_BEYOND);
}

static void
drift_is_seen (void **state)
{
  (void)state;
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  for (guint i = 0; i < WS_CONTROL_RUN_LENGTH; i++)
    add (checks, "A", i, 0.1 * i);
  g_autoptr (GPtrArray) all = wsi_check_series (checks, "A");
  const WsCheckSeries *series = all->pdata[0];
  assert_true (g_array_index (series->points, WsCheckPoint, 6).signals & WS_CONTROL_RISING);
  assert_false (g_array_index (series->points, WsCheckPoint, 5).signals & WS_CONTROL_RISING);
}

/* ---- The file --------------------------------------------------------------------- */

static void
the_path_lies_beside (void **state)
{
  (void)state;
  g_autofree char *usual = ws_checks_path ("shelf/bench.calib");
  assert_string_equal (usual, "shelf/bench.checks.csv");
  g_autofree char *other = ws_checks_path ("bench.v2");
  assert_string_equal (other, "bench.v2.checks.csv");
}

static void
what_is_appended_is_loaded (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GError) error = NULL;
  g_unlink (fixture->path);
  g_autoptr (GPtrArray) none = ws_checks_load (fixture->path, &error);
  assert_int_equal (none->len, 0);
  for (guint run = 0; run < 3; run++)
  {
    g_autoptr (GPtrArray) checks = ws_checks_new ();
    add (checks, "A", run, 0.3217);
    add (checks, "A", run, run);
    g_autoptr (GPtrArray) all = ws_checks_append (fixture->calibration, checks, &error);
    assert_null (error);
    assert_int_equal (all->len, 2 * (run + 1));
  }
  g_autoptr (GPtrArray) loaded = ws_checks_load (fixture->path, &error);
  assert_int_equal (loaded->len, 6);
  for (guint i = 0; i < 6; i++)
  {
    const WsCheck *check = loaded->pdata[i];
    g_autoptr (WsCheck) made = check_of ("A", i / 2, i % 2 ? i / 2 : 0.3217);
    assert_string_equal (check->run, made->run);
    assert_string_equal (check->time, made->time);
    assert_string_equal (check->file, made->file);
    assert_string_equal (check->quantity, made->quantity);
    assert_near (check->value, made->value, 0);
    assert_near (check->E_n, made->E_n, 0);
    assert_int_equal (check->pass, made->pass);
  }
  WsCheckState found;
  assert_true (ws_checks_load_state (fixture->calibration, "A", &found, &error));
  assert_int_equal (found.state, WS_CHECKED_PASSED);
}

static const char *const damaged[][2] = {
  { "", "first line" },
  { "file,diameter_mm\r\n", "first line" },
  { HEADER "r,2026-11-02T06:00:00Z,A,a,00,diameter_mm,1,1,1\r\n", "line 2: 9 fields" },
  { HEADER "r,monday,A,a,00,diameter_mm,1,1,1,1,0,0,yes\r\n", "line 2: time" },
  { HEADER "r,2026-11-02T06:00:00Z,A,a,00,diameter_mm,x,1,1,1,0,0,yes\r\n", "line 2: value" },
  { HEADER "r,2026-11-02T06:00:00Z,A,a,00,diameter_mm,1,-1,1,1,0,0,yes\r\n", "line 2: U:" },
  { HEADER "r,2026-11-02T06:00:00Z,A,a,00,diameter_mm,1,1,nan,1,0,0,yes\r\n", "reference" },
  { HEADER "r,2026-11-02T06:00:00Z,A,a,00,diameter_mm,9,1,1,1,0,0,yes\r\n", "no by the sizes" },
  { HEADER "r,2026-11-02T06:00:00Z,A,a,00,diameter_mm,1,1,1,1,0,0,\r\n", "yes by the sizes" },
  { HEADER "\"r,2026", "a quote" },
};

/* A damaged history is neither believed nor written over. */
static void
a_damaged_file_is_refused_and_kept (void **state)
{
  const Fixture *fixture = *state;
  for (gsize i = 0; i < G_N_ELEMENTS (damaged); i++)
  {
    g_autoptr (GError) error = NULL;
    g_autofree char *after = NULL;
    g_autoptr (GPtrArray) checks = ws_checks_new ();
    add (checks, "A", 1, 0);
    assert_true (g_file_set_contents (fixture->path, damaged[i][0], -1, NULL));
    assert_null (ws_checks_append (fixture->calibration, checks, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
    assert_contains (error->message, damaged[i][1]);
    assert_lacks (error->message, "\n");
    assert_true (g_file_get_contents (fixture->path, &after, NULL, NULL));
    assert_string_equal (after, damaged[i][0]);
  }
  g_unlink (fixture->path);
}

/* Killed at any moment, what is there is whole: the file before or the file after. */
static void
a_kill_leaves_the_history_whole (void **state)
{
  const Fixture *fixture = *state;
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  for (guint run = 0; run < 40; run++)
    add (checks, "A", run, 0.1);
  g_unlink (fixture->path);
  g_ptr_array_unref (ws_checks_append (fixture->calibration, checks, NULL));
  for (guint trial = 0; trial < 25; trial++)
  {
    const pid_t child = fork ();
    if (child == 0)
      for (;;)
        g_ptr_array_unref (ws_checks_append (fixture->calibration, checks, NULL));
    g_usleep (1000 + 700 * trial);
    kill (child, SIGKILL);
    waitpid (child, NULL, 0);
    g_autoptr (GError) error = NULL;
    g_autoptr (GPtrArray) loaded = ws_checks_load (fixture->path, &error);
    assert_null (error);
    assert_int_equal (loaded->len % 40, 0);
    assert_true (loaded->len >= 40);
  }
}

/* Two at once lose nothing. */
static void
writers_wait_for_each_other (void **state)
{
  const Fixture *fixture = *state;
  pid_t children[3];
  g_unlink (fixture->path);
  for (guint i = 0; i < G_N_ELEMENTS (children); i++)
    if ((children[i] = fork ()) == 0)
    {
      for (guint run = 0; run < 10; run++)
      {
        g_autoptr (GPtrArray) checks = ws_checks_new ();
        add (checks, "A", run, 0.1);
        g_ptr_array_unref (ws_checks_append (fixture->calibration, checks, NULL));
      }
      _exit (0);
    }
  for (guint i = 0; i < G_N_ELEMENTS (children); i++)
    waitpid (children[i], NULL, 0);
  g_autoptr (GPtrArray) loaded = ws_checks_load (fixture->path, NULL);
  assert_int_equal (loaded->len, 30);
}

static void
a_missing_calibration_takes_no_checks (void **state)
{
  (void)state;
  g_autoptr (GError) error = NULL;
  g_autoptr (GPtrArray) checks = ws_checks_new ();
  assert_null (ws_checks_append ("/nonexistent/a.calib", checks, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (E_n_by_hand),
    cmocka_unit_test (state_follows_whole_runs),
    cmocka_unit_test (series_join_a_runs_shots),
    cmocka_unit_test (limits_come_from_passed_history),
    cmocka_unit_test (drift_is_seen),
    cmocka_unit_test (the_path_lies_beside),
    cmocka_unit_test (what_is_appended_is_loaded),
    cmocka_unit_test (a_damaged_file_is_refused_and_kept),
    cmocka_unit_test (a_kill_leaves_the_history_whole),
    cmocka_unit_test (writers_wait_for_each_other),
    cmocka_unit_test (a_missing_calibration_takes_no_checks),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
