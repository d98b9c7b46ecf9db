/*
 * Inspections of one bench in the archive of another: whole, marked, once, and not at all when
 * anything of them was changed.  WHETSIGHT_KILLS sets how many merges have to die.
 */
#include <signal.h>
#include <sys/wait.h>

#include "aside_for_tests.h"

#include <whetsight/bundle.h>

#define DEFAULT_KILLS 12
#define KILL_ROWS 30
#define LONGEST_MS 60

typedef struct
{
  const Aside *aside;
  char *there, *bundle, *manifest, *rows, *key, *public_half; /* `there` is the other archive */
} Scene;

static void
scene_clear (Scene *scene)
{
  g_free (scene->there);
  g_free (scene->bundle);
  g_free (scene->manifest);
  g_free (scene->rows);
  g_free (scene->key);
  g_free (scene->public_half);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Scene, scene_clear)

static Scene
scene_of (const Aside *aside)
{
  char *bundle = beside (aside, "bundle");
  return (Scene){ aside,
                  beside (aside, "there"),
                  bundle,
                  g_build_filename (bundle, "manifest", NULL),
                  g_build_filename (bundle, "rows.jsonl", NULL),
                  beside (aside, "key"),
                  beside (aside, "key.pub") };
}

static void
check_run (Run done, int status, const char *said)
{
  if (done.status != status)
    print_error ("%d\n%s%s", done.status, done.out, done.err);
  assert_int_equal (done.status, status);
  assert_contains (status == 0 ? done.out : done.err, said);
  run_clear (&done);
}

static void
make_bundle (const Scene *scene)
{
  check_run (run ("archive", "bundle", scene->aside->archive.folder, scene->bundle, "--name",
                  "bench 2", NULL),
             0, "from bench 2");
}

static void
check_merge (const Scene *scene, int status, const char *said)
{
  check_run (run ("archive", "merge", scene->there, scene->bundle, NULL), status, said);
}

static void
test_it_comes_whole_and_once (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  make_bundle (&scene);
  check_merge (&scene, 0, "from bench 2: 5 rows merged, 0 there already; not signed");
  assert_int_equal (count_whole (scene.there), 5);
  check_merge (&scene, 0, "from bench 2: 0 rows merged, 5 there already");
  assert_int_equal (count_whole (scene.there), 5);
  check_run (run ("archive", "verify", scene.there, NULL), 0, "5 inspections, 10 pictures");

  /* Nobody takes them for what was measured there, and they say where they stood. */
  g_autoptr (WsArchive) from = open_archive (&scene.aside->archive, WS_ARCHIVE_READ);
  g_autoptr (WsInspection) origin = ws_archive_find (from, "id-3", NULL);
  g_autofree char *place = g_strdup_printf ("row 3 there, hash %s", origin->hash);
  check_run (run ("archive", "show", scene.there, "id-3", NULL), 0, place);
  check_run (run ("archive", "list", scene.there, NULL), 0, "  imported");
  check_run (run ("archive", "export", scene.there, "--format", "csv", NULL), 0, place);

  /* Nor does the way back make two of one. */
  sample_remove_tree (scene.bundle);
  check_run (run ("archive", "bundle", scene.there, scene.bundle, "--name", "office", NULL), 0,
             "5 rows, 10 pictures");
  check_run (run ("archive", "merge", scene.aside->archive.folder, scene.bundle, NULL), 0,
             "from office: 0 rows merged, 5 there already");
}

static void
test_what_is_new (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  make_bundle (&scene);
  check_merge (&scene, 0, "5 rows merged");
  store_more (scene.aside, 6, 7);
  check_run (run ("archive", "sign", scene.aside->archive.folder, "id-6", "--as", "Q. Quill",
                  "--reason", "seen", NULL),
             0, "sign-off");
  sample_remove_tree (scene.bundle);
  check_run (
    run ("archive", "bundle", scene.aside->archive.folder, scene.bundle, "--after", "5", NULL), 0,
    "3 rows, 4 pictures");
  check_merge (&scene, 0, "3 rows merged, 0 there already");
  check_run (run ("archive", "show", scene.there, "id-6", NULL), 0, "signed off by Q. Quill");
  assert_int_equal (count_whole (scene.there), 8);
  sample_remove_tree (scene.bundle);
  check_run (
    run ("archive", "bundle", scene.aside->archive.folder, scene.bundle, "--after", "9", NULL), 64,
    "has 8 rows");
}

