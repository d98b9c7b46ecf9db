/*
 * The program with an archive, run as a user would.  Its path comes in the environment, WHETSIGHT;
 * that of the library that makes writes fail in WHETSIGHT_FAULT.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <jansson.h>
#include <sys/wait.h>

#include "archive/sample_for_tests.h"
#include "scene/scene.h"

#define WRITERS 20

typedef struct
{
  char *folder;
  char *pictures; /* a folder with a.png, b.png, c.png and broken.png */
  char *one;      /* a.png */
  char *archive;
} Fixture;

typedef struct
{
  int status;
  char *out;
  char *err;
} Run;

static void
run_clear (Run *run)
{
  g_free (run->out);
  g_free (run->err);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Run, run_clear)

static void
take_picture (const char *folder, const char *name, double roll_deg)
{
  SceneDrill drill;
  SceneCamera camera;
  g_autofree char *path = g_build_filename (folder, name, NULL);
  scene_drill_init (&drill, 10.0);
  scene_camera_init (&camera);
  camera.width = 640;
  camera.height = 480;
  camera.roll_deg = roll_deg;
  scene_camera_aim (&camera, &drill, 0.45);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  assert_true (scene_image_save (image, path, 0));
}

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = quick_folder ();
  fixture->pictures = g_build_filename (fixture->folder, "pictures", NULL);
  fixture->archive = g_build_filename (fixture->folder, "archive", NULL);
  fixture->one = g_build_filename (fixture->pictures, "a.png", NULL);
  g_autofree char *broken = g_build_filename (fixture->pictures, "broken.png", NULL);
  assert_int_equal (g_mkdir (fixture->pictures, 0777), 0);
  take_picture (fixture->pictures, "a.png", 0.0);
  take_picture (fixture->pictures, "b.png", 3.0);
  take_picture (fixture->pictures, "c.png", 6.0);
  assert_true (g_file_set_contents (broken, "\x89PNG\r\n\x1a\nand no more", -1, NULL));
  *state = fixture;
  return g_getenv ("WHETSIGHT") == NULL;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  sample_remove_tree (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture->pictures);
  g_free (fixture->archive);
  g_free (fixture->one);
  g_free (fixture);
  return 0;
}

static char **
call_of (const char *argument, va_list rest)
{
  GPtrArray *call = g_ptr_array_new ();
  g_ptr_array_add (call, g_strdup (g_getenv ("WHETSIGHT")));
  for (; argument != NULL; argument = va_arg (rest, const char *))
    g_ptr_array_add (call, g_strdup (argument));
  g_ptr_array_add (call, NULL);
  return (char **)g_ptr_array_free (call, FALSE);
}

static int
status_of (int wait_status)
{
  return WIFEXITED (wait_status) ? WEXITSTATUS (wait_status) : -1;
}

/* `environment` is NULL, or what to add: names and values in turn, ending in NULL.  Arguments end
 * in NULL. */
static Run
run_with (const char *const *environment, const char *argument, ...)
{
  Run run = { 0 };
  va_list rest;
  int wait_status;
  g_auto (GStrv) variables = g_get_environ ();
  for (; environment != NULL && *environment != NULL; environment += 2)
    variables = g_environ_setenv (variables, environment[0], environment[1], TRUE);
  va_start (rest, argument);
  g_auto (GStrv) call = call_of (argument, rest);
  va_end (rest);
  assert_true (g_spawn_sync (NULL, call, variables, G_SPAWN_LEAVE_DESCRIPTORS_OPEN, NULL, NULL,
                             &run.out, &run.err, &wait_status, NULL));
  run.status = status_of (wait_status);
  return run;
}

static void
check_verifies (const Fixture *fixture, const char *said)
{
  g_auto (Run) verify = run_with (NULL, "archive", "verify", fixture->archive, NULL);
  if (verify.status != 0)
    print_error ("%s%s", verify.out, verify.err);
  assert_int_equal (verify.status, 0);
  assert_contains (verify.out, said);
}

