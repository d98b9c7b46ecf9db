/*
 * Pictures that say how they were taken, against calibrations and benches that say how theirs were.
 */
#include <glib/gstdio.h>
#include <whetsight/calibration.h>
#include <whetsight/image.h>

#include "camera/shot_file.h"
#include "cli/run_for_tests.h"
#include "image/taken.h"
#include "scene/scene.h"

#define CALIB WS_SOURCE_DIR "/calib/"

/* That of calib/bench-2.calib. */
#define MM_PER_PX 0.01
#define WIDTH 560
#define HEIGHT 420

static const char *const pins[] = { "pin-1.0002-1.jpg", "pin-1.0002-2.jpg", "pin-1.9998-3.jpg",
                                    "pin-1.9998-4.jpg", "pin-3.0001-5.jpg", "pin-3.0001-6.jpg" };

typedef struct
{
  char *folder, *list, *calib, *bench;
} Fixture;

static char *
in (const Fixture *fixture, const char *name)
{
  return g_build_filename (fixture->folder, name, NULL);
}

/* As the bench's camera takes it, or another one, with this exposure. */
static WsTaken *
taken_with (const char *name, double exposure_s, const WsImage *image)
{
  g_autofree char *camera = g_strdup (name);
  const WsCameraIdentity identity = { (char *)"v4l2", camera, (char *)"usb-1" };
  WsCameraSettings settings = { 0 };
  for (WsSettingName i = 0; i < WS_N_SETTINGS; i++)
    settings.of[i] = (WsSetting){ WS_SETTING_ABSENT, NAN, NAN, NAN, "" };
  settings.of[WS_SETTING_EXPOSURE] = (WsSetting){ WS_SETTING_FIXED, exposure_s, 1e-4, 1.0, "s" };
  return wsi_shot_taken (&identity, &settings, image);
}

static void
save_as_taken (WsImage *image, const char *camera, double exposure_s, const char *path)
{
  image->has_colour = FALSE;
  g_autoptr (WsTaken) taken = taken_with (camera, exposure_s, image);
  const WsShotNotes notes = { taken, 1, NAN, "2026-11-29T06:00:00Z" };
  g_autoptr (GBytes) file = wsi_shot_encode (&(WsFrame){ .image = image }, &notes, NULL);
  gsize n = 0;
  const char *bytes = g_bytes_get_data (file, &n);
  assert_true (g_file_set_contents (path, bytes, (gssize)n, NULL));
}

/* A pin as taken, under a name of its own. */
static char *
take_pin (const Fixture *fixture, const char *pin, const char *camera, double exposure_s)
{
  g_autofree char *from = g_build_filename (CALIB, pin, NULL);
  g_autofree char *name = g_strdup_printf ("%s-%s-%g.png", pin, camera, exposure_s);
  char *path = in (fixture, name);
  g_autoptr (WsImage) image = ws_image_load (from, NULL, WS_IMAGE_GREY, NULL);
  assert_non_null (image);
  save_as_taken (image, camera, exposure_s, path);
  return path;
}

/* A drill, by the same camera. */
static char *
take_drill (const Fixture *fixture, double exposure_s)
{
  SceneDrill drill;
  SceneCamera camera;
  char *path = in (fixture, "drill.png");
  scene_drill_init (&drill, 2.4);
  scene_camera_init (&camera);
  camera.width = WIDTH;
  camera.height = HEIGHT;
  camera.mm_per_px = MM_PER_PX;
  camera.bits = 16;
  camera.encoding = SCENE_LINEAR;
  camera.tagged = TRUE;
  scene_camera_aim (&camera, &drill, 0.5);
  camera.mm_per_px = MM_PER_PX;
  SceneImage *scene = scene_render (&drill, &camera, NULL);
  assert_true (scene_image_save (scene, path, 0));
  scene_image_free (scene);
  g_autoptr (WsImage) image = ws_image_load (path, NULL, WS_IMAGE_GREY, NULL);
  save_as_taken (image, "Bench camera", exposure_s, path);
  return path;
}

