#include "base/testing.h"

#include <glib/gstdio.h>

#include <whetsight/error.h>

#include "camera/avi_for_tests.h"
#include "camera/camera.h"
#include "camera/jpeg_for_tests.h"
#include "camera/shot_file.h"

/* A picture of 2 x 2 pixels of this light. */
static void
save_grey (const char *folder, const char *name, guint16 light)
{
  const WsTaken taken = { { NULL } };
  const WsShotNotes notes = { &taken, 1, NAN, "2026-11-29T06:00:00Z" };
  g_autoptr (WsImage) image = ws_image_new (2, 2, NULL);
  for (guint i = 0; i < 4; i++)
    image->linear[i] = light;
  g_autoptr (GBytes) file = wsi_shot_encode (&(WsFrame){ .image = image }, &notes, NULL);
  g_autofree char *path = g_build_filename (folder, name, NULL);
  gsize n = 0;
  const char *bytes = g_bytes_get_data (file, &n);
  assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
}

static int
set_up (void **state)
{
  char *folder = g_dir_make_tmp ("whetsight-camera-XXXXXX", NULL);
  *state = folder;
  return folder == NULL;
}

static int
tear_down (void **state)
{
  g_autofree char *folder = *state;
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  for (const char *name; (name = g_dir_read_name (dir)) != NULL;)
  {
    g_autofree char *path = g_build_filename (folder, name, NULL);
    g_unlink (path);
  }
  return g_rmdir (folder);
}

static WsCamera *
open_folder (const char *folder, GError **error)
{
  g_autofree char *address = g_strconcat ("files:", folder, NULL);
  return wsi_camera_open (address, FALSE, error);
}

static void
check_refused (const char *address, int code, const char *words)
{
  g_autoptr (GError) error = NULL;
  assert_null (wsi_camera_open (address, FALSE, &error));
  assert_non_null (error);
  assert_int_equal (error->code, code);
  assert_contains (error->message, words);
}

static void
test_addresses (void **state)
{
  g_autofree char *empty = g_strconcat ("files:", (const char *)*state, NULL);
  check_refused ("bench", WS_ERROR_USAGE, "begins with files:");
  check_refused ("filesystem:x", WS_ERROR_USAGE, "no camera's address");
  check_refused ("files:/no/such/folder", WS_ERROR_NO_INPUT, "no such folder or video");
  check_refused (empty, WS_ERROR_NO_INPUT, "no picture there");
}

