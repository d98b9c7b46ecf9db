/*
 * Copies of an archive: of one that others write to, stopped at any moment, and never worse than
 * the one before.  WHETSIGHT_KILLS sets how many copies have to die.
 */
#include <signal.h>
#include <sys/wait.h>

#include "aside_for_tests.h"

#define DEFAULT_KILLS 8
#define KILL_ROWS 8
#define LONGEST_MS 120

typedef struct
{
  const Aside *aside;
  char *copy, *back;
} Scene;

static void
scene_clear (Scene *scene)
{
  g_free (scene->copy);
  g_free (scene->back);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Scene, scene_clear)

static Scene
scene_of (const Aside *aside)
{
  return (Scene){ aside, beside (aside, "copy"), beside (aside, "back") };
}

static void
check_run (const char *verb, const char *from, const char *to, int status, const char *said)
{
  g_auto (Run) done = run ("archive", verb, from, to, NULL);
  if (done.status != status)
    print_error ("%s %s %s: %d\n%s%s", verb, from, to, done.status, done.out, done.err);
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

/* The first picture of row 1, in that folder. */
static char *
picture_in (const char *folder)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_READ, NULL);
  g_autoptr (WsInspection) first = ws_archive_find (archive, "id-1", NULL);
  return ws_archive_picture_path (archive, first->image);
}

static void
test_there_and_back (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  const char *archive = scene.aside->archive.folder;
  check_run ("backup", archive, scene.copy, 0, "10 pictures copied: all as written");
  check_run ("backup", archive, scene.copy, 0, " 0 pictures copied: all as written");
  store_more (scene.aside, 6, 7);
  g_autofree char *with_slash = g_strconcat (scene.copy, "//", NULL);
  check_run ("backup", archive, with_slash, 0, " 4 pictures copied: all as written");
  check_verify (scene.copy, 0, "7 inspections, 14 pictures");

  check_run ("restore", scene.copy, scene.back, 0, "14 pictures copied: all as written");
  check_verify (scene.back, 0, "7 inspections, 14 pictures");
  g_auto (Run) before = run ("archive", "export", archive, "--format", "jsonl", NULL);
  g_auto (Run) after = run ("archive", "export", scene.back, "--format", "jsonl", NULL);
  assert_string_equal (before.out, after.out);

  /* What was restored is an archive like any other, and the copy goes on with it. */
  {
    const Fixture restored = { .folder = scene.back };
    g_autoptr (WsArchive) open = open_archive (&restored, WS_ARCHIVE_WRITE);
    store_row (open, 8, NULL);
  }
  check_run ("backup", scene.back, scene.copy, 0, " 2 pictures copied");
}

static void
test_wrong_folders (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  const char *archive = scene.aside->archive.folder;
  g_autofree char *inside = g_build_filename (archive, "images", "copy", NULL);
  g_autofree char *file = beside (scene.aside, "file");
  g_autofree char *missing = beside (scene.aside, "missing");
  assert_true (g_file_set_contents (file, "x", -1, NULL));
  check_run ("backup", archive, archive, 64, "is the archive itself");
  check_run ("backup", archive, inside, 64, "lies in an archive");
  check_run ("backup", archive, scene.aside->root, 65, "holds other files");
  check_run ("backup", archive, file, 73, "can't make the folder");
  check_run ("backup", missing, scene.copy, 66, "no archive there");
  check_run ("restore", missing, scene.copy, 66, "no archive there");
  assert_false (g_file_test (scene.copy, G_FILE_TEST_EXISTS));
  check_run ("backup", archive, scene.copy, 0, "all as written");
  check_run ("restore", scene.copy, archive, 64, "holds an archive");
  g_auto (Run) one = run ("archive", "backup", archive, NULL);
  assert_int_equal (one.status, 64);

  /* The call the other way round: somebody may be writing there. */
  check_run ("backup", scene.copy, archive, 65, "is an archive that is written to");
  check_verify (archive, 0, "5 inspections, 10 pictures");
}

/* What was cut off, rewritten or edited doesn't come over the copy that knows better. */
static void
test_the_copy_is_a_witness (void **state)
{
  static const char *const edits[] = { "UPDATE inspection SET verdict = 'accept' WHERE number = 4",
                                       "UPDATE record SET record = replace (record, '121', '118')",
                                       "DELETE FROM inspection WHERE number = 2" };
  g_auto (Scene) scene = scene_of (*state);
  const char *archive = scene.aside->archive.folder;
  g_autofree char *whole = beside (scene.aside, "whole");
  copy_folder (archive, whole);
  store_more (scene.aside, 6, 7);
  check_run ("backup", archive, scene.copy, 0, "all as written");

  copy_folder (whole, archive);
  check_run ("backup", archive, scene.copy, 65, "rows were cut off, changed or put back");
  sample_remove_tree (archive);
  store_more (scene.aside, 2, 9);
  check_run ("backup", archive, scene.copy, 65, "rows were cut off, changed or put back");
  check_verify (scene.copy, 0, "7 inspections, 14 pictures");

  check_run ("restore", scene.copy, scene.back, 0, "all as written");
  for (gsize i = 0; i < G_N_ELEMENTS (edits); i++)
  {
    const Fixture edited = { .folder = scene.back };
    g_autofree char *other = beside (scene.aside, "other");
    copy_folder (scene.back, whole);
    change (&edited, edits[i]);
    check_run ("backup", scene.back, scene.copy, 65, "aren't as they were written");
    check_verify (scene.copy, 0, "7 inspections, 14 pictures");
    /* A new folder takes what there is, and it is said. */
    check_run ("backup", scene.back, other, 1, "WRONG");
    sample_remove_tree (other);
    copy_folder (whole, scene.back);
  }
}

