/*
 * Pictures that a rule removes: their hashes stay, it is said wherever they were, and nothing else
 * can pass for it.  WHETSIGHT_KILLS sets how many have to die while they remove.
 */
#include <signal.h>
#include <sys/wait.h>
#include <utime.h>

#include "aside_for_tests.h"

#define DEFAULT_KILLS 10
#define LONGEST_MS 40
#define OLD_ROWS 3

/* The old ones come first, so that the clock wasn't set back; the last has the picture of a young
 * one. */
static void
store_old (const Aside *aside, int i)
{
  const Fixture *fixture = &aside->archive;
  g_autoptr (WsArchive) archive = open_archive (fixture, WS_ARCHIVE_WRITE);
  g_autofree char *id = g_strdup_printf ("old-%d", i);
  g_autofree char *time = g_strdup_printf ("2001-03-%02dT10:00:00Z", i);
  g_autofree char *text = g_strdup_printf (i == OLD_ROWS ? "picture 1" : "old picture %d", i);
  g_autofree char *drawn_text = g_strdup_printf ("drawn on old %d", i);
  g_autoptr (GBytes) original = g_bytes_new (text, strlen (text));
  g_autoptr (GBytes) annotated = g_bytes_new (drawn_text, strlen (drawn_text));
  const Sample sample = { id, time, "QT-D-0001", "accept", 118.0, original };
  const WsPictures pictures = { .original = original, .annotated = annotated };
  g_autoptr (WsInspection) inspection = sample_inspection (&sample);
  assert_true (ws_archive_store (archive, inspection, &pictures, NULL));
}

static int
set_up_old (void **state)
{
  const int failed = set_up_aside (state);
  const Aside *aside = *state;
  sample_remove_tree (aside->archive.folder);
  for (int i = 1; i <= OLD_ROWS; i++)
    store_old (aside, i);
  fill (&aside->archive);
  return failed;
}

static void
check_clear (const Aside *aside, const char *keep, int status, const char *said)
{
  g_auto (Run) done =
    run ("archive", "clear", aside->archive.folder, "--keep", keep, "--as", "Q. Quill", NULL);
  if (done.status != status)
    print_error ("%d\n%s%s", done.status, done.out, done.err);
  assert_int_equal (done.status, status);
  assert_contains (status < 64 ? done.out : done.err, said);
}

static void
check_verify (const char *folder, int status, const char *said)
{
  g_auto (Run) done = run ("archive", "verify", folder, NULL);
  if (done.status != status)
    print_error ("%s: %d\n%s%s", folder, done.status, done.out, done.err);
  assert_int_equal (done.status, status);
  assert_contains (done.out, said);
}

static char *
picture_of (const char *folder, const char *id)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, NULL);
  g_autoptr (WsInspection) inspection = ws_archive_find (archive, id, NULL);
  return ws_archive_picture_path (archive, inspection->image);
}

static void
test_old_pictures_go (void **state)
{
  const Aside *aside = *state;
  const char *folder = aside->archive.folder;
  g_autofree char *old = picture_of (folder, "old-1");
  g_autofree char *shared = picture_of (folder, "old-3");
  g_autofree char *pdf = beside (aside, "report.pdf");
  g_auto (Run) dry =
    run ("archive", "clear", folder, "--keep", "10y", "--as", "Q. Quill", "--dry-run", NULL);
  assert_int_equal (dry.status, 0);
  assert_contains (dry.out, "5 pictures of 3 inspections, 0.0 MB: would be removed");
  check_verify (folder, 0, "8 inspections, 15 pictures");

  check_clear (aside, "10y", 0, "5 pictures of 3 inspections, 0.0 MB: removed");
  check_verify (folder, 0, "5 pictures removed by a rule");
  check_verify (folder, 0, "8 inspections, 3 notes on them, 10 pictures, 0.0 MB: all as written");
  assert_false (g_file_test (old, G_FILE_TEST_EXISTS));
  assert_true (g_file_test (shared, G_FILE_TEST_EXISTS));
  check_clear (aside, "10y", 0, "0 pictures of 0 inspections");

  g_auto (Run) shown = run ("archive", "show", folder, "old-1", NULL);
  assert_int_equal (shown.status, 0);
  assert_contains (shown.out, "PICTURES REMOVED by Q. Quill");
  assert_contains (shown.out, "kept for 10 years");
  assert_lacks (shown.out, "/images/");
  g_auto (Run) listed = run ("archive", "list", folder, "--to", "2001", NULL);
  assert_contains (listed.out, "PICTURES REMOVED");
  g_auto (Run) printed = run ("report", "--archive", folder, "--pdf", pdf, "old-1", NULL);
  assert_int_equal (printed.status, 0);
}

static void
test_rules_that_are_none (void **state)
{
  static const char *const bad[] = { "0y", "y", "10", "10 y", "-1y", "10q", "1.5y", "99999999y" };
  const Aside *aside = *state;
  for (gsize i = 0; i < G_N_ELEMENTS (bad); i++)
    check_clear (aside, bad[i], 64, "--keep");
  g_auto (Run) nobody = run ("archive", "clear", aside->archive.folder, "--keep", "10y", NULL);
  assert_int_equal (nobody.status, 64);
  check_verify (aside->archive.folder, 0, "15 pictures");
}

