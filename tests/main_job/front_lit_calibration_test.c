/*
 * Front-lit views measured through a calibration, end to end: pictures rendered here, then drawn as
 * a lens with distortion would, and calibrations that are off by a draw from their own covariance
 * (trial/camera.h).
 */
#include "base/testing.h"
#include "scene/flank.h"
#include "scene/lens.h"
#include "trial/camera.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>

#define FIRST_SEED 9702

/* So far the lens moves the corners of the picture. */
#define MOST_SHIFT_PX 60.0

typedef struct
{
  char *folder, *picture, *calibration;
} Files;

static int
make_files (void **state)
{
  Files *files = g_new0 (Files, 1);
  files->folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  files->picture = g_build_filename (files->folder, "tool.png", NULL);
  files->calibration = g_build_filename (files->folder, "bench-3.calib", NULL);
  *state = files;
  return files->folder == NULL ? -1 : 0;
}

static int
remove_files (void **state)
{
  Files *files = *state;
  g_unlink (files->picture);
  g_unlink (files->calibration);
  g_rmdir (files->folder);
  g_free (files->picture);
  g_free (files->calibration);
  g_free (files->folder);
  g_free (files);
  return 0;
}

/* A camera some way off, whose barrel or pincushion moves the picture's corners. */
static SceneCamera
camera_of (const SceneLamp *lamp, double sign)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.width = lamp->width;
  camera.height = lamp->height;
  camera.mm_per_px = lamp->mm_per_px;
  camera.distance_mm = 1200.0 * lamp->mm_per_px / 0.01;
  const double f = camera.distance_mm / camera.mm_per_px,
               corner = 0.5 * hypot (camera.width, camera.height) / f;
  camera.k1 = sign * MOST_SHIFT_PX / (f * pow (corner, 3.0));
  return camera;
}

static guint8
between (const SceneImage *image, ScenePoint at, guint c)
{
  const double x = CLAMP (at.x, 0.0, image->width - 1.001),
               y = CLAMP (at.y, 0.0, image->height - 1.001);
  const guint i = (guint)x, j = (guint)y;
  const double u = x - i, v = y - j;
  const guint8 *p = image->data + 3 * ((gsize)j * image->width + i) + c;
  const gsize row = 3 * (gsize)image->width;
  return (guint8)lrint ((1 - v) * ((1 - u) * p[0] + u * p[3]) +
                        v * ((1 - u) * p[row] + u * p[row + 3]));
}

/* The ideal picture as the lens shows it. */
static SceneImage *
distorted (const SceneImage *ideal, const SceneCamera *camera)
{
  SceneImage *seen = g_new (SceneImage, 1);
  *seen = *ideal;
  seen->data = g_malloc (3 * (gsize)ideal->width * ideal->height);
  for (guint y = 0; y < ideal->height; y++)
    for (guint x = 0; x < ideal->width; x++)
    {
      ScenePoint from = { x, y };
      for (int i = 0; i < 12; i++)
      {
        const ScenePoint at = lens_distort (camera, from);
        from.x += x - at.x;
        from.y += y - at.y;
      }
      for (guint c = 0; c < 3; c++)
        seen->data[3 * ((gsize)y * ideal->width + x) + c] = between (ideal, from, c);
    }
  return seen;
}

/* The caller owns the result. */
static TrialRun *
measured (const Files *files, SceneImage *ideal, const SceneCamera *camera, guint64 seed,
          const char *view)
{
  const char *const options[] = { "--calib", files->calibration, NULL };
  g_autoptr (SceneImage) seen = distorted (ideal, camera);
  scene_image_free (ideal);
  assert_true (scene_image_save (seen, files->picture, 0));
  assert_true (trial_calibration_save (camera, seed, files->calibration));
  TrialRun *run = trial_measure_with (trial_program (), view, files->picture, options);
  assert_non_null (run->record);
  assert_false (trial_is_retake (run));
  return run;
}

static void
check (const json_t *record, const char *name, double truth, double tolerance)
{
  const json_t *entry = json_object_get (json_object_get (record, "quantities"), name);
  const double U = json_number_value (json_object_get (entry, "U")),
               value = trial_value (record, name);
  g_print ("%s: %.4f, truth %.4f, U %.4f\n", name, value, truth, U);
  assert_near (value, truth, tolerance);
  assert_near (value, truth, U);
}

static void
faces_are_measured_through_a_calibration (void **state)
{
  for (guint i = 0; i < 2; i++)
  {
    SceneFace face;
    scene_random_face (FIRST_SEED + 6 * i, &face); /* with heat and a land */
    const SceneCamera camera = camera_of (&face.lamp, i == 0 ? -1 : 1);
    g_autoptr (TrialRun) run =
      measured (*state, scene_render_face (&face), &camera, FIRST_SEED + i, "blade-face");
    const double truth = scene_heat_greatest (&face.heat, face.lamp.seed);
    check (run->record, "burn_depth_max_mm", truth, 0.15 * truth + 3 * camera.mm_per_px);
    const double land = scene_face_land_mean (&face);
    check (run->record, "wear_land_mean_mm", land, 0.1 * land + 1.5 * camera.mm_per_px);
  }
}

static void
drill_ends_are_measured_through_a_calibration (void **state)
{
  for (guint i = 0; i < 2; i++)
  {
    SceneEnd end;
    scene_random_end (FIRST_SEED + i, &end);
    const SceneCamera camera = camera_of (&end.lamp, i == 0 ? -1 : 1);
    g_autoptr (TrialRun) run =
      measured (*state, scene_render_end (&end), &camera, FIRST_SEED + i, "drill-end");
    check (run->record, "chisel_edge_angle_deg", end.chisel_deg, 0.7);
    /* The scene is flat, where a point's middle stands nearer to the camera: that is undone. */
    const double nearer = 0.5 * end.diameter / tan (59 * G_PI / 180) / camera.distance_mm;
    check (run->record, "web_thickness_mm", end.web / (1 + nearer), 0.02 * end.web);
  }
}

int
main (void)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test_setup_teardown (faces_are_measured_through_a_calibration, make_files,
                                     remove_files),
    cmocka_unit_test_setup_teardown (drill_ends_are_measured_through_a_calibration, make_files,
                                     remove_files),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
