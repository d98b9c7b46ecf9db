/*
 * The real protocol: a simulated GigE Vision camera on the loopback interface.
 */
#include "base/testing.h"

#include <glib/gstdio.h>
#include <whetsight/error.h>

#include "camera/camera.h"
#include "camera/expose.h"
#include "cli/run_for_tests.h"

#ifdef WS_HAVE_ARAVIS

#include <arv.h>
#include <fcntl.h>
#include <sys/file.h>

#include "scene/scene.h"

/* A frame of this size waits in the system's room for packets while others have the processor. */
#define SIDE 128
#define TIMEOUT_MS 2000
#define EXPOSURE_S 0.001

typedef struct
{
  ArvGvFakeCamera *served;
  SceneImage *scene;
} Bench;

/* The scene as exposed; at EXPOSURE_S as rendered. */
static void
fill (ArvBuffer *buffer, void *data, guint32 exposure_us, guint32 gain, ArvPixelFormat format)
{
  const Bench *bench = data;
  guint16 *to = (guint16 *)arv_buffer_get_data (buffer, NULL);
  const guint width = (guint)arv_buffer_get_image_width (buffer);
  const gsize n = (gsize)width * (guint)arv_buffer_get_image_height (buffer);
  const guint16 *from = (const guint16 *)(const void *)bench->scene->data;
  (void)gain;
  if (format != ARV_PIXEL_FORMAT_MONO_16)
    return;
  for (gsize i = 0; i < n; i++)
  {
    const gsize at = i / width * bench->scene->width + i % width;
    to[i] = (guint16)MIN (from[at] * (exposure_us / (1e6 * EXPOSURE_S)), 65535.0);
  }
}

static void
serve (Bench *bench, const char *serial, guint side, double frames_per_s)
{
  bench->served = arv_gv_fake_camera_new ("127.0.0.1", serial);
  ArvFakeCamera *fake = arv_gv_fake_camera_get_fake_camera (bench->served);
  arv_fake_camera_set_fill_pattern (fake, fill, bench);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_WIDTH, side);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_HEIGHT, side);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_ACQUISITION_FRAME_PERIOD_US,
                                  (guint32)(1e6 / frames_per_s));
}

static int
set_up (void **state)
{
  SceneDrill drill;
  SceneCamera camera;
  Bench *bench = g_new0 (Bench, 1);
  scene_drill_init (&drill, 6.0);
  scene_camera_init (&camera);
  camera.width = camera.height = SIDE;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  scene_camera_aim (&camera, &drill, 0.6);
  bench->scene = scene_render (&drill, &camera, NULL);
  *state = bench;
  return bench->scene == NULL;
}

static int
tear_down (void **state)
{
  Bench *bench = *state;
  g_clear_object (&bench->served);
  scene_image_free (bench->scene);
  g_free (bench);
  return 0;
}

static WsCamera *
open_it (void)
{
  g_autoptr (GError) error = NULL;
  WsCamera *camera = wsi_camera_open ("genicam:127.0.0.1", &error);
  if (camera == NULL)
    print_error ("%s\n", error->message);
  assert_non_null (camera);
  return camera;
}

static void
test_found_set_and_read_back (void **state)
{
  serve (*state, "T1", SIDE, 100.0);
  g_autoptr (WsCamera) camera = open_it ();
  assert_contains (wsi_camera_identity (camera)->name, "Aravis");
  assert_string_equal (wsi_camera_identity (camera)->serial, "T1");
  WsCameraSettings settings;
  assert_true (wsi_camera_fix (camera, 0.002, 3.0, &settings, NULL));
  assert_int_equal (settings.of[WS_SETTING_EXPOSURE].state, WS_SETTING_FIXED);
  assert_near (settings.of[WS_SETTING_EXPOSURE].value, 0.002, 1e-6);
  assert_int_equal (settings.of[WS_SETTING_GAIN].state, WS_SETTING_FIXED);
  assert_near (settings.of[WS_SETTING_GAIN].value, 3.0, 1e-6);
  assert_int_equal (settings.of[WS_SETTING_WHITE_BALANCE].state, WS_SETTING_ABSENT);
  assert_int_equal (settings.of[WS_SETTING_SHARPENING].state, WS_SETTING_ABSENT);

  /* Beyond what it can: the nearest, and that is told. */
  WsSetting read;
  assert_true (wsi_camera_set (camera, WS_SETTING_EXPOSURE, 1e6, &read, NULL));
  assert_near (read.value, read.most, 1e-6);
}

static void
test_picture_is_the_scene (void **state)
{
  const Bench *bench = *state;
  serve (*state, "T1", SIDE, 100.0);
  g_autoptr (WsCamera) camera = open_it ();
  WsCameraSettings settings;
  g_auto (WsFrame) frame = { 0 };
  assert_true (wsi_camera_fix (camera, EXPOSURE_S, NAN, &settings, NULL));
  assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
  assert_int_equal (frame.image->width, SIDE);
  assert_int_equal (frame.image->bits, 16);
  assert_memory_equal (frame.image->linear, bench->scene->data, SIDE * SIDE * 2);

  /* Frames come by the settings that hold when they are asked for. */
  assert_true (wsi_camera_fix (camera, EXPOSURE_S / 2, NAN, &settings, NULL));
  assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
  const guint16 *scene = (const guint16 *)(const void *)bench->scene->data;
  assert_near (frame.image->linear[0], scene[0] / 2.0, 1.0);
}