/* What was lost or changed otherwise isn't taken for what a rule removed. */
static void
test_nothing_else_passes_for_it (void **state)
{
  const Aside *aside = *state;
  const char *folder = aside->archive.folder;
  g_autofree char *damaged = picture_of (folder, "old-2");
  g_autofree char *young = picture_of (folder, "id-2");
  g_autofree char *shared = picture_of (folder, "id-1");
  assert_true (g_file_set_contents (damaged, "another", -1, NULL));
  check_clear (aside, "10y", 1, "old-2: its picture was altered; its pictures stay");
  check_verify (folder, 1, "(of old-2): altered");
  assert_true (g_file_set_contents (damaged, "old picture 2", -1, NULL));
  check_verify (folder, 0, "all as written");

  g_remove (young);
  change (&aside->archive, "DELETE FROM file WHERE sha256 = (SELECT image FROM inspection WHERE"
                           " id = 'id-2')");
  check_verify (folder, 1, "(of id-2): removed from the table");
  g_remove (shared);
  change (&aside->archive, "DELETE FROM file WHERE sha256 = (SELECT image FROM inspection WHERE"
                           " id = 'id-1')");
  check_verify (folder, 1, "(of id-1): removed from the table");
}

static void
set_age (const char *path, guint hours)
{
  const time_t time = (time_t)(g_get_real_time () / G_USEC_PER_SEC) - (time_t)hours * 3600;
  const struct utimbuf times = { time, time };
  assert_int_equal (utime (path, &times), 0);
}

/* What some writer may be at just now stays. */
static void
test_left_over_files (void **state)
{
  const Aside *aside = *state;
  const char *folder = aside->archive.folder;
  g_autofree char *known = picture_of (folder, "id-1");
  g_autofree char *part = g_strconcat (known, ".0123abcd.part", NULL);
  g_autofree char *fan = g_build_filename (folder, "images", "00", NULL);
  g_autofree char *sha256 = g_strnfill (64, '0');
  g_autofree char *stranded = g_build_filename (fan, sha256, NULL);
  const char *const paths[] = { part, stranded };
  change (&aside->archive, "INSERT INTO pending VALUES (substr (hex (zeroblob (32)), 1, 64))");
  g_mkdir (fan, 0777);
  for (gsize i = 0; i < G_N_ELEMENTS (paths); i++)
    assert_true (g_file_set_contents (paths[i], "x", -1, NULL));
  check_verify (folder, 0, "2 files left over");
  g_auto (Run) young = run ("archive", "clear", folder, NULL);
  assert_contains (young.out, "0 left-over files");
  for (gsize i = 0; i < G_N_ELEMENTS (paths); i++)
    set_age (paths[i], 2);
  g_auto (Run) done = run ("archive", "clear", folder, NULL);
  assert_int_equal (done.status, 0);
  assert_contains (done.out, "2 left-over files: removed");
  assert_false (g_file_test (fan, G_FILE_TEST_EXISTS));
  check_verify (folder, 0, "8 inspections, 15 pictures");
}

static void
test_copies_follow (void **state)
{
  const Aside *aside = *state;
  const char *folder = aside->archive.folder;
  g_autofree char *copy = beside (aside, "copy");
  g_auto (Run) before = run ("archive", "backup", folder, copy, NULL);
  assert_int_equal (before.status, 0);
  g_autofree char *old = picture_of (copy, "old-1");
  assert_true (g_file_test (old, G_FILE_TEST_EXISTS));
  check_clear (aside, "10y", 0, "5 pictures");
  g_auto (Run) after = run ("archive", "backup", folder, copy, NULL);
  assert_int_equal (after.status, 0);
  assert_false (g_file_test (old, G_FILE_TEST_EXISTS));
  check_verify (copy, 0, "10 pictures, 0.0 MB: all as written");

  /* Measured again, the picture is there again. */
  store_old (aside, OLD_ROWS + 1);
  check_verify (folder, 0, "12 pictures");
}

static void
test_killed_while_it_removes (void **state)
{
  const Aside *aside = *state;
  g_autofree char *whole = beside (aside, "whole");
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  const char *const call[] = { "archive",  "clear", aside->archive.folder, "--keep", "10y", "--as",
                               "Q. Quill", NULL };
  copy_folder (aside->archive.folder, whole);
  for (guint i = 0, n = n_kills (DEFAULT_KILLS); i < n; i++)
  {
    const pid_t pid = start_to_die (call, aside->archive.folder, i);
    g_usleep ((gulong)g_rand_int_range (rand, 0, LONGEST_MS * 1000));
    if (!dies_by_itself (i))
      kill (pid, SIGKILL);
    waitpid (pid, NULL, 0);
    const int rows = count_whole (aside->archive.folder);
    assert_true (rows == OLD_ROWS + N_ROWS || rows == 2 * OLD_ROWS + N_ROWS);
    if (g_rand_int_range (rand, 0, 3) == 0)
      copy_folder (whole, aside->archive.folder);
  }
  check_clear (aside, "10y", 0, "removed");
  check_verify (aside->archive.folder, 0, "10 pictures, 0.0 MB: all as written");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_old_pictures_go, set_up_old, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_rules_that_are_none, set_up_old, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_nothing_else_passes_for_it, set_up_old, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_left_over_files, set_up_old, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_copies_follow, set_up_old, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_killed_while_it_removes, set_up_old, tear_down_aside),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