static void
test_measure_list_show (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) measure =
    run_with (NULL, "measure", "--archive", fixture->archive, "--station", "bench 2", "--grinder",
              "R. Vane", "--reground", fixture->one, NULL);
  assert_true (measure.status <= 2);
  assert_contains (measure.out, "Archived  number 1 in");
  check_verifies (fixture, "1 inspections, 2 pictures");
  g_auto (Run) list =
    run_with (NULL, "archive", "list", fixture->archive, "--grinder", "R. Vane", NULL);
  assert_int_equal (list.status, 0);
  assert_contains (list.out, "bench 2");
  g_auto (Run) none =
    run_with (NULL, "archive", "list", fixture->archive, "--grinder", "nobody", NULL);
  assert_string_equal (none.out, "");
  g_auto (GStrv) words = g_strsplit (list.out, " ", 2);
  g_auto (Run) show = run_with (NULL, "archive", "show", fixture->archive, words[0], NULL);
  assert_contains (show.out, "point_angle_deg");
  g_setenv ("TZ", "WET-3", TRUE);
  g_auto (Run) elsewhere = run_with (NULL, "archive", "show", fixture->archive, words[0], NULL);
  g_setenv ("TZ", "UTC0", TRUE);
  assert_true (
    g_regex_match_simple ("\ntime +[0-9]{4}-[0-9-]{5} [0-9:]{8} WET\n", elsewhere.out, 0, 0));
  g_auto (Run) missing = run_with (NULL, "archive", "show", fixture->archive, "x", NULL);
  assert_int_equal (missing.status, 66);
  g_auto (Run) nowhere = run_with (NULL, "archive", "list", fixture->pictures, NULL);
  assert_int_equal (nowhere.status, 66);
}

/* Order, one bad file, summary, and a second run that goes on where the first was. */
static void
test_a_folder (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) first = run_with (NULL, "measure", "--json", "--jobs", "3", "--archive",
                                 fixture->archive, fixture->pictures, NULL);
  assert_int_equal (first.status, 65);
  assert_contains (first.err, "4 pictures:");
  assert_contains (first.err, "1 with errors");
  static const char *const names[] = { "a.png", "b.png", "broken.png", "c.png" };
  g_auto (GStrv) lines = g_strsplit (g_strchomp (first.out), "\n", -1);
  assert_int_equal (g_strv_length (lines), 4);
  for (guint i = 0; i < 4; i++)
    assert_contains (lines[i], names[i]);
  g_auto (Run) second =
    run_with (NULL, "measure", "--json", "--archive", fixture->archive, fixture->pictures, NULL);
  assert_contains (second.err, "4 of them measured already");
  assert_string_equal (g_strchomp (second.out), first.out);
  g_auto (Run) told =
    run_with (NULL, "measure", "--again", "--archive", fixture->archive, fixture->pictures, NULL);
  g_auto (GStrv) words = g_strsplit (g_strchomp (told.out), "\n", -1);
  assert_int_equal (g_strv_length (words), 3);
  for (guint i = 0; i < 3; i++)
    assert_true (g_regex_match_simple ("^[a-z]+ +[abc]\\.png: .* \\(archived, number [0-9]+\\)$",
                                       words[i], 0, 0));
  g_auto (Run) again = run_with (NULL, "measure", "--json", "--again", "--archive",
                                 fixture->archive, fixture->pictures, NULL);
  assert_lacks (again.err, "already");
  check_verifies (fixture, "12 inspections");
}

static void
test_twenty_at_once (void **state)
{
  const Fixture *fixture = *state;
  GPid pids[WRITERS];
  char *call[] = {
    (char *)g_getenv ("WHETSIGHT"), "measure", "--archive", fixture->archive, fixture->one, NULL
  };
  for (guint i = 0; i < WRITERS; i++)
    assert_true (g_spawn_async (NULL, call, NULL,
                                G_SPAWN_DO_NOT_REAP_CHILD | G_SPAWN_STDOUT_TO_DEV_NULL, NULL, NULL,
                                &pids[i], NULL));
  for (guint i = 0; i < WRITERS; i++)
  {
    int status;
    assert_int_equal (waitpid (pids[i], &status, 0), pids[i]);
    assert_in_range (status_of (status), 0, 2);
  }
  check_verifies (fixture, "20 inspections");
}