static void
test_who_signed_it (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  const char *archive = scene.aside->archive.folder;
  g_autofree char *other = beside (scene.aside, "other");
  g_autofree char *others = beside (scene.aside, "other.pub");
  check_run (run ("archive", "key", scene.key, NULL), 0, "key ");
  check_run (run ("archive", "key", other, NULL), 0, "key ");
  make_bundle (&scene);
  check_run (run ("archive", "merge", scene.there, scene.bundle, "--key", scene.public_half, NULL),
             65, "it isn't signed");
  sample_remove_tree (scene.bundle);
  check_run (run ("archive", "bundle", archive, scene.bundle, "--key", scene.key, NULL), 0,
             ", signed");
  check_run (run ("archive", "merge", scene.there, scene.bundle, "--key", others, NULL), 65,
             "signed by another key");
  check_run (run ("archive", "merge", scene.there, scene.bundle, "--key", scene.public_half, NULL),
             0, "5 rows merged, 0 there already; signed by this key");
}

/* With manifest and file hashes made to fit again, as somebody would who knows how. */
static void
rewrite (const Scene *scene, const char *from, const char *to)
{
  g_autofree char *rows = NULL, *manifest = NULL;
  char sha256[WS_SHA256_HEX_SIZE];
  assert_true (g_file_get_contents (scene->rows, &rows, NULL, NULL));
  assert_true (g_file_get_contents (scene->manifest, &manifest, NULL, NULL));
  g_auto (GStrv) parts = g_strsplit (rows, from, 2);
  assert_int_equal (g_strv_length (parts), 2);
  g_autofree char *changed = g_strjoinv (to, parts);
  assert_true (g_file_set_contents (scene->rows, changed, -1, NULL));

  wsi_sha256_hex (changed, strlen (changed), sha256);
  char *at = strstr (manifest, "\nrows.jsonl ") + strlen ("\nrows.jsonl ");
  memcpy (at, sha256, WS_SHA256_HEX_SIZE - 1);
  char *last = strstr (manifest, "\nsha256 ") + 1;
  wsi_sha256_hex (manifest, (gsize)(last - manifest), sha256);
  memcpy (last + strlen ("sha256 "), sha256, WS_SHA256_HEX_SIZE - 1);
  assert_true (g_file_set_contents (scene->manifest, manifest, -1, NULL));
}