static void
test_damaged_pictures (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  const char *archive = scene.aside->archive.folder;
  check_run ("backup", archive, scene.copy, 0, "all as written");

  /* In the copy: it is seen, and put right. */
  g_autofree char *copied = picture_in (scene.copy);
  assert_true (g_file_set_contents (copied, "picture X", -1, NULL));
  check_run ("backup", archive, scene.copy, 0, "1 pictures of the copy were damaged");
  check_verify (scene.copy, 0, "all as written");

  /* In the archive: the good one stays, and comes back. */
  g_autofree char *original = picture_in (archive);
  assert_true (g_file_set_contents (original, "picture X", -1, NULL));
  check_run ("backup", archive, scene.copy, 0, " 0 pictures copied: all as written");
  check_run ("restore", scene.copy, scene.back, 0, "all as written");

  /* In both: the rest is copied, and it is said. */
  g_remove (copied);
  store_more (scene.aside, 6, 6);
  check_run ("backup", archive, scene.copy, 1, "missing or altered");
  check_verify (scene.copy, 1, "(of id-1): missing");
  check_verify (scene.copy, 1, "6 inspections");
}

/* ---- Killed -----------------------------------------------------------------------------------
 */

/* Copies of an archive that grows meanwhile; each is killed somewhere, the copy begun anew now and
 * then. */
static void
test_killed_copies (void **state)
{
  const guint kills = n_kills (DEFAULT_KILLS);
  g_auto (Scene) scene = scene_of (*state);
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  g_autoptr (WsArchive) writer = open_archive (&scene.aside->archive, WS_ARCHIVE_WRITE);
  int row = N_ROWS, rows_before = -1;
  guint whole = 0;
  for (guint i = 0; i < kills; i++)
  {
    const char *const call[] = { "archive", "backup", scene.aside->archive.folder, scene.copy,
                                 NULL };
    const pid_t pid = start_to_die (call, scene.copy, i);
    for (int more = g_rand_int_range (rand, 1, KILL_ROWS); more > 0; more--)
      store_row (writer, ++row, NULL);
    g_usleep ((gulong)g_rand_int_range (rand, 0, LONGEST_MS * 1000));
    if (!dies_by_itself (i))
      kill (pid, SIGKILL);
    waitpid (pid, NULL, 0);
    const int rows = count_whole (scene.copy);
    assert_true (rows >= rows_before);
    whole += rows >= 0 ? 1 : 0;
    rows_before = rows;
    if (g_rand_int_range (rand, 0, 6) == 0)
    {
      sample_remove_tree (scene.copy);
      rows_before = -1;
    }
  }
  check_run ("backup", scene.aside->archive.folder, scene.copy, 0, "all as written");
  assert_int_equal (count_whole (scene.copy), row);
  print_message ("%u copies killed, %u times a copy was there\n", kills, whole);
}

static void
test_killed_restores (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  g_autoptr (GRand) rand = g_rand_new_with_seed (2);
  const char *const call[] = { "archive", "restore", scene.copy, scene.back, NULL };
  check_run ("backup", scene.aside->archive.folder, scene.copy, 0, "all as written");
  for (guint i = 0, n = n_kills (DEFAULT_KILLS); i < n; i++)
  {
    const pid_t pid = start_to_die (call, scene.back, i);
    g_usleep ((gulong)g_rand_int_range (rand, 0, LONGEST_MS / 2 * 1000));
    if (!dies_by_itself (i))
      kill (pid, SIGKILL);
    waitpid (pid, NULL, 0);
    const int rows = count_if_there (scene.back);
    assert_true (rows == -1 || rows == N_ROWS);
    if (rows == N_ROWS)
      sample_remove_tree (scene.back);
  }
  check_run ("restore", scene.copy, scene.back, 0, "all as written");
  assert_int_equal (count_whole (scene.back), N_ROWS);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_there_and_back, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_wrong_folders, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_the_copy_is_a_witness, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_damaged_pictures, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_killed_copies, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_killed_restores, set_up_aside, tear_down_aside),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
