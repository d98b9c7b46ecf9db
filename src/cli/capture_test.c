/*
 * `whetsight capture` as a user would run it, on frames of a scene in a folder.
 */
#include <glib/gstdio.h>
#include <whetsight/image.h>

#include "cli/run_for_tests.h"
#include "scene/scene.h"

#define N_FRAMES 16
#define NOISE 600.0

typedef struct
{
  char *folder, *address, *picture, *bench;
  SceneImage *truth, *moved;
} Fixture;

static SceneImage *
scene_at (double dx)
{
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 6.0);
  scene_camera_init (&camera);
  camera.width = camera.height = 300;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  camera.tagged = TRUE;
  scene_camera_aim (&camera, &drill, 0.6);
  camera.origin_x += dx;
  camera.shot = camera.read = 0.0;
  return scene_render (&drill, &camera, NULL);
}

static void
save_frame (const Fixture *fixture, const SceneImage *scene, guint number)
{
  SceneRng rng;
  g_autofree char *name = g_strdup_printf ("frame-%02u.png", number);
  g_autofree char *path = g_build_filename (fixture->folder, name, NULL);
  const gsize n = (gsize)scene->width * scene->height;
  g_autofree guint16 *noisy = g_new (guint16, n);
  scene_rng_init (&rng, 100 + number);
  for (gsize i = 0; i < n; i++)
  {
    const double light =
      ((const guint16 *)(const void *)scene->data)[i] + NOISE * scene_rng_normal (&rng);
    noisy[i] = (guint16)lround (CLAMP (light, 0.0, 65535.0));
  }
  SceneImage frame = *scene;
  frame.data = (guint8 *)noisy;
  assert_true (scene_image_save (&frame, path, 0));
}

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-capture-XXXXXX", NULL);
  fixture->address = g_strconcat ("files:", fixture->folder, NULL);
  fixture->picture = g_build_filename (fixture->folder, "zz-mean.png", NULL);
  fixture->bench = g_build_filename (fixture->folder, "bench.conf", NULL);
  fixture->truth = scene_at (0.0);
  fixture->moved = scene_at (1.0);
  for (guint i = 0; i < N_FRAMES; i++)
    save_frame (fixture, fixture->truth, i);
  *state = fixture;
  return 0;
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
  g_free (fixture->address);
  g_free (fixture->picture);
  g_free (fixture->bench);
  scene_image_free (fixture->truth);
  scene_image_free (fixture->moved);
  g_free (fixture);
  return 0;
}

static double
noise_of (const char *path, const SceneImage *truth)
{
  g_autoptr (WsImage) image = ws_image_load (path, NULL, WS_IMAGE_GREY, NULL);
  assert_non_null (image);
  assert_int_equal (image->tone, WS_TONE_LINEAR);
  const gsize n = (gsize)image->width * image->height;
  double sum = 0.0;
  for (gsize i = 0; i < n; i++)
  {
    const double error = image->linear[i] - (double)((const guint16 *)(const void *)truth->data)[i];
    sum += error * error;
  }
  return sqrt (sum / (double)n);
}

static void
test_mean_has_a_quarter_of_the_noise (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *single = g_build_filename (fixture->folder, "frame-00.png", NULL);
  g_auto (Run) taken = run ("capture", "--camera", fixture->address, "--frames", "16", "--out",
                            fixture->picture, NULL);
  assert_int_equal (taken.status, 0);
  assert_contains (taken.out, "300 x 300 pixels, 16 frames");
  const double fall =
    noise_of (single, fixture->truth) / noise_of (fixture->picture, fixture->truth);
  print_message ("noise falls by %.3f\n", fall);
  assert_true (fall >= 3.9 && fall <= 4.1);
  g_unlink (fixture->picture); /* it lies among the frames */
}

static void
test_moved_frame_is_refused (void **state)
{
  const Fixture *fixture = *state;
  save_frame (fixture, fixture->moved, 7);
  g_auto (Run) taken = run ("capture", "--camera", fixture->address, "--frames", "16", "--out",
                            fixture->picture, NULL);
  assert_int_equal (taken.status, 65);
  assert_contains (taken.err, "something moved");
  assert_contains (taken.err, "between picture 1 and 8");
  assert_false (g_file_test (fixture->picture, G_FILE_TEST_EXISTS));
}