/* From a thousandth and from a thousand times of what is right, in 8 frames. */
static void
test_exposes_by_itself (void **state)
{
  static const double starts[] = { 1e-5, 1.0 };
  serve (*state, "T1", SIDE, 100.0);
  g_autoptr (WsCamera) camera = open_it ();
  g_auto (WsFrame) frame = { 0 };
  WsSetting read;
  for (guint i = 0; i < G_N_ELEMENTS (starts); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_true (wsi_camera_set (camera, WS_SETTING_EXPOSURE, starts[i], &read, NULL));
    if (!wsi_expose (camera, TIMEOUT_MS, &frame, &read, &error))
      fail_msg ("%s", error->message);
    assert_near (wsi_background_level (frame.image), WS_EXPOSE_LEVEL, 0.02);
    assert_near (read.value, EXPOSURE_S * WS_EXPOSE_LEVEL / 0.75, 0.05 * EXPOSURE_S);
  }
}

static void
test_thousand_frames (void **state)
{
  serve (*state, "T1", 16, 900.0);
  g_autoptr (WsCamera) camera = open_it ();
  g_auto (WsFrame) frame = { 0 };
  WsCameraSettings settings;
  assert_true (wsi_camera_fix (camera, 1e-4, NAN, &settings, NULL));
  assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
  const WsImage *image = frame.image;
  const guint16 *room = image->linear;
  for (guint i = 1; i < 1000; i++)
  {
    assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
    assert_int_equal (frame.number, i);
    assert_ptr_equal (frame.image, image);
    assert_ptr_equal (frame.image->linear, room);
  }
}

static void
test_lost_packets (void **state)
{
  Bench *bench = *state;
  serve (bench, "T1", SIDE, 100.0);
  g_object_set (bench->served, "gvsp-lost-ratio", 0.02, NULL);
  g_autoptr (WsCamera) camera = open_it ();
  g_auto (WsFrame) frame = { 0 };
  guint n_lost = 0, n_whole = 0;
  for (guint i = 0; i < 10; i++)
  {
    g_autoptr (GError) error = NULL;
    if (wsi_camera_grab (camera, &frame, TIMEOUT_MS, &error))
      n_whole++;
    else
    {
      assert_int_equal (error->code, WS_ERROR_DATA);
      assert_contains (error->message, "lost on the way");
      n_lost++;
    }
  }
  print_message ("%u pictures lost, %u whole\n", n_lost, n_whole);
  assert_true (n_lost > 0);
}

static void
test_unplugged_and_back (void **state)
{
  Bench *bench = *state;
  serve (bench, "T1", SIDE, 100.0);
  g_autoptr (GError) error = NULL;
  g_auto (WsFrame) frame = { 0 };
  WsCamera *camera = open_it ();
  assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
  g_clear_object (&bench->served);
  while (wsi_camera_grab (camera, &frame, 200, &error))
    continue;
  assert_true (error->code == WS_ERROR_NO_INPUT || error->code == WS_ERROR_DATA);

  /* Before the old one is closed, since telling a camera that isn't there takes long. */
  serve (bench, "T1", SIDE, 100.0);
  wsi_camera_close (camera);
  g_autoptr (WsCamera) again = open_it ();
  assert_true (wsi_camera_grab (again, &frame, TIMEOUT_MS, NULL));
}

/* The program on the simulated camera, and on another one at its address. */
static void
test_program_and_bench (void **state)
{
  Bench *bench = *state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-genicam-XXXXXX", NULL);
  g_autofree char *picture = g_build_filename (folder, "shot.png", NULL);
  g_autofree char *file = g_build_filename (folder, "bench.conf", NULL);
  serve (bench, "T1", SIDE, 100.0);
  g_auto (Run) kept = run ("capture", "--camera", "genicam:127.0.0.1", "--expose", "--frames", "4",
                           "--keep", "--bench", file, "--out", picture, NULL);
  assert_string_equal (kept.err, "");
  assert_int_equal (kept.status, 0);
  assert_contains (kept.out, "128 x 128 pixels, 4 frames, background at 80 %");
  g_auto (Run) taken = run ("capture", "--bench", file, "--out", picture, NULL);
  assert_int_equal (taken.status, 0);

  g_clear_object (&bench->served);
  serve (bench, "T2", SIDE, 100.0);
  g_auto (Run) refused = run ("capture", "--bench", file, "--out", picture, NULL);
  assert_int_equal (refused.status, 65);
  assert_contains (refused.err, "another camera than the bench's");
  assert_contains (refused.err, "T2, not");
  g_unlink (picture);
  g_unlink (file);
  g_rmdir (folder);
}

/* The protocol has one port: tests of several builds take turns.  The lock goes with the process.
 */
static void
wait_for_port (void)
{
  g_autofree char *path = g_build_filename (g_get_tmp_dir (), "whetsight-genicam-test.lock", NULL);
  const int fd = open (path, O_CREAT | O_RDWR | O_CLOEXEC, 0666);
  if (fd >= 0)
    flock (fd, LOCK_EX);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_found_set_and_read_back, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_picture_is_the_scene, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_exposes_by_itself, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_thousand_frames, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_lost_packets, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_unplugged_and_back, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_program_and_bench, set_up, tear_down),
  };
  wait_for_port ();
  return cmocka_run_group_tests (tests, NULL, NULL);
}

#else

static void
test_says_what_is_missing (void **state)
{
  g_autoptr (GError) error = NULL;
  (void)state;
  assert_null (wsi_camera_open ("genicam:", &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  assert_contains (error->message, "built without Aravis");
}

int
main (void)
{
  const struct CMUnitTest tests[] = { cmocka_unit_test (test_says_what_is_missing) };
  return cmocka_run_group_tests (tests, NULL, NULL);
}

#endif
