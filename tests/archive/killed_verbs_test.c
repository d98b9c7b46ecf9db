/*
 * Commands that write to an archive and die: what they wrote is there whole, or not at all.
 * WHETSIGHT_KILLS sets how many of each have to die; measure, which takes longest, takes part only
 * where it is set.
 */
#include <signal.h>
#include <sys/wait.h>

#include "aside_for_tests.h"
#include "scene/scene.h"

#define DEFAULT_KILLS 5
#define LONGEST_MS 60
#define LONGEST_MEASURE_MS 600
#define LINES 20

typedef struct
{
  const Aside *aside;
  GRand *rand;
  guint longest_ms;
} Killing;

/* Starts it and lets it die. */
static void
kill_one (const Killing *killing, const char *const *call, guint i)
{
  const pid_t pid = start_to_die (call, killing->aside->archive.folder, i);
  g_usleep ((gulong)g_rand_int_range (killing->rand, 0, (gint32)killing->longest_ms * 1000));
  if (!dies_by_itself (i))
    kill (pid, SIGKILL);
  waitpid (pid, NULL, 0);
}

static void
test_imports (void **state)
{
  const Aside *aside = *state;
  g_autofree char *file = beside (aside, "rows.jsonl");
  g_autofree char *whole = beside (aside, "whole");
  const char *const call[] = { "archive", "import", aside->archive.folder, file, NULL };
  const Killing killing = { aside, g_rand_new_with_seed (1), LONGEST_MS };
  copy_folder (aside->archive.folder, whole);
  store_more (aside, N_ROWS + 1, N_ROWS + LINES);
  g_auto (Run) made =
    run ("archive", "export", aside->archive.folder, "--format", "jsonl", "-o", file, NULL);
  assert_int_equal (made.status, 0);
  copy_folder (whole, aside->archive.folder);
  for (guint i = 0, n = n_kills (DEFAULT_KILLS); i < n; i++)
  {
    kill_one (&killing, call, i);
    const int rows = count_whole (aside->archive.folder);
    assert_true (rows == N_ROWS || rows == N_ROWS + LINES);
    if (rows > N_ROWS)
      copy_folder (whole, aside->archive.folder);
  }
  g_auto (Run) last = run ("archive", "import", aside->archive.folder, file, NULL);
  assert_int_equal (last.status, 0);
  assert_int_equal (count_whole (aside->archive.folder), N_ROWS + LINES);
  g_rand_free (killing.rand);
}

static void
test_notes (void **state)
{
  const Aside *aside = *state;
  const char *const call[] = { "archive",  "sign", aside->archive.folder,
                               "id-2",     "--as", "Q. Quill",
                               "--reason", "seen", NULL };
  const Killing killing = { aside, g_rand_new_with_seed (2), LONGEST_MS };
  int before = N_ROWS;
  for (guint i = 0, n = n_kills (DEFAULT_KILLS); i < n; i++)
  {
    kill_one (&killing, call, i);
    const int rows = count_whole (aside->archive.folder);
    assert_true (rows == before || rows == before + 1);
    before = rows;
  }
  g_rand_free (killing.rand);
}

static void
test_measurements (void **state)
{
  const Aside *aside = *state;
  g_autoptr (GRand) rand = g_rand_new_with_seed (3);
  SceneDrill drill;
  SceneCamera camera;
  g_autofree char *picture = beside (aside, "drill.png");
  const char *const call[] = { "measure", "--archive", aside->archive.folder, picture, NULL };
  const Killing killing = { aside, rand, LONGEST_MEASURE_MS };
  int before = N_ROWS;
  scene_drill_init (&drill, 10.0);
  scene_camera_init (&camera);
  camera.width = 640;
  camera.height = 480;
  scene_camera_aim (&camera, &drill, 0.45);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  assert_true (scene_image_save (image, picture, 0));
  for (guint i = 0, n = n_kills (0); i < n; i++)
  {
    kill_one (&killing, call, i);
    const int rows = count_whole (aside->archive.folder);
    assert_true (rows == before || rows == before + 1);
    before = rows;
  }
  assert_true (before > N_ROWS);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_imports, set_up_aside, tear_down_aside),
    cmocka_unit_test_setup_teardown (test_notes, set_up_aside, tear_down_aside),
  };
  /* Measuring takes longer than what is killed in it: only where it is asked for. */
  const struct CMUnitTest slow[] = {
    cmocka_unit_test_setup_teardown (test_measurements, set_up_aside, tear_down_aside),
  };
  const int failed = cmocka_run_group_tests (tests, NULL, NULL);
  if (g_getenv ("WHETSIGHT_KILLS") == NULL)
    return failed;
  return failed + cmocka_run_group_tests (slow, NULL, NULL);
}