static void
test_bench_is_kept_and_held (void **state)
{
  const Fixture *fixture = *state;
  g_auto (Run) kept = run ("capture", "--camera", fixture->address, "--keep", "--bench",
                           fixture->bench, "--station", "Bench 1", NULL);
  assert_int_equal (kept.status, 0);
  g_auto (Run) taken = run ("capture", "--bench", fixture->bench, "--out", fixture->picture, NULL);
  assert_int_equal (taken.status, 0);
  g_unlink (fixture->picture);

  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (fixture->bench, &text, NULL, NULL));
  assert_contains (text, "name=Bench 1");
  g_autoptr (GString) other = g_string_new (text);
  g_string_replace (other, "width=300", "width=320", 0);
  assert_true (g_file_set_contents (fixture->bench, other->str, -1, NULL));
  g_auto (Run) refused =
    run ("capture", "--bench", fixture->bench, "--out", fixture->picture, NULL);
  assert_int_equal (refused.status, 65);
  assert_contains (refused.err, "gives 300 x 300 pixels, not 320 x 300");
}

static void
test_wrong_calls (void **state)
{
  const Fixture *fixture = *state;
  const char *address = fixture->address, *bench = fixture->bench;
  g_auto (Run) none = run ("capture", "--out", "x.png", NULL);
  assert_int_equal (none.status, 64);
  assert_contains (none.err, "name the camera");
  g_auto (Run) no_out = run ("capture", "--camera", address, NULL);
  assert_int_equal (no_out.status, 64);
  assert_contains (no_out.err, "--out PICTURE.png is missing");
  g_auto (Run) both = run ("capture", "--bench", bench, "--gain", "1", "--out", "x.png", NULL);
  assert_int_equal (both.status, 64);
  assert_contains (both.err, "a bench has its exposure");
  g_auto (Run) alone = run ("capture", "--camera", address, "--keep", NULL);
  assert_int_equal (alone.status, 64);
  g_auto (Run) station =
    run ("capture", "--camera", address, "--station", "x", "--out", "x.png", NULL);
  assert_int_equal (station.status, 64);
  g_auto (Run) twice =
    run ("capture", "--camera", address, "--expose", "--exposure", "1", "--out", "x.png", NULL);
  assert_int_equal (twice.status, 64);
  g_auto (Run) dark = run ("capture", "--camera", address, "--expose", "--out", "x.png", NULL);
  assert_int_equal (dark.status, 65);
  assert_contains (dark.err, "exposure can't be set");
  g_auto (Run) many =
    run ("capture", "--camera", address, "--frames", "17", "--out", fixture->picture, NULL);
  assert_int_equal (many.status, 66);
  assert_contains (many.err, "no more pictures after 16");
}

/* Frames have colour when it is asked for, and burn is seen in what was taken. */
static void
test_colour_is_kept (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *folder = g_build_filename (fixture->folder, "coloured", NULL);
  g_autofree char *frame = g_build_filename (folder, "burnt.jpg", NULL);
  g_autofree char *address = g_strconcat ("files:", folder, NULL);
  g_autofree char *bytes = NULL;
  gsize n = 0;
  assert_int_equal (g_mkdir (folder, 0700), 0);
  assert_true (g_file_get_contents (WS_SOURCE_DIR "/images/blade-burnt.jpg", &bytes, &n, NULL));
  assert_true (g_file_set_contents (frame, bytes, (gssize)n, NULL));
  g_auto (Run) taken =
    run ("capture", "--camera", address, "--colour", "--out", fixture->picture, NULL);
  assert_int_equal (taken.status, 0);
  assert_contains (taken.out, "pixels in colour");
  g_auto (Run) measured =
    run ("measure", "--tool", WS_SOURCE_DIR "/images/QT-B-0042.tool", "--view", "blade-face",
         "--scale", "0.0145743", fixture->picture, NULL);
  assert_int_equal (measured.status, 1);
  assert_contains (measured.out, "burn");
  g_auto (Run) grey = run ("capture", "--camera", address, "--out", fixture->picture, NULL);
  assert_int_equal (grey.status, 0);
  g_autoptr (WsImage) image = ws_image_load (fixture->picture, NULL, WS_IMAGE_COLOUR, NULL);
  assert_false (image->has_colour);
  g_auto (Run) none =
    run ("capture", "--camera", fixture->address, "--colour", "--out", fixture->picture, NULL);
  assert_int_equal (none.status, 65);
  assert_contains (none.err, "without --colour");
  g_unlink (fixture->picture);
  g_unlink (frame);
  g_rmdir (folder);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_mean_has_a_quarter_of_the_noise),
    cmocka_unit_test (test_bench_is_kept_and_held),
    cmocka_unit_test (test_wrong_calls),
    cmocka_unit_test (test_colour_is_kept),
    cmocka_unit_test (test_moved_frame_is_refused),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
