/*
 * The scale from the tool's own size, end to end: drills and blades whose size a micrometer told
 * with its own error, which the program isn't told; U must cover what comes of it.
 */
#include "base/testing.h"
#include "scene/blade.h"
#include "scene/scene.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>

#define FIRST_SEED 7300
#define N_SEEDS trial_scenes (8, 1)

/* Large enough to be seen beside the picture's own share. */
#define U_MM 0.01

typedef struct
{
  guint n, covered, refused;
} Sum;

static char *folder, *picture;

static int
set_up (void **state)
{
  (void)state;
  folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  picture = g_build_filename (folder, "tool.png", NULL);
  return trial_program () == NULL;
}

static int
tear_down (void **state)
{
  (void)state;
  g_unlink (picture);
  g_rmdir (folder);
  g_free (picture);
  g_free (folder);
  return 0;
}

static TrialRun *
measure (const char *view, const char *option, double reading)
{
  char size[G_ASCII_DTOSTR_BUF_SIZE], u[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *u_option = g_strconcat (option, "-u", NULL);
  const char *const options[] = { option, g_ascii_dtostr (size, sizeof size, reading), u_option,
                                  g_ascii_dtostr (u, sizeof u, U_MM), NULL };
  return trial_measure_with (trial_program (), view, picture, options);
}

static double
member (const json_t *record, const char *group, const char *name)
{
  return json_number_value (json_object_get (json_object_get (record, group), name));
}

static void
check_scale (const json_t *record, double mm_per_px, double reading, Sum *sum)
{
  const double error = member (record, "scale", "mm_per_px") - mm_per_px;
  const double u = member (record, "scale", "u_mm_per_px");
  assert_near (member (record, "scale", "known_size_mm"), reading, 1e-8);
  assert_near (member (record, "scale", "u_known_size_mm"), U_MM, 1e-12);
  assert_true (u > 0);
  sum->n++;
  sum->covered += fabs (error) <= 2 * u;
}

/* Given, so neither measured nor judged. */
static void
check_given (const json_t *record, const char *name, double reading)
{
  const json_t *entry = json_object_get (json_object_get (record, "quantities"), name);
  assert_near (json_number_value (json_object_get (entry, "given")), reading, 1e-8);
  assert_true (json_is_null (json_object_get (entry, "value")));
  assert_true (json_is_null (json_object_get (entry, "verdict")));
}

static void
add_lengths (const json_t *record, const json_t *truth, TrialTable *table)
{
  static const TrialQuantity lengths[] = { TRIAL_LIP_LENGTH_A, TRIAL_LIP_LENGTH_B,
                                           TRIAL_LIP_HEIGHT_DIFFERENCE, TRIAL_POINT_OFFSET,
                                           TRIAL_POINT_LENGTH };
  for (guint i = 0; i < G_N_ELEMENTS (lengths); i++)
  {
    TrialError e;
    assert_true (trial_error (record, truth, lengths[i], &e));
    trial_table_add_error (table, lengths[i], e.error, e.U);
  }
}

static void
try_drill (guint64 seed, SceneMode mode, TrialTable *table, Sum *sum)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  SceneRng rng;
  scene_rng_init (&rng, seed);
  scene_random (seed, mode, &drill, &camera);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
  assert_true (scene_image_save (image, picture, 0));
  const double reading = drill.diameter + U_MM * scene_rng_normal (&rng);
  g_autoptr (TrialRun) run = measure ("drill-side", "--known-diameter", reading);
  if (trial_is_retake (run))
  {
    sum->refused++;
    return;
  }
  g_autofree char *line = scene_truth_json ("tool.png", "known", seed, &drill, &camera, &truth);
  json_t *json = json_loads (line, 0, NULL);
  check_given (run->record, "diameter_mm", reading);
  check_scale (run->record, camera.mm_per_px, reading, sum);
  add_lengths (run->record, json_object_get (json, "truth"), table);
  json_decref (json);
}

static void
assert_covered (const TrialTable *table, const Sum *sum)
{
  g_print ("scale: %u of %u covered, %u refused\n", sum->covered, sum->n, sum->refused);
  assert_true (sum->n > 0);
  assert_true (sum->refused <= sum->n / 10);
  if (trial_few_scenes ())
    return;
  assert_true (sum->covered >= 0.9 * sum->n);
  for (guint q = 0; table != NULL && q < TRIAL_N_QUANTITIES; q++)
  {
    const TrialSummary s = trial_summary (table, (TrialQuantity)q);
    if (s.n > 0)
      g_print ("%s: n %u, RMS %.5f, median U %.5f, covered %.3f\n",
               trial_quantity_name ((TrialQuantity)q), s.n, s.rms, s.median_U, s.coverage);
    assert_true (s.n == 0 || s.coverage >= 0.95);
  }
}

static void
drills_are_covered (void **state)
{
  (void)state;
  Sum sum = { 0 };
  g_autoptr (TrialTable) table = trial_table_new ();
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
    for (int mode = 0; mode < SCENE_N_MODES; mode++)
      try_drill (seed, (SceneMode)mode, table, &sum);
  assert_covered (table, &sum);
}

/* What flat anvils of a micrometer leave of the width between the theoretical corners. */
static double
touched (const SceneBladePlanTruth *truth)
{
  return truth->corner_radius_left_mm * tan (truth->side_clearance_left_deg * G_PI / 180) +
         truth->corner_radius_right_mm * tan (truth->side_clearance_right_deg * G_PI / 180);
}

static void
blades_are_covered (void **state)
{
  (void)state;
  Sum sum = { 0 };
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
    for (int mode = 0; mode < SCENE_BLADE_N_MODES; mode++)
    {
      SceneBladePlan blade;
      SceneCamera camera;
      SceneBladePlanTruth truth;
      SceneRng rng;
      scene_rng_init (&rng, seed);
      scene_random_blade_plan (seed, (SceneBladeMode)mode, &blade, &camera);
      g_autoptr (SceneImage) image = scene_render_blade_plan (&blade, &camera, &truth);
      assert_true (scene_image_save (image, picture, 0));
      const double reading =
        truth.edge_width_mm - touched (&truth) + U_MM * scene_rng_normal (&rng);
      g_autoptr (TrialRun) run = measure ("blade-plan", "--known-width", reading);
      if (trial_is_retake (run))
      {
        sum.refused++;
        continue;
      }
      check_given (run->record, "edge_width_mm", reading);
      check_scale (run->record, camera.mm_per_px, reading, &sum);
    }
  assert_covered (NULL, &sum);
}

/* Angles know nothing of the size, and the lens stays unknown. */
static void
angles_keep_the_unknown_lens (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneCamera camera;
  scene_random (FIRST_SEED, SCENE_GOOD, &drill, &camera);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  assert_true (scene_image_save (image, picture, 0));
  g_autoptr (TrialRun) run = measure ("drill-side", "--known-diameter", drill.diameter);
  g_autoptr (TrialRun) none = trial_measure (trial_program (), picture, (double)NAN);
  const json_t *with =
    json_object_get (json_object_get (run->record, "quantities"), "point_angle_deg");
  const json_t *without =
    json_object_get (json_object_get (none->record, "quantities"), "point_angle_deg");
  assert_near (json_number_value (json_object_get (with, "U")),
               json_number_value (json_object_get (without, "U")), 1e-6);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (drills_are_covered),
    cmocka_unit_test (blades_are_covered),
    cmocka_unit_test (angles_keep_the_unknown_lens),
  };
  return cmocka_run_group_tests (tests, set_up, tear_down);
}