/* What breaks the archive doesn't keep anybody from measuring. */
static void
check_still_measures (const Run *run, const char *said)
{
  assert_int_equal (run->status, 73);
  assert_contains (run->out, "Point angle");
  assert_lacks (run->out, "Archived");
  assert_contains (run->err, said);
}

static void
test_archive_in_the_way_of_a_file (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) run = run_with (NULL, "measure", "--archive", fixture->one, fixture->one, NULL);
  check_still_measures (&run, "can't make the folder");
}

static void
test_disk_full_and_no_locks (void **state)
{
  const Fixture *fixture = *state;
  const char *fault = g_getenv ("WHETSIGHT_FAULT");
  if (fault == NULL)
  {
    print_message ("skipped: WHETSIGHT_FAULT doesn't name the library that makes writes fail\n");
    skip ();
  }
  const char *const full[] = { "LD_PRELOAD",
                               fault,
                               "ASAN_OPTIONS",
                               "verify_asan_link_order=0",
                               "WS_FAULT_UNDER",
                               fixture->archive,
                               "WS_FAULT_RATE",
                               "100000",
                               NULL };
  const char *const no_locks[] = {
    "LD_PRELOAD", fault, "ASAN_OPTIONS", "verify_asan_link_order=0", "WS_FAULT_NOLOCK", "1", NULL
  };
  g_auto (Run) new_full =
    run_with (full, "measure", "--archive", fixture->archive, fixture->one, NULL);
  check_still_measures (&new_full, "isk");
  g_auto (Run) good = run_with (NULL, "measure", "--archive", fixture->archive, fixture->one, NULL);
  assert_true (good.status <= 2);
  g_auto (Run) full_later =
    run_with (full, "measure", "--archive", fixture->archive, fixture->one, NULL);
  check_still_measures (&full_later, "not archived");
  g_auto (Run) share =
    run_with (no_locks, "measure", "--archive", fixture->archive, fixture->one, NULL);
  check_still_measures (&share, "no locks");
  check_verifies (fixture, "1 inspections");
}

static void
test_outputs_of_an_archive (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *pdf = g_build_filename (fixture->folder, "report.pdf", NULL);
  g_autofree char *svg = g_build_filename (fixture->folder, "trend.svg", NULL);
  g_autofree char *lines = g_build_filename (fixture->folder, "all.jsonl", NULL);
  g_autofree char *other = g_build_filename (fixture->folder, "other", NULL);
  g_auto (Run) measure =
    run_with (NULL, "measure", "--archive", fixture->archive, fixture->pictures, NULL);
  assert_int_equal (measure.status, 65); /* for the broken one */
  g_auto (Run) report =
    run_with (NULL, "report", "--archive", fixture->archive, "--pdf", pdf, NULL);
  assert_int_equal (report.status, 0);
  assert_true (g_file_test (pdf, G_FILE_TEST_IS_REGULAR));
  g_auto (Run) trend = run_with (NULL, "trend", "--archive", fixture->archive, "--quantity",
                                 "point_angle_deg", "--kind", "twist-drill", "--svg", svg, NULL);
  assert_int_equal (trend.status, 0);
  assert_true (g_str_has_prefix (trend.out, "Point angle of twist-drill: 3 values,\n"));
  assert_true (g_file_test (svg, G_FILE_TEST_IS_REGULAR));
  g_auto (Run) export = run_with (NULL, "archive", "export", fixture->archive, "--format", "jsonl",
                                  "--output", lines, NULL);
  assert_int_equal (export.status, 0);
  g_auto (Run) import = run_with (NULL, "archive", "import", other, lines, NULL);
  assert_contains (import.out, "4 imported");
  g_auto (Run) back = run_with (NULL, "archive", "export", other, "--format", "jsonl", NULL);
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (lines, &text, NULL, NULL));
  /* All as it was, but for the mark that it isn't from here. */
  g_autoptr (GRegex) mark = g_regex_new ("\"imported\": \"all.jsonl, [^\"]*\", ", 0, 0, NULL);
  g_autofree char *without = g_regex_replace_literal (mark, back.out, -1, 0, "", 0, NULL);
  assert_string_not_equal (without, back.out);
  assert_string_equal (without, text);
}

