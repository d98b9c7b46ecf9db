/*
 * The program on a simulated GigE Vision camera.
 */
#ifdef WS_HAVE_ARAVIS

#include "camera/served_for_tests.h"

#include <jansson.h>

#include "cli/run_for_tests.h"

/* What measuring a picture says of its burn, mm and U. */
static void
burn_of (const char *picture, double *depth, double *U)
{
  g_auto (Run) measured =
    run ("measure", "--tool", WS_SOURCE_DIR "/images/QT-B-0042.tool", "--view", "blade-face",
         "--scale", "0.0145743", "--json", picture, NULL);
  json_t *record = json_loads (measured.out, 0, NULL);
  assert_int_equal (json_unpack (record, "{s:{s:{s:F,s:F}}}", "quantities", "burn_depth_max_mm",
                                 "value", depth, "U", U),
                    0);
  json_decref (record);
}

/* From the sensor's pixels to the burn that is seen in them. */
static void
test_burn_by_a_colour_camera (void **state)
{
  Bench *bench = *state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-genicam-XXXXXX", NULL);
  g_autofree char *picture = g_build_filename (folder, "shot.png", NULL);
  load_coloured (bench);
  serve_size (bench, NULL, bench->coloured->width, bench->coloured->height);
  guint n = 0;
  while (!g_file_test (picture, G_FILE_TEST_EXISTS))
  {
    g_auto (Run) taken = run ("capture", "--camera", "genicam:127.0.0.1", "--colour", "--frames",
                              "2", "--out", picture, NULL);
    assert_true (++n < 5);
    if (taken.status == 0)
      assert_contains (taken.out, "800 x 600 pixels in colour, 2 frames");
  }
  double own, own_U, truth, truth_U;
  burn_of (picture, &own, &own_U);
  burn_of (WS_SOURCE_DIR "/images/" COLOURED ".jpg", &truth, &truth_U);
  print_message ("burnt to %.3f +- %.3f mm, of the scene's picture %.3f +- %.3f mm\n", own, own_U,
                 truth, truth_U);
  assert_true (own > 0.0);
  assert_near (own, truth, hypot (own_U, truth_U));
  g_unlink (picture);
  g_rmdir (folder);
}

/* The picture that takes itself, from a camera. */
static void
test_live (void **state)
{
  Bench *bench = *state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-genicam-XXXXXX", NULL);
  g_autofree char *picture = g_build_filename (folder, "shot.png", NULL);
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 6.0);
  scene_camera_init (&camera);
  camera.width = 320;
  camera.height = 240;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  scene_camera_aim (&camera, &drill, 0.5);
  scene_image_free (bench->scene);
  bench->scene = scene_render (&drill, &camera, NULL);
  serve_size (bench, NULL, camera.width, camera.height);
  /* Busy processors lose packets. */
  gboolean done = FALSE;
  for (guint i = 0; i < 4 && !done; i++)
  {
    g_auto (Run) taken = run ("capture", "--camera", "genicam:127.0.0.1", "--exposure", "0.001",
                              "--live", "--out", picture, NULL);
    print_message ("%s", taken.err);
    done = taken.status == 0 || taken.status == 2;
    if (!done)
      continue;
    assert_contains (taken.out, "take");
    assert_contains (taken.out, "Half angle a - b");
  }
  assert_true (done);
  g_unlink (picture);
  g_rmdir (folder);
}

/* ---- The program --------------------------------------------------------------------------- */

typedef struct
{
  char *folder, *picture, *file;
} Paths;

static Paths
paths_new (void)
{
  char *folder = g_dir_make_tmp ("whetsight-genicam-XXXXXX", NULL);
  return (Paths){ folder, g_build_filename (folder, "shot.png", NULL),
                  g_build_filename (folder, "bench.conf", NULL) };
}

static void
paths_clear (Paths *paths)
{
  g_unlink (paths->picture);
  g_unlink (paths->file);
  g_rmdir (paths->folder);
  g_free (paths->folder);
  g_free (paths->picture);
  g_free (paths->file);
}

static void
check_refused (const Paths *paths, int status, const char *words)
{
  g_unlink (paths->picture);
  g_auto (Run) refused = run ("capture", "--bench", paths->file, "--out", paths->picture, NULL);
  assert_contains (refused.err, words);
  assert_int_equal (refused.status, status);
  assert_false (g_file_test (paths->picture, G_FILE_TEST_EXISTS));
}

/* A bench that was kept, and what may be another than it was. */
static void
test_program_and_bench (void **state)
{
  Bench *bench = *state;
  Paths paths = paths_new ();
  serve (bench, "T1", SIDE, 100.0);
  g_auto (Run) kept = run ("capture", "--camera", "genicam:127.0.0.1", "--expose", "--frames", "4",
                           "--keep", "--bench", paths.file, "--out", paths.picture, NULL);
  assert_string_equal (kept.err, "");
  assert_int_equal (kept.status, 0);
  assert_contains (kept.out, "128 x 128 pixels, 4 frames, background at 80 %");
  g_auto (Run) taken = run ("capture", "--bench", paths.file, "--out", paths.picture, NULL);
  assert_int_equal (taken.status, 0);
  {
    g_autoptr (WsCamera) camera = open_it ();
    assert_non_null (camera);
    check_refused (&paths, 66, "another program has the camera");
  }
  g_clear_object (&bench->served);
  serve (bench, "T1", SIDE / 2, 100.0);
  check_refused (&paths, 65, "gives 64 x 64 pixels, not 128 x 128");
  g_clear_object (&bench->served);
  serve (bench, "T2", SIDE, 100.0);
  check_refused (&paths, 65, "another camera than the bench's");

  g_clear_object (&bench->served);
  serve (bench, "T1", SIDE, 100.0);
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (paths.file, &text, NULL, NULL));
  g_autoptr (GString) other = g_string_new (text);
  g_string_replace (other, "exposure=", "exposure=999", 0);
  assert_true (g_file_set_contents (paths.file, other->str, -1, NULL));
  check_refused (&paths, 65, "the camera's exposure is");
  paths_clear (&paths);
}

static void
test_program_without_a_cable (void **state)
{
  Paths paths = paths_new ();
  serve (*state, "T1", SIDE, 100.0);
  g_atomic_int_set (&packets_left, 60);
  g_auto (Run) unplugged = run ("capture", "--camera", "genicam:127.0.0.1", "--frames", "16",
                                "--out", paths.picture, NULL);
  g_atomic_int_set (&packets_left, -1);
  assert_contains (unplugged.err, "lost on the way");
  assert_contains (unplugged.err, "plug");
  assert_int_equal (unplugged.status, 66);
  assert_false (g_file_test (paths.picture, G_FILE_TEST_EXISTS));
  paths_clear (&paths);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_program_and_bench, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_program_without_a_cable, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_burn_by_a_colour_camera, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_live, set_up, tear_down),
  };
  wait_for_port ();
  return cmocka_run_group_tests (tests, NULL, NULL);
}

#else

#include "base/testing.h"

static void
test_nothing_to_serve (void **state)
{
  (void)state;
  skip_for ("built without Aravis");
}

int
main (void)
{
  const struct CMUnitTest tests[] = { cmocka_unit_test (test_nothing_to_serve) };
  return outcome (cmocka_run_group_tests (tests, NULL, NULL));
}

#endif
