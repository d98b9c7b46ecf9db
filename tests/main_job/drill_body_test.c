/*
 * The whole job on `drill-body`: lengths of rendered bodies with known helix, and what shows none.
 */
#include "base/testing.h"
#include "scene/scene.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>

typedef struct
{
  double helix, share, turn;
} Body;

/* The caller owns the result. */
static TrialRun *
measure (const Body *body, const char *path, SceneDrill *drill)
{
  SceneCamera camera;
  scene_drill_init (drill, 8);
  drill->helix_deg = body->helix;
  scene_camera_init (&camera);
  camera.roll_deg = 86;
  scene_camera_aim (&camera, drill, body->share);
  camera.shot = 0.006;
  camera.turn_deg = body->turn;
  camera.tilt_deg = 0.3;
  g_autoptr (SceneImage) image = scene_render (drill, &camera, NULL);
  assert_true (scene_image_save (image, path, 0));
  TrialRun *run = trial_measure_view (trial_program (), "drill-body", path, camera.mm_per_px);
  g_remove (path);
  return run;
}

static void
assert_within (const TrialRun *run, const char *name, double truth)
{
  const json_t *quantity = json_object_get (json_object_get (run->record, "quantities"), name);
  const double value = trial_value (run->record, name);
  const double U = json_number_value (json_object_get (quantity, "U"));
  if (!(fabs (value - truth) <= U))
    fail_msg ("%s: %.5f, U %.5f, truth %.5f", name, value, U, truth);
}

/* A rib along the flutes' ground lies inside the silhouette. */
static void
assert_tells_what_it_cant (const TrialRun *run)
{
  const json_t *findings = json_object_get (run->record, "findings");
  const char *spiral = NULL;
  for (gsize i = 0; i < json_array_size (findings); i++)
    if (g_str_equal (trial_text (json_array_get (findings, i), "code"), "spiral"))
      spiral = trial_text (json_array_get (findings, i), "text");
  assert_non_null (spiral);
  assert_non_null (strstr (spiral, "a rib"));
}

static void
test_bodies_tell_their_helix (void **state)
{
  static const Body bodies[] = { { 30, 0.2, 40 }, { 37, 0.2, -70 }, { 15, 0.1, 10 } };
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "body.png", NULL);
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (bodies); i++)
  {
    SceneDrill drill;
    g_autoptr (TrialRun) run = measure (&bodies[i], path, &drill);
    if (trial_is_retake (run))
      fail_msg ("%g degrees: %s", bodies[i].helix, trial_text (run->record, "detail"));
    assert_within (run, "helix_deg", drill.helix_deg);
    assert_within (run, "lead_mm", G_PI * drill.diameter / tan (drill.helix_deg * G_PI / 180));
    assert_within (run, "diameter_mm", drill.diameter);
    assert_within (run, "body_clearance_mm", drill.clearance);
    assert_within (run, "body_straightness_mm", 0);
    assert_tells_what_it_cant (run);
  }
  /* Less than half a lead and its beginning. */
  const Body near = { 30, 0.38, 0 };
  SceneDrill drill;
  g_autoptr (TrialRun) run = measure (&near, path, &drill);
  g_autofree char *wrong = trial_check_retake (run, "wrong-view");
  if (wrong != NULL)
    fail_msg ("%s", wrong);
  g_rmdir (folder);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_bodies_tell_their_helix),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