static void
test_seal_and_change (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) measure =
    run_with (NULL, "measure", "--archive", fixture->archive, fixture->one, NULL);
  assert_true (measure.status <= 2);
  g_auto (Run) seal = run_with (NULL, "archive", "seal", fixture->archive, NULL);
  assert_int_equal (seal.status, 0);
  g_strchomp (seal.out);
  g_auto (Run) held =
    run_with (NULL, "archive", "verify", fixture->archive, "--seal", seal.out, NULL);
  assert_int_equal (held.status, 0);
  g_autofree char *seals = g_build_filename (fixture->folder, "seals", NULL);
  g_autofree char *inside = g_build_filename (fixture->archive, "seals", NULL);
  g_auto (Run) wrong = run_with (NULL, "measure", "--archive", fixture->archive, "--seal-to",
                                 inside, fixture->one, NULL);
  assert_int_equal (wrong.status, 64);
  for (int i = 0; i < 3; i++)
  {
    g_auto (Run) more = run_with (NULL, "measure", "--archive", fixture->archive, "--seal-to",
                                  seals, "--seal-every", "2", fixture->one, NULL);
    assert_true (more.status <= 2);
    assert_int_equal (g_file_test (seals, G_FILE_TEST_EXISTS), i > 0);
  }
  g_auto (Run) both = run_with (NULL, "archive", "verify", fixture->archive, "--seal", seals, NULL);
  assert_int_equal (both.status, 0);
  assert_contains (both.out, "the first 3 rows are those sealed at");
  g_autofree char *stranger = g_build_filename (fixture->archive, "stranger", NULL);
  assert_true (g_file_set_contents (stranger, "x", -1, NULL));
  g_auto (Run) changed = run_with (NULL, "archive", "verify", fixture->archive, NULL);
  assert_int_equal (changed.status, 1);
  assert_contains (changed.out, "stranger: extra");
}

static void
test_wrong_calls (void **state)
{
  const Fixture *fixture = *state;
  const char *const calls[][6] = {
    { "archive", NULL },
    { "archive", "verfy", NULL },
    { "archive", "verify", NULL },
    { "archive", "export", fixture->folder, "--format", "xml", NULL },
    { "archive", "list", fixture->folder, "--above", "3", NULL },
    { "archive", "list", fixture->folder, "--from", "yesterday", NULL },
    { "trend", "--quantity", "x", NULL },
    { "report", "--pdf", "x", NULL },
    { "study", NULL },
    { "measure", "--station", "x", fixture->one, NULL },
    { "measure", "--jobs", "-1", fixture->one, NULL },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (calls); i++)
  {
    const char *const *c = calls[i];
    g_auto (Run) run = run_with (NULL, c[0], c[1], c[1] ? c[2] : NULL, c[1] && c[2] ? c[3] : NULL,
                                 c[1] && c[2] && c[3] ? c[4] : NULL, NULL);
    const gboolean no_archive = run.status == 66 && g_str_equal (c[1], "export");
    if (run.status != 64 && !no_archive)
      print_error ("call %u: %d %s\n", (guint)i, run.status, run.err);
    assert_true (run.status == 64 || no_archive);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_measure_list_show, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_folder, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_twenty_at_once, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_archive_in_the_way_of_a_file, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_disk_full_and_no_locks, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_outputs_of_an_archive, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_seal_and_change, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_wrong_calls, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
