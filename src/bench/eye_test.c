/*
 * The bench camera played by a folder of pictures.
 */
#include "base/testing.h"

#include <math.h>
#include <string.h>
#include <unistd.h>

#include <glib/gstdio.h>
#include <jansson.h>
#include <whetsight/error.h>

#include "bench/eye.h"

#define CARD WS_SOURCE_DIR "/images/QT-D-0118.tool"
#define OTHER_CARD WS_SOURCE_DIR "/images/QT-D-0100.tool"
#define PICTURE WS_SOURCE_DIR "/images/good-118.png"
#define N_FRAMES 200

static char *
make_folder (void)
{
  char *folder = g_dir_make_tmp ("whetsight-eye-XXXXXX", NULL);
  for (guint i = 0; i < N_FRAMES; i++)
  {
    g_autofree char *path = g_strdup_printf ("%s/%04u.png", folder, i);
    assert_int_equal (symlink (PICTURE, path), 0);
  }
  return folder;
}

static void
remove_folder (const char *folder)
{
  for (guint i = 0; i < N_FRAMES; i++)
  {
    g_autofree char *path = g_strdup_printf ("%s/%04u.png", folder, i);
    g_unlink (path);
  }
  g_rmdir (folder);
}

static WsEye *
eye_of (const char *folder)
{
  g_autofree char *address = g_strconcat ("files:", folder, NULL);
  return wsi_eye_new (address, NULL, NAN);
}

/* The line's JSON; what follows it begins as a JPEG does. */
static json_t *
read_frame (GBytes *bytes)
{
  gsize n;
  const char *text = g_bytes_get_data (bytes, &n);
  const char *end = memchr (text, '\n', n);
  assert_non_null (end);
  assert_memory_equal (end + 1, "\xff\xd8\xff", 3);
  json_t *said = json_loadb (text, (size_t)(end - text), 0, NULL);
  assert_non_null (said);
  return said;
}

/* Where all is slow, the first frames take longer than a browser waits. */
static GBytes *
next_of (WsEye *eye, const WsEyeTask *task, guint64 after)
{
  GBytes *bytes = NULL;
  for (guint i = 0; i < 20 && bytes == NULL; i++)
    bytes = wsi_eye_next (eye, task, after, NULL);
  assert_non_null (bytes);
  return bytes;
}

static void
frames_get_newer_and_one_is_taken (void **state)
{
  guint64 last = 0;
  g_autofree char *folder = make_folder ();
  g_autoptr (WsEye) eye = eye_of (folder);
  const WsEyeTask task = { .card = CARD, .view = ws_view_find ("drill-side") };
  (void)state;
  for (guint i = 0; i < 3; i++)
  {
    g_autoptr (GBytes) bytes = next_of (eye, &task, last);
    json_t *said = read_frame (bytes);
    const guint64 number = (guint64)json_integer_value (json_object_get (said, "frame"));
    assert_true (number > last);
    assert_true (json_array_size (json_object_get (said, "outline")) > 100);
    last = number;
    json_decref (said);
  }
  GError *error = NULL;
  assert_null (wsi_eye_take (eye, &task, last + 1000, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
  g_clear_error (&error);
  GBytes *file = NULL;
  for (guint i = 0; i < 20 && file == NULL; i++)
    file = wsi_eye_take (eye, &task, 0, NULL);
  assert_non_null (file);
  assert_memory_equal (g_bytes_get_data (file, NULL), "\x89PNG", 4);
  g_bytes_unref (file);
  remove_folder (folder);
}

static void
one_tool_at_a_time (void **state)
{
  GError *error = NULL;
  g_autofree char *folder = make_folder ();
  g_autoptr (WsEye) eye = eye_of (folder);
  const WsEyeTask task = { .card = CARD, .view = ws_view_find ("drill-side") };
  const WsEyeTask other = { .card = OTHER_CARD, .view = task.view };
  (void)state;
  g_autoptr (GBytes) bytes = next_of (eye, &task, 0);
  assert_non_null (bytes);
  assert_null (wsi_eye_next (eye, &other, 0, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_CANCELLED));
  g_clear_error (&error);
  remove_folder (folder);
}

static void
a_camera_that_is_not_there_is_told_each_time (void **state)
{
  g_autoptr (WsEye) eye = eye_of ("/nowhere");
  const WsEyeTask task = { .card = CARD, .view = ws_view_find ("drill-side") };
  (void)state;
  for (guint i = 0; i < 2; i++)
  {
    GError *error = NULL;
    assert_null (wsi_eye_next (eye, &task, 0, &error));
    assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_NO_INPUT));
    g_clear_error (&error);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (frames_get_newer_and_one_is_taken),
    cmocka_unit_test (one_tool_at_a_time),
    cmocka_unit_test (a_camera_that_is_not_there_is_told_each_time),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