static void
test_folder_in_order (void **state)
{
  const char *folder = *state;
  save_grey (folder, "b.png", 65535);
  save_grey (folder, "a.png", 0);
  save_grey (folder, ".hidden.png", 7);
  save_grey (folder, "notes.txt", 7);
  g_autoptr (WsCamera) camera = open_folder (folder, NULL);
  assert_non_null (camera);
  assert_string_equal (wsi_camera_identity (camera)->kind, "files");
  assert_string_equal (wsi_camera_identity (camera)->serial, "");

  g_auto (WsFrame) frame = { 0 };
  g_autoptr (GError) error = NULL;
  assert_true (wsi_camera_grab (camera, &frame, 100, NULL));
  assert_int_equal (frame.number, 0);
  assert_int_equal (frame.image->width, 2);
  assert_int_equal (frame.image->linear[3], 0);
  assert_false (frame.saturated);
  assert_true (wsi_camera_grab (camera, &frame, 100, NULL));
  assert_int_equal (frame.number, 1);
  assert_true (frame.saturated);
  assert_false (wsi_camera_grab (camera, &frame, 100, &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  assert_contains (error->message, "no more pictures after 2");
}

static void
test_damaged_picture_is_passed (void **state)
{
  const char *folder = *state;
  g_autofree char *path = g_build_filename (folder, "a.png", NULL);
  assert_true (g_file_set_contents (path, "torn", 4, NULL));
  save_grey (folder, "b.png", 128);
  g_autoptr (WsCamera) camera = open_folder (folder, NULL);
  g_auto (WsFrame) frame = { 0 };
  g_autoptr (GError) error = NULL;
  assert_false (wsi_camera_grab (camera, &frame, 100, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  assert_true (wsi_camera_grab (camera, &frame, 100, NULL));
  assert_int_equal (frame.number, 1);
}

static void
test_folder_has_no_controls (void **state)
{
  const char *folder = *state;
  save_grey (folder, "a.png", 9);
  g_autoptr (WsCamera) camera = open_folder (folder, NULL);
  WsCameraSettings settings;
  assert_true (wsi_camera_fix (camera, 0.01, 0.0, &settings, NULL));
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
  {
    assert_int_equal (settings.of[name].state, WS_SETTING_ABSENT);
    assert_true (isnan (settings.of[name].value));
    assert_non_null (wsi_setting_name (name));
  }
  assert_null (wsi_setting_name (WS_N_SETTINGS));
}

/* ---- Video --------------------------------------------------------------------------------- */

#define VIDEO_SIDE 64
#define VIDEO_RATE 25

/* Each picture of one grey, brighter from one to the next. */
static void
save_video (const char *path, guint n_frames)
{
  g_autoptr (GPtrArray) pictures = g_ptr_array_new_with_free_func ((GDestroyNotify)g_bytes_unref);
  for (guint i = 0; i < n_frames; i++)
  {
    const guint8 grey = (guint8)(50 * (i + 1));
    const PlainPicture plain = { VIDEO_SIDE, VIDEO_SIDE, { grey, grey, grey }, FALSE };
    gsize n = 0;
    guint8 *jpeg = plain_jpeg (&plain, &n);
    g_ptr_array_add (pictures, g_bytes_new_take (jpeg, n));
  }
  const AviSize size = { VIDEO_SIDE, VIDEO_SIDE, VIDEO_RATE };
  g_autoptr (GByteArray) file = avi_of_jpegs (pictures, &size);
  assert_true (g_file_set_contents (path, (const char *)file->data, file->len, NULL));
}

static void
test_video (void **state)
{
  g_autofree char *path = g_build_filename (*state, "tool.avi", NULL);
  g_autofree char *address = g_strconcat ("files:", path, NULL);
  g_autoptr (GError) error = NULL;
  save_video (path, 4);
  g_autoptr (WsCamera) camera = wsi_camera_open (address, TRUE, &error);
  if (camera == NULL)
    fail_msg ("%s", error->message);
  g_auto (WsFrame) frame = { 0 };
  guint16 before = 0;
  for (guint i = 0; i < 4; i++)
  {
    assert_true (wsi_camera_grab (camera, &frame, 100, NULL));
    assert_int_equal (frame.number, i);
    assert_int_equal (frame.time_us, i * 1000000 / VIDEO_RATE);
    assert_int_equal (frame.image->width, VIDEO_SIDE);
    assert_true (frame.image->has_colour);
    assert_true (frame.image->lossy);
    /* IEC 61966-2-1. */
    const double light = 65535.0 * pow ((50 * (i + 1) / 255.0 + 0.055) / 1.055, 2.4);
    assert_near (frame.colour[0], light, 0.03 * 65535.0);
    assert_true (frame.image->linear[0] > before);
    before = frame.image->linear[0];
  }
  assert_false (wsi_camera_grab (camera, &frame, 100, &error));
  assert_int_equal (error->code, WS_ERROR_NO_INPUT);
  assert_contains (error->message, "no more pictures after 4");
}

static void
test_what_is_no_video (void **state)
{
  g_autofree char *path = g_build_filename (*state, "torn.avi", NULL);
  g_autofree char *address = g_strconcat ("files:", path, NULL);
  assert_true (g_file_set_contents (path, "RIFFtorn", 8, NULL));
  check_refused (address, WS_ERROR_DATA, "not a video that can be read");
  check_refused ("files:http://127.0.0.1/x.avi", WS_ERROR_NO_INPUT, "no such folder or video");
}

static void
test_grey_pictures_have_no_colour (void **state)
{
  g_autoptr (GError) error = NULL;
  g_autofree char *address = g_strconcat ("files:", (const char *)*state, NULL);
  save_grey (*state, "a.png", 9);
  g_autoptr (WsCamera) camera = wsi_camera_open (address, TRUE, NULL);
  g_auto (WsFrame) frame = { 0 };
  assert_false (wsi_camera_grab (camera, &frame, 100, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  assert_contains (error->message, "without --colour");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_addresses, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_folder_in_order, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_damaged_picture_is_passed, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_folder_has_no_controls, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_video, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_is_no_video, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_grey_pictures_have_no_colour, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
