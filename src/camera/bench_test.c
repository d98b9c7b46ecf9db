#include "base/testing.h"

#include <glib/gstdio.h>

#include <whetsight/calibration.h>
#include <whetsight/error.h>

#include "camera/bench.h"
#include "camera/shot_file.h"
#include "image/taken.h"

static const WsCameraIdentity identity = { "files", "a folder", "7" };

static WsCameraSettings
settings_of (double exposure_s)
{
  WsCameraSettings settings = { 0 };
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
    settings.of[name] = (WsSetting){ WS_SETTING_ABSENT, NAN, NAN, NAN, "" };
  settings.of[WS_SETTING_EXPOSURE] = (WsSetting){ WS_SETTING_FIXED, exposure_s, 0.0, 1.0, "s" };
  settings.of[WS_SETTING_WHITE_BALANCE].state = WS_SETTING_WANDERING;
  return settings;
}

static WsImage *
ramp (void)
{
  WsImage *image = ws_image_new (64, 48, NULL);
  for (guint i = 0; i < 64 * 48; i++)
    image->linear[i] = (guint16)(i * 21);
  return image;
}

static void
test_picture_file (void **state)
{
  g_autoptr (WsImage) image = ramp ();
  const WsCameraSettings settings = settings_of (0.0125);
  g_autoptr (WsTaken) taken = wsi_shot_taken (&identity, &settings, image);
  const WsShotNotes notes = { taken, 16, 0.02, "2026-11-29T06:00:00Z" };
  (void)state;
  g_autoptr (GBytes) file = wsi_shot_encode (&(WsFrame){ .image = image }, &notes, NULL);
  gsize n = 0;
  const guint8 *bytes = g_bytes_get_data (file, &n);
  g_autoptr (WsImage) read = ws_image_decode (bytes, n, "shot", NULL, WS_IMAGE_GREY, NULL);
  assert_non_null (read);
  assert_int_equal (read->tone, WS_TONE_LINEAR);
  assert_int_equal (read->bits, 16);
  assert_memory_equal (read->linear, image->linear, 64 * 48 * 2);
  static const char *const said[] = { "exposure",          "0.0125 s", "changed by the camera",
                                      "files:a folder, 7", "0.020 px", "no such control" };
  for (guint i = 0; i < G_N_ELEMENTS (said); i++)
  {
    g_autofree char *text = g_memdup2 (bytes, n);
    gboolean found = FALSE;
    for (gsize at = 0; !found && at + strlen (said[i]) <= n; at++)
      found = memcmp (text + at, said[i], strlen (said[i])) == 0;
    assert_true (found);
  }
}

/* A folder with one picture, and a bench file kept of it. */
typedef struct
{
  char *folder, *picture, *path;
  WsBench bench;
} Fixture;

static void
save_ramp (const char *path)
{
  g_autoptr (WsImage) image = ramp ();
  const WsCameraSettings settings = settings_of (0.01);
  g_autoptr (WsTaken) taken = wsi_shot_taken (&identity, &settings, image);
  const WsShotNotes notes = { taken, 1, NAN, "2026-11-29T06:00:00Z" };
  g_autoptr (GBytes) file = wsi_shot_encode (&(WsFrame){ .image = image }, &notes, NULL);
  gsize n = 0;
  const char *bytes = g_bytes_get_data (file, &n);
  assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
}

static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-bench-XXXXXX", NULL);
  fixture->picture = g_build_filename (fixture->folder, "a.png", NULL);
  fixture->path = g_build_filename (fixture->folder, "bench.conf", NULL);
  save_ramp (fixture->picture);
  WsBench *bench = &fixture->bench;
  bench->address = g_strconcat ("files:", fixture->folder, NULL);
  bench->name = g_strdup (fixture->folder);
  bench->width = 64;
  bench->height = 48;
  bench->pixels = g_strdup ("grey 16 bits linear");
  bench->station = g_strdup ("Bench 1");
  for (guint i = 0; i < WS_N_SETTINGS; i++)
    bench->settings[i] = g_strdup ("no such control");
  *state = fixture;
  return 0;
}

