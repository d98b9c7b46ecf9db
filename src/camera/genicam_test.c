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
#include <dlfcn.h>
#include <fcntl.h>
#include <jansson.h>
#include <malloc.h>
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
  WsImage *coloured; /* what is served where colour is asked for */
} Bench;

/* ---- The cable ----------------------------------------------------------------------------- */

/* Pictures go in packets larger than this, all else in smaller ones. */
#define PICTURE_PACKET 600

/* Packets of pictures that still come through before the cable is pulled; below 0: all. */
static gint packets_left = -1;

/* All that Aravis sends, on both ends, goes through here in place of GIO's own. */
gssize
g_socket_send_to (GSocket *socket, GSocketAddress *address, const gchar *buffer, gsize size,
                  GCancellable *cancellable, GError **error)
{
  gssize (*send) (GSocket *, GSocketAddress *, const gchar *, gsize, GCancellable *, GError **);
  void *found = dlsym (RTLD_NEXT, "g_socket_send_to");
  memcpy (&send, &found, sizeof send);
  const gint left = g_atomic_int_get (&packets_left);
  if (left == 0)
    return (gssize)size;
  if (left > 0 && size > PICTURE_PACKET)
    g_atomic_int_dec_and_test (&packets_left);
  return send (socket, address, buffer, size, cancellable, error);
}

/* ---- The camera ---------------------------------------------------------------------------- */

/* A code of light: the camera's are proportional to it. */
static guint8
code_of (guint8 srgb)
{
  const double share = srgb / 255.0;
  return (guint8)lround (255.0 *
                         (share <= 0.04045 ? share / 12.92 : pow ((share + 0.055) / 1.055, 2.4)));
}

/* The coloured picture as a sensor behind Bayer's filters sees it, or all of its colour. */
static void
fill_colour (const Bench *bench, ArvBuffer *buffer, ArvPixelFormat format)
{
  guint8 *to = (guint8 *)arv_buffer_get_data (buffer, NULL);
  const guint width = (guint)arv_buffer_get_image_width (buffer);
  const guint height = (guint)arv_buffer_get_image_height (buffer);
  for (guint y = 0; bench->coloured != NULL && y < height; y++)
    for (guint x = 0; x < width; x++)
    {
      const guint8 *rgb = bench->coloured->rgb + 3 * ((gsize)y * bench->coloured->width + x);
      if (format == ARV_PIXEL_FORMAT_BAYER_RG_8)
        *to++ = code_of (rgb[x % 2 + y % 2]);
      for (guint c = 0; c < 3 && format == ARV_PIXEL_FORMAT_RGB_8_PACKED; c++)
        *to++ = code_of (rgb[c]);
    }
}

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
  {
    fill_colour (bench, buffer, format);
    return;
  }
  for (gsize i = 0; i < n; i++)
  {
    const gsize at = i / width * bench->scene->width + i % width;
    to[i] = (guint16)MIN (from[at] * (exposure_us / (1e6 * EXPOSURE_S)), 65535.0);
  }
}

static void
serve_size (Bench *bench, const char *xml, guint width, guint height)
{
  bench->served = arv_gv_fake_camera_new_full ("127.0.0.1", "T1", xml);
  ArvFakeCamera *fake = arv_gv_fake_camera_get_fake_camera (bench->served);
  arv_fake_camera_set_fill_pattern (fake, fill, bench);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_WIDTH, width);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_HEIGHT, height);
  arv_fake_camera_write_register (fake, ARV_FAKE_CAMERA_REGISTER_ACQUISITION_FRAME_PERIOD_US,
                                  100000);
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
  ws_image_free (bench->coloured);
  g_free (bench);
  return 0;
}

