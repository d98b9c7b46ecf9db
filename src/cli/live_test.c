/*
 * `whetsight capture --live` as a user would run it, on a folder of frames: nothing there, out of
 * focus and getting better, turned, and then good.
 */
#include <glib/gstdio.h>
#include <jansson.h>

#include "cli/run_for_tests.h"
#include "scene/scene.h"

#define N_FRAMES 20
#define FIRST_GOOD 8
#define TURN_DEG 7.0

typedef struct
{
  char *folder, *address, *picture;
} Fixture;

static void
save_frame (const Fixture *fixture, const SceneDrill *drill, const ScenePolygon outlines[2],
            guint number)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.width = camera.height = 400;
  scene_camera_aim (&camera, drill, 0.45);
  camera.shot = 0.004;
  camera.blur_px = number < 2 ? 1 : number < 5 ? 7.0 - number : 1.2;
  camera.seed = number + 1;
  ScenePolygon seen = outlines[number < FIRST_GOOD ? 1 : 0];
  seen.points = g_memdup2 (seen.points, seen.n * sizeof (ScenePoint));
  scene_camera_project (&camera, &seen);
  g_autoptr (SceneImage) image = scene_render_polygons (&seen, number < 2 ? 0 : 1, &camera);
  scene_polygon_clear (&seen);
  g_autofree char *name = g_strdup_printf ("frame-%02u.png", number);
  g_autofree char *path = g_build_filename (fixture->folder, name, NULL);
  assert_true (scene_image_save (image, path, 0));
}

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-live-XXXXXX", NULL);
  fixture->address = g_strconcat ("files:", fixture->folder, NULL);
  fixture->picture = g_strconcat (fixture->folder, "-taken.png", NULL);
  SceneDrill drill;
  scene_drill_init (&drill, 8.0);
  ScenePolygon outlines[2];
  for (guint k = 0; k < 2; k++)
    outlines[k] = scene_drill_outline (&drill, k * TURN_DEG, 0, -40, NULL);
  for (guint i = 0; i < N_FRAMES; i++)
    save_frame (fixture, &drill, outlines, i);
  for (guint k = 0; k < 2; k++)
    scene_polygon_clear (&outlines[k]);
  *state = fixture;
  return g_getenv ("WHETSIGHT") == NULL;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  for (guint i = 0; i < N_FRAMES; i++)
  {
    g_autofree char *name = g_strdup_printf ("frame-%02u.png", i);
    g_autofree char *path = g_build_filename (fixture->folder, name, NULL);
    g_unlink (path);
  }
  g_rmdir (fixture->folder);
  g_unlink (fixture->picture);
  g_free (fixture->folder);
  g_free (fixture->address);
  g_free (fixture->picture);
  g_free (fixture);
  return 0;
}

/* One thing at a time, each said once; then the picture, and its verdict as of measure. */
static void
words_and_then_the_picture (void **state)
{
  const Fixture *fixture = *state;
  g_unlink (fixture->picture);
  g_auto (Run) live = run ("capture", "--camera", fixture->address, "--live", "--rate", "10",
                           "--out", fixture->picture, NULL);
  static const char *const lines[] = { "no tool: ",   "out of focus: ", "better, go on",
                                       "turned: by ", "clockwise",      "hold still\n",
                                       "good\n",      "take\n",         "taken.png: 400 x 400",
                                       "Point angle" };
  const char *at = live.out;
  for (gsize i = 0; i < G_N_ELEMENTS (lines); i++)
  {
    at = strstr (at, lines[i]);
    if (at == NULL)
      fail_msg ("no \"%s\" in its place in:\n%s%s", lines[i], live.out, live.err);
  }
  assert_contains (live.err, "frames, 10 a second");
  assert_true (g_file_test (fixture->picture, G_FILE_TEST_EXISTS));
  g_auto (Run) again = run ("measure", fixture->picture, NULL);
  assert_int_equal (live.status, again.status);
}

/* For a page: each frame a line, the record last. */
static void
lines_of_json (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) live = run ("capture", "--camera", fixture->address, "--live", "--json", "--rate",
                           "10", "--out", fixture->picture, NULL);
  g_auto (GStrv) lines = g_strsplit (g_strchomp (live.out), "\n", -1);
  /* Good and still from the second good frame on, for half a second. */
  const guint n = g_strv_length (lines);
  assert_int_equal (n, FIRST_GOOD + 1 + 6 + 1);
  for (guint i = 0; i + 1 < n; i++)
  {
    json_t *line = json_loads (lines[i], 0, NULL);
    assert_non_null (line);
    assert_string_equal (json_string_value (json_object_get (line, "live")), "whetsight-live/1");
    assert_int_equal (json_integer_value (json_object_get (line, "frame")), i);
    const char *word = json_string_value (json_object_get (line, "word"));
    assert_string_equal (word, i < 2                ? "no-tool"
                               : i < 5              ? "out-of-focus"
                               : i < FIRST_GOOD     ? "turned"
                               : i < FIRST_GOOD + 1 ? "hold-still"
                               : i + 2 < n          ? "good"
                                                    : "take");
    json_decref (line);
  }
  assert_contains (lines[n - 1], "whetsight/1");
}

static void
a_folder_at_its_end_takes_nothing (void **state)
{
  const Fixture *fixture = *state;
  g_unlink (fixture->picture);
  /* At a hundred a second half a second is longer than the folder. */
  g_auto (Run) live = run ("capture", "--camera", fixture->address, "--live", "--rate", "100",
                           "--out", fixture->picture, NULL);
  assert_int_equal (live.status, 66);
  assert_contains (live.err, "wasn't taken, last it was \"good\"");
  assert_false (g_file_test (fixture->picture, G_FILE_TEST_EXISTS));
}

static void
wrong_calls_say_so (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) plain =
    run ("capture", "--camera", fixture->address, "--json", "--out", fixture->picture, NULL);
  assert_int_equal (plain.status, 64);
  assert_contains (plain.err, "go with --live");
  g_auto (Run) nowhere = run ("capture", "--camera", fixture->address, "--live", NULL);
  assert_int_equal (nowhere.status, 64);
  assert_contains (nowhere.err, "--out");
  g_auto (Run) lit = run ("capture", "--camera", fixture->address, "--live", "--view", "drill-end",
                          "--out", fixture->picture, NULL);
  assert_int_equal (lit.status, 64);
  assert_contains (lit.err, "silhouettes");
  g_auto (Run) wrong = run ("capture", "--camera", fixture->address, "--live", "--view",
                            "blade-plan", "--out", fixture->picture, NULL);
  assert_int_equal (wrong.status, 64);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (words_and_then_the_picture),
    cmocka_unit_test (lines_of_json),
    cmocka_unit_test (a_folder_at_its_end_takes_nothing),
    cmocka_unit_test (wrong_calls_say_so),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
