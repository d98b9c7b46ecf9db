/*
 * The real protocol: a simulated GigE Vision camera on the loopback interface.
 */
#ifdef WS_HAVE_ARAVIS

#include "camera/served_for_tests.h"

#include <malloc.h>

#include "camera/expose.h"

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

/* The hundredth frame needs as much memory as the thousandth. */
#define MOST_GROWTH 65536

/* Processors that others have for longer than packets wait in the system's room lose some. */
#define TRIES 4

/* Whether none was lost of a thousand in a row; of fewer where sanitizers look for other things. */
static gboolean
take_a_thousand (WsCamera *camera)
{
  g_auto (WsFrame) frame = { 0 };
  assert_true (wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL));
  const guint64 first = frame.number;
  const WsImage *image = frame.image;
  const guint16 *room = image->linear;
  gsize in_use = 0;
  const guint n = g_getenv ("WHETSIGHT_FEW_SCENES") != NULL ? 200 : 1000;
  for (guint i = 1; i < n; i++)
  {
    if (!wsi_camera_grab (camera, &frame, TIMEOUT_MS, NULL) || frame.number != first + i)
      return FALSE;
    assert_ptr_equal (frame.image, image);
    assert_ptr_equal (frame.image->linear, room);
    in_use = i == 100 ? bytes_in_use () : in_use;
  }
  const gsize at_end = bytes_in_use ();
  print_message ("%zu bytes in use after 100 frames, %zu after %u\n", in_use, at_end, n);
  assert_true (at_end <= in_use + MOST_GROWTH);
  return TRUE;
}

static void
test_thousand_frames (void **state)
{
  serve (*state, "T1", 16, 900.0);
  g_autoptr (WsCamera) camera = open_it ();
  WsCameraSettings settings;
  assert_true (wsi_camera_fix (camera, 1e-4, NAN, &settings, NULL));
  gboolean whole = FALSE;
  for (guint i = 0; i < TRIES && !whole; i++)
    whole = take_a_thousand (camera);
  assert_true (whole);
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

/* ---- Colour -------------------------------------------------------------------------------- */

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
    cmocka_unit_test_setup_teardown (test_colour_of_both_kinds, set_up, tear_down),
  };
  wait_for_port ();
  return cmocka_run_group_tests (tests, NULL, NULL);
}

#else

#include "base/testing.h"

#include <whetsight/error.h>

#include "camera/camera.h"

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