static void
test_changed_bundles (void **state)
{
  static const char *const edits[][2] = { { "\"number\": 4", "\"number\": 5" },
                                          { "\"time\": \"2026-11-25T12",
                                            "\"time\": \"2026-11-25T13" },
                                          { "\"pictures\": true", "\"pictures\": false" },
                                          { "\"reground\": false", "\"reground\": true" },
                                          { "\"files\": [", "\"files\": [\"../../x\", " },
                                          { "\"previous\": \"\"", "\"previous\": \"00\"" } };
  g_auto (Scene) scene = scene_of (*state);
  g_autofree char *good = beside (scene.aside, "good");
  make_bundle (&scene);
  copy_folder (scene.bundle, good);
  const Fixture there = { .folder = scene.there };
  ws_archive_free (open_archive (&there, WS_ARCHIVE_WRITE));
  for (gsize i = 0; i < G_N_ELEMENTS (edits); i++)
  {
    rewrite (&scene, edits[i][0], edits[i][1]);
    check_merge (&scene, 65, "nothing is merged");
    copy_folder (good, scene.bundle);
  }
  /* A picture that lies there, of another row. */
  {
    g_autoptr (WsArchive) from = open_archive (&scene.aside->archive, WS_ARCHIVE_READ);
    g_autoptr (WsInspection) other = ws_archive_find (from, "id-5", NULL);
    g_autofree char *more = g_strdup_printf ("\"files\": [\"%s\", ", other->image);
    rewrite (&scene, "\"files\": [", more);
  }
  check_merge (&scene, 65, "row 1: a picture that isn't its own; nothing is merged");
  copy_folder (good, scene.bundle);
  rewrite (&scene, "{\"inspection\"", "\n{\"inspection\"");
  check_merge (&scene, 65, "nothing is merged");
  copy_folder (good, scene.bundle);

  /* Without making it fit. */
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (scene.manifest, &text, NULL, NULL));
  for (gsize at = 0; at < strlen (text); at += 7)
  {
    g_autoptr (GError) error = NULL;
    WsBundle taken;
    g_autoptr (WsArchive) open = open_archive (&there, WS_ARCHIVE_WRITE);
    g_autofree char *changed = g_strdup (text);
    changed[at] = (char)(changed[at] ^ 1);
    assert_true (g_file_set_contents (scene.manifest, changed, -1, NULL));
    assert_false (ws_archive_merge (open, scene.bundle, NULL, &taken, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  }
  g_remove (scene.manifest);
  check_merge (&scene, 66, "no bundle there, or one that isn't whole yet");
  copy_folder (good, scene.bundle);
  {
    g_autoptr (WsArchive) from = open_archive (&scene.aside->archive, WS_ARCHIVE_READ);
    g_autoptr (WsInspection) origin = ws_archive_find (from, "id-3", NULL);
    g_autofree char *picture =
      g_strdup_printf ("%s/images/%.2s/%s", scene.bundle, origin->image, origin->image);
    assert_true (g_file_set_contents (picture, "another", -1, NULL));
  }
  check_merge (&scene, 65, "a picture of it was altered; nothing is merged");
  assert_int_equal (count_whole (scene.there), 0);
}

static void
test_two_of_one_name (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  const Fixture there = { .folder = scene.there };
  make_bundle (&scene);
  {
    g_autoptr (WsArchive) open = open_archive (&there, WS_ARCHIVE_WRITE);
    const Sample sample = { "id-4", "2026-11-25T10:15:02Z", "QT-D-0118", "accept", 118.0, NULL };
    g_autoptr (WsInspection) another = sample_inspection (&sample);
    assert_true (ws_archive_store (open, another, NULL, NULL));
  }
  check_merge (&scene, 65, "row 4: is here already under the same id, with another content");
  assert_int_equal (count_whole (scene.there), 1);

  /* What isn't as it was written isn't passed on. */
  change (&scene.aside->archive, "UPDATE inspection SET verdict = 'accept' WHERE number = 4");
  sample_remove_tree (scene.bundle);
  check_run (run ("archive", "bundle", scene.aside->archive.folder, scene.bundle, NULL), 65,
             "nothing of it is passed on");
}

static void
test_killed_merges (void **state)
{
  g_auto (Scene) scene = scene_of (*state);
  g_autoptr (GRand) rand = g_rand_new_with_seed (1);
  const char *const call[] = { "archive", "merge", scene.there, scene.bundle, NULL };
  const guint kills = n_kills (DEFAULT_KILLS);
  store_more (scene.aside, N_ROWS + 1, KILL_ROWS);
  make_bundle (&scene);
  for (guint i = 0; i < kills; i++)
  {
    const pid_t pid = start_to_die (call, scene.there, i);
    g_usleep ((gulong)g_rand_int_range (rand, 0, LONGEST_MS * 1000));
    if (!dies_by_itself (i))
      kill (pid, SIGKILL);
    waitpid (pid, NULL, 0);
    const int rows = count_if_there (scene.there);
    assert_true (rows <= 0 || rows == KILL_ROWS);
    if (rows == KILL_ROWS)
      sample_remove_tree (scene.there);
  }
  check_merge (&scene, 0, "rows merged");
  assert_int_equal (count_whole (scene.there), KILL_ROWS);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_it_comes_whole_and_once, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_what_is_new, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_who_signed_it, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_changed_bundles, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_two_of_one_name, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_killed_merges, set_up_aside, tear_down_aside),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