static int
tear_down (void **state)
{
  Fixture *fixture = *state;
  g_unlink (fixture->picture);
  g_unlink (fixture->path);
  g_rmdir (fixture->folder);
  wsi_bench_clear (&fixture->bench);
  g_free (fixture->folder);
  g_free (fixture->picture);
  g_free (fixture->path);
  g_free (fixture);
  return 0;
}

static void
set_to (char **text, const char *other)
{
  g_free (*text);
  *text = g_strdup (other);
}

static void
check_refused (const WsBench *bench, const char *words)
{
  g_autoptr (GError) error = NULL;
  WsCameraSettings settings;
  assert_null (wsi_bench_open (bench, &settings, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  assert_contains (error->message, words);
  assert_contains (error->message, "calibrate again");
}

static void
test_kept_and_opened (void **state)
{
  Fixture *fixture = *state;
  g_auto (WsBench) bench = { 0 };
  g_autoptr (GError) error = NULL;
  WsCameraSettings settings;
  assert_true (wsi_bench_save (fixture->path, &fixture->bench, NULL));
  assert_true (wsi_bench_load (fixture->path, &bench, NULL));
  assert_string_equal (bench.station, "Bench 1");
  assert_string_equal (bench.settings[WS_SETTING_GAIN], "no such control");
  g_autoptr (WsCamera) camera = wsi_bench_open (&bench, &settings, NULL);
  assert_non_null (camera);

  g_autoptr (WsImage) other = ws_image_new (64, 50, NULL);
  g_autoptr (WsImage) same = ramp ();
  assert_true (wsi_bench_check_picture (&bench, same, NULL));
  assert_false (wsi_bench_check_picture (&bench, other, &error));
  assert_contains (error->message, "64 x 50 pixels, not 64 x 48");
}

static void
test_what_changed_is_refused (void **state)
{
  WsBench *bench = &((Fixture *)*state)->bench;
  set_to (&bench->settings[WS_SETTING_EXPOSURE], "0.01 s");
  check_refused (bench, "exposure is no such control, not 0.01 s");
  set_to (&bench->settings[WS_SETTING_EXPOSURE], "no such control");
  set_to (&bench->serial, "12");
  check_refused (bench, "another camera than the bench's");
}

/* A calibration that isn't the one the bench was kept with, and one for pictures of another size.
 */
static void
test_calibration_must_be_its_own (void **state)
{
  WsBench *bench = &((Fixture *)*state)->bench;
  WsCameraSettings settings;
  g_autoptr (GError) error = NULL;
  set_to (&bench->calibration, WS_SOURCE_DIR "/calib/bench-2.calib");
  set_to (&bench->calibration_sha256, "00");
  check_refused (bench, "another calibration than the bench was kept with");
  g_autoptr (WsCalibration) calibration = ws_calibration_load (bench->calibration, NULL);
  set_to (&bench->calibration_sha256, ws_calibration_sha256 (calibration));
  assert_null (wsi_bench_open (bench, &settings, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
}

#define NO_WIDTH                                                                                   \
  "[camera]\naddress=files:x\npixels=grey\nwidth=0\nheight=4\n[settings]\nexposure=1\ngain=1\n"    \
  "white_balance=1\ngamma=1\nsharpening=1\n"

static void
test_a_file_that_lacks_something (void **state)
{
  const Fixture *fixture = *state;
  static const char *const texts[] = {
    "[camera]\nname=x\n",
    "[camera]\naddress=files:x\n",
    "[camera]\naddress=files:x\npixels=grey\n",
    "nonsense",
    NO_WIDTH,
  };
  static const char *const said[] = { "address: missing", "pixels: missing", "exposure: missing",
                                      "not a bench file", "width: expected" };
  for (guint i = 0; i < G_N_ELEMENTS (texts); i++)
  {
    g_auto (WsBench) bench = { 0 };
    g_autoptr (GError) error = NULL;
    assert_true (g_file_set_contents (fixture->path, texts[i], -1, NULL));
    assert_false (wsi_bench_load (fixture->path, &bench, &error));
    assert_int_equal (error->code, WS_ERROR_DATA);
    assert_contains (error->message, said[i]);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_picture_file),
    cmocka_unit_test_setup_teardown (test_kept_and_opened, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_what_changed_is_refused, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_calibration_must_be_its_own, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_a_file_that_lacks_something, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