/* A calibration of pins that say how they were taken. */
static int
set_up (void **state)
{
  Fixture *fixture = g_new0 (Fixture, 1);
  fixture->folder = g_dir_make_tmp ("whetsight-taken-XXXXXX", NULL);
  fixture->list = in (fixture, "pins.csv");
  fixture->calib = in (fixture, "b.calib");
  fixture->bench = in (fixture, "bench.conf");
  GString *list = g_string_new ("file,diameter_mm,u_mm\n");
  for (guint i = 0; i < G_N_ELEMENTS (pins); i++)
  {
    g_autofree char *path = take_pin (fixture, pins[i], "Bench camera", 0.01);
    g_string_append_printf (list, "%s,%.6s,0.00025\n", path, pins[i] + 4);
  }
  assert_true (g_file_set_contents (fixture->list, list->str, -1, NULL));
  g_string_free (list, TRUE);
  g_auto (Run) made = run ("calibrate", "pin", "--shots", fixture->list, "--camera", "bench",
                           "--out", fixture->calib, NULL);
  if (made.status != 0)
    fail_msg ("%s", made.err);
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
    g_autofree char *path = in (fixture, name);
    g_unlink (path);
  }
  g_rmdir (fixture->folder);
  g_free (fixture->folder);
  g_free (fixture->list);
  g_free (fixture->calib);
  g_free (fixture->bench);
  g_free (fixture);
  return 0;
}

/* ---- Calibrations ---------------------------------------------------------------------------- */

static void
check_refused (const Fixture *fixture, const char *picture, const char *words)
{
  g_auto (Run) measured = run ("measure", "--calib", fixture->calib, picture, NULL);
  assert_int_equal (measured.status, 65);
  assert_contains (measured.err, words);
  assert_contains (measured.err, "or calibrate again");
  assert_string_equal (measured.out, "");
  g_auto (Run) checked =
    run ("verify", "--calib", fixture->calib, "--pin", "1.9998", picture, NULL);
  assert_int_equal (checked.status, 65);
  assert_contains (checked.err, words);
}

static void
test_what_was_changed_since_calibrating (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (fixture->calib, &text, NULL, NULL));
  assert_contains (text, "[taken]");
  assert_contains (text, "exposure=0.01 s");
  g_autofree char *same = take_pin (fixture, pins[2], "Bench camera", 0.01005);
  g_auto (Run) checked = run ("verify", "--calib", fixture->calib, "--pin", "1.9998", same, NULL);
  assert_int_equal (checked.status, 0);

  g_autofree char *longer = take_pin (fixture, pins[2], "Bench camera", 0.02);
  check_refused (fixture, longer, "with the exposure \"0.02 s\", the calibration with \"0.01 s\"");
  g_autofree char *other = take_pin (fixture, pins[2], "Other camera", 0.01);
  check_refused (fixture, other, "with the camera \"v4l2:Other camera, usb-1\"");
  check_refused (fixture, CALIB "pin-1.9998-3.jpg", "doesn't say by which camera");
}

/* A picture that was taken otherwise is left out, and told. */
static void
test_calibrating_by_mixed_pictures (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *list = NULL;
  g_autofree char *mixed = in (fixture, "mixed.csv");
  g_autofree char *out = in (fixture, "mixed.calib");
  g_autofree char *longer = take_pin (fixture, pins[2], "Bench camera", 0.02);
  assert_true (g_file_get_contents (fixture->list, &list, NULL, NULL));
  g_autofree char *more = g_strdup_printf ("%s%s,1.9998,0.00025\n", list, longer);
  assert_true (g_file_set_contents (mixed, more, -1, NULL));
  g_auto (Run) made =
    run ("calibrate", "pin", "--shots", mixed, "--camera", "bench", "--out", out, NULL);
  assert_int_equal (made.status, 0);
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (out, &text, NULL, NULL));
  assert_contains (text, "rejected=it was taken with the exposure");
}

/* ---- Benches --------------------------------------------------------------------------------- */

static void
write_bench (const Fixture *fixture, const char *calib, const char *exposure)
{
  g_autoptr (WsCalibration) calibration = ws_calibration_load (calib, NULL);
  g_autofree char *text = g_strdup_printf (
    "[camera]\naddress=v4l2:/dev/video9\nname=Bench camera\nserial=usb-1\nwidth=%d\nheight=%d\n"
    "pixels=grey 16 bits linear\n[settings]\nexposure=%s\ngain=no such control\n"
    "white_balance=no such control\ngamma=no such control\nsharpening=no such control\n"
    "[calibration]\nfile=%s\nsha256=%s\n[station]\nname=Bench 2\n[check]\nevery_hours=24\n",
    WIDTH, HEIGHT, exposure, calib, ws_calibration_sha256 (calibration));
  assert_true (g_file_set_contents (fixture->bench, text, -1, NULL));
}

