#include "base/testing.h"

#include <glib/gstdio.h>

#include <whetsight/error.h>

#include "camera/camera.h"
#include "camera/shot_file.h"

/* A picture of 2 x 2 pixels of this light. */
static void
save_grey (const char *folder, const char *name, guint16 light)
{
  const WsCameraIdentity identity = { "files", "", "" };
  const WsCameraSettings settings = { 0 };
  const WsShotNotes notes = { &identity, &settings, 1, NAN, "2026-11-29T06:00:00Z" };
  g_autoptr (WsImage) image = ws_image_new (2, 2, NULL);
  for (guint i = 0; i < 4; i++)
    image->linear[i] = light;
  g_autoptr (GBytes) file = wsi_shot_encode (image, &notes, NULL);
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