static WsCamera *
open_it (void)
{
  g_autoptr (GError) error = NULL;
  WsCamera *camera = wsi_camera_open ("genicam:127.0.0.1", FALSE, &error);
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

/* Bytes in use on the heap; 0 where another allocator took its place. */
static gsize
bytes_in_use (void)
{
  const struct mallinfo2 info = mallinfo2 ();
  return info.uordblks + info.hblkhd;
}

/* Nothing is lost, and the hundredth frame needs as much memory as the thousandth. */
#define MOST_GROWTH 4096

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
  gsize in_use = 0;
  for (guint i = 1; i < 1000; i++)
  {
    assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
    assert_int_equal (frame.number, i);
    assert_ptr_equal (frame.image, image);
    assert_ptr_equal (frame.image->linear, room);
    in_use = i == 100 ? bytes_in_use () : in_use;
  }
  const gsize at_end = bytes_in_use ();
  print_message ("%zu bytes in use after 100 frames, %zu after 1000\n", in_use, at_end);
  assert_true (at_end <= in_use + MOST_GROWTH);
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

/* The cable is pulled while a picture comes, and put back. */
static void
test_unplugged_in_mid_frame (void **state)
{
  Bench *bench = *state;
  serve (bench, "T1", SIDE, 100.0);
  g_auto (WsFrame) frame = { 0 };
  {
    g_autoptr (WsCamera) camera = open_it ();
    g_autoptr (GError) lost = NULL;
    g_autoptr (GError) none = NULL;
    assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
    const guint64 before = frame.number;
    g_atomic_int_set (&packets_left, 50);
    while (wsi_camera_grab (camera, &frame, TIMEOUT_MS, &lost))
      assert_true (frame.number < before + 100);
    assert_int_equal (lost->code, WS_ERROR_DATA);
    assert_contains (lost->message, "lost on the way");
    assert_false (wsi_camera_grab (camera, &frame, 200, &none));
    assert_int_equal (none->code, WS_ERROR_NO_INPUT);
    g_atomic_int_set (&packets_left, -1);
  }
  g_autoptr (WsCamera) again = open_it ();
  assert_true (wsi_camera_grab (again, &frame, TIMEOUT_MS, NULL));
}

static void
test_one_at_a_time (void **state)
{
  g_autoptr (GError) error = NULL;
  serve (*state, "T1", SIDE, 100.0);
  g_autoptr (WsCamera) camera = open_it ();
  assert_non_null (camera);
  assert_null (wsi_camera_open ("genicam:127.0.0.1", FALSE, &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  assert_contains (error->message, "another program has the camera");
}

/* ---- Colour -------------------------------------------------------------------------------- */

/* A burnt blade, in front light. */
#define COLOURED "blade-burnt"

static void
load_coloured (Bench *bench)
{
  bench->coloured =
    ws_image_load (WS_SOURCE_DIR "/images/" COLOURED ".jpg", NULL, WS_IMAGE_COLOUR, NULL);
  assert_non_null (bench->coloured);
}

/* The camera's description without Bayer's formats.  Free with g_free(). */
static char *
xml_without_bayer (const char *folder)
{
  g_autoptr (ArvFakeCamera) fake = arv_fake_camera_new ("T1");
  gsize n = 0;
  const char *xml = arv_fake_camera_get_genicam_xml (fake, &n);
  g_autofree char *text = g_strndup (xml, n);
  g_autoptr (GRegex) bayer =
    g_regex_new ("<EnumEntry Name=\"Bayer[A-Z]+8\"[^>]*>.*?</EnumEntry>", G_REGEX_DOTALL, 0, NULL);
  g_autofree char *without = g_regex_replace_literal (bayer, text, -1, 0, "", 0, NULL);
  char *path = g_build_filename (folder, "camera.xml", NULL);
  assert_string_not_equal (text, without);
  assert_true (g_file_set_contents (path, without, -1, NULL));
  return path;
}

/* A frame that came whole: busy processors lose packets. */
static void
grab_whole (WsCamera *camera, WsFrame *frame)
{
  guint n = 0;
  while (!wsi_camera_grab (camera, frame, TIMEOUT_MS, NULL))
    assert_true (++n < 20);
}

static void
check_colour (const Bench *bench, double most)
{
  const WsImage *scene = bench->coloured;
  g_autoptr (GError) error = NULL;
  g_auto (WsFrame) frame = { 0 };
  g_autoptr (WsCamera) camera = wsi_camera_open ("genicam:127.0.0.1", TRUE, &error);
  if (camera == NULL)
    fail_msg ("%s", error->message);
  grab_whole (camera, &frame);
  assert_true (frame.image->has_colour);
  double sum = 0.0;
  const guint n = frame.image->width * frame.image->height;
  for (guint i = 0; i < n; i++)
    for (guint c = 0; c < 3; c++)
    {
      const guint at = i / frame.image->width * scene->width + i % frame.image->width;
      const double error_here = frame.colour[3 * i + c] / 257.0 - code_of (scene->rgb[3 * at + c]);
      sum += error_here * error_here;
    }
  print_message ("colour to %.2f codes\n", sqrt (sum / (3.0 * n)));
  assert_true (sqrt (sum / (3.0 * n)) <= most);
}

static void
test_colour_of_both_kinds (void **state)
{
  Bench *bench = *state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-genicam-XXXXXX", NULL);
  g_autofree char *xml = xml_without_bayer (folder);
  load_coloured (bench);
  serve_size (bench, NULL, 320, 240);
  check_colour (bench, 3.0);
  g_clear_object (&bench->served);
  serve_size (bench, xml, 320, 240);
  check_colour (bench, 0.0);
  g_unlink (xml);
  g_rmdir (folder);
}

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
  g_auto (Run) taken = run ("capture", "--camera", "genicam:127.0.0.1", "--exposure", "0.001",
                            "--live", "--out", picture, NULL);
  print_message ("%s", taken.err);
  assert_contains (taken.out, "take");
  assert_contains (taken.out, "Point angle");
  assert_true (taken.status == 0 || taken.status == 2);
  g_unlink (picture);
  g_rmdir (folder);
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
    cmocka_unit_test_setup_teardown (test_unplugged_in_mid_frame, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_one_at_a_time, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_colour_of_both_kinds, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_burn_by_a_colour_camera, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_live, set_up, tear_down),
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
  assert_null (wsi_camera_open ("genicam:", FALSE, &error));
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
