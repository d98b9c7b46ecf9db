#include "base/testing.h"

#include <glib/gstdio.h>

#include <whetsight/error.h>

#include "camera/camera.h"

/* A grey picture of 2 x 2 pixels as a portable file that is read: an uncompressed BMP. */
static void
save_bmp (const char *folder, const char *name, guint8 grey)
{
  guint8 file[54 + 16] = {
    'B', 'M', sizeof file, [10] = 54, [14] = 40, [18] = 2, [22] = 2, [26] = 1, [28] = 24, [34] = 16
  };
  for (guint i = 0; i < 12; i++)
    file[54 + i / 6 * 8 + i % 6] = grey;
  g_autofree char *path = g_build_filename (folder, name, NULL);
  assert_true (g_file_set_contents (path, (const char *)file, sizeof file, NULL));
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
  return wsi_camera_open (address, error);
}

static void
check_refused (const char *address, int code, const char *words)
{
  g_autoptr (GError) error = NULL;
  assert_null (wsi_camera_open (address, &error));
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
  check_refused ("files:/no/such/folder", WS_ERROR_NO_INPUT, "no such folder");
  check_refused (empty, WS_ERROR_NO_INPUT, "no picture there");
}

static void
test_folder_in_order (void **state)
{
  const char *folder = *state;
  save_bmp (folder, "b.bmp", 255);
  save_bmp (folder, "a.bmp", 0);
  save_bmp (folder, ".hidden.bmp", 7);
  save_bmp (folder, "notes.txt", 7);
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
  save_bmp (folder, "b.bmp", 128);
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
  save_bmp (folder, "a.bmp", 9);
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

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_addresses, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_folder_in_order, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_damaged_picture_is_passed, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_folder_has_no_controls, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