static void
test_bench_and_its_morning_check (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *drill = take_drill (fixture, 0.01);
  /* A JPEG's pin has other pixels than the bench. */
  g_autofree char *flat = g_build_filename (CALIB, "bench-2.calib", NULL);
  g_autofree char *calib = in (fixture, "copy.calib");
  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (flat, &text, NULL, NULL));
  assert_true (g_file_set_contents (calib, text, -1, NULL));
  write_bench (fixture, calib, "0.01 s");

  g_auto (Run) due = run ("measure", "--bench", fixture->bench, drill, NULL);
  assert_contains (due.err, "the check of its calibration is due");
  assert_int_equal (due.status, 2);
  assert_contains (due.out, "The check of the bench's calibration is due");

  g_autofree char *checks = in (fixture, "copy.checks.csv");
  g_autofree char *pin = take_pin (fixture, pins[2], "Bench camera", 0.01);
  g_auto (Run) otherwise = run ("verify", "--bench", fixture->bench, "--pin", "1.9998", pin, NULL);
  assert_int_equal (otherwise.status, 65);
  assert_contains (otherwise.err, "with the pixel format");
  g_auto (Run) passed =
    run ("verify", "--calib", calib, "--pin", "1.9998", CALIB "pin-1.9998-3.jpg", NULL);
  assert_int_equal (passed.status, 0);
  assert_true (g_file_test (checks, G_FILE_TEST_EXISTS));
  g_auto (Run) held = run ("measure", "--bench", fixture->bench, drill, NULL);
  assert_string_equal (held.err, "");
  assert_lacks (held.out, "is due");

  write_bench (fixture, calib, "0.02 s");
  g_auto (Run) changed = run ("measure", "--bench", fixture->bench, drill, NULL);
  assert_int_equal (changed.status, 65);
  assert_contains (changed.err, "with the exposure \"0.01 s\", the bench with \"0.02 s\"");
  g_auto (Run) both = run ("measure", "--bench", fixture->bench, "--calib", calib, drill, NULL);
  assert_int_equal (both.status, 64);
}

/* What capture says of the bench's check, and that it takes the picture all the same. */
static void
check_told (const Fixture *fixture, const char *words)
{
  g_autofree char *picture = in (fixture, "taken.png");
  g_auto (Run) taken = run ("capture", "--bench", fixture->bench, "--out", picture, NULL);
  assert_int_equal (taken.status, 0);
  if (words != NULL)
    assert_contains (taken.err, words);
  else
    assert_string_equal (taken.err, "");
  assert_contains (taken.out, "560 x 420 pixels");
}

static void
test_capture_tells_of_the_check (void **state)
{
  const Fixture *fixture = *state;
  g_autofree char *frames = in (fixture, "frames");
  g_autofree char *address = g_strconcat ("files:", frames, NULL);
  g_autofree char *calib = in (fixture, "copy.calib");
  g_autofree char *frame = g_build_filename (frames, pins[2], NULL);
  g_autofree char *bytes = NULL;
  gsize n = 0;
  assert_int_equal (g_mkdir (frames, 0700), 0);
  assert_true (g_file_get_contents (CALIB "pin-1.9998-3.jpg", &bytes, &n, NULL));
  assert_true (g_file_set_contents (frame, bytes, (gssize)n, NULL));
  g_clear_pointer (&bytes, g_free);
  assert_true (g_file_get_contents (CALIB "bench-2.calib", &bytes, &n, NULL));
  assert_true (g_file_set_contents (calib, bytes, (gssize)n, NULL));

  g_auto (Run) kept = run ("capture", "--camera", address, "--keep", "--bench", fixture->bench,
                           "--calib", calib, "--station", "Bench 3", NULL);
  assert_int_equal (kept.status, 0);
  check_told (fixture, "Bench 3: the calibration was never checked");
  g_auto (Run) passed =
    run ("verify", "--calib", calib, "--pin", "1.9998", CALIB "pin-1.9998-3.jpg", NULL);
  assert_int_equal (passed.status, 0);
  check_told (fixture, NULL);

  g_autofree char *text = NULL;
  assert_true (g_file_get_contents (fixture->bench, &text, NULL, NULL));
  g_autoptr (GString) often = g_string_new (text);
  assert_int_equal (g_string_replace (often, "every_hours=24", "every_hours=1e-9", 0), 1);
  assert_true (g_file_set_contents (fixture->bench, often->str, -1, NULL));
  check_told (fixture, "the morning check is due, the last passed on");

  g_auto (Run) failed =
    run ("verify", "--calib", calib, "--pin", "1.95", CALIB "pin-1.9998-3.jpg", NULL);
  assert_int_equal (failed.status, 1);
  check_told (fixture, "failed its check");
  g_unlink (frame);
  g_rmdir (frames);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (test_what_was_changed_since_calibrating, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_calibrating_by_mixed_pictures, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_bench_and_its_morning_check, set_up, tear_down),
    cmocka_unit_test_setup_teardown (test_capture_tells_of_the_check, set_up, tear_down),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
