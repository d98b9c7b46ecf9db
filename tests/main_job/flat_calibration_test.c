/*
 * Flat tools, form tools and cutoff blades, measured through a calibration, end to end: near
 * cameras with distortion, and calibrations that are off by a draw from their own covariance
 * (trial/camera.h).
 */
#include "base/testing.h"
#include "scene/blade.h"
#include "scene/profile.h"
#include "trial/camera.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>

/* Not those that anything was set by. */
#define FIRST_SEED 9500
#define N_SEEDS trial_scenes (12, 3)

typedef struct
{
  char *folder, *picture, *calibration, *card, *profile;
} Files;

static int
make_files (void **state)
{
  Files *files = g_new0 (Files, 1);
  files->folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  files->picture = g_build_filename (files->folder, "tool.png", NULL);
  files->calibration = g_build_filename (files->folder, "bench-2.calib", NULL);
  files->card = g_build_filename (files->folder, "form.tool", NULL);
  files->profile = g_build_filename (files->folder, "form.profile", NULL);
  *state = files;
  return files->folder == NULL ? -1 : 0;
}

static int
remove_files (void **state)
{
  Files *files = *state;
  char *const paths[] = { files->picture, files->calibration, files->card, files->profile };
  for (gsize i = 0; i < G_N_ELEMENTS (paths); i++)
  {
    g_unlink (paths[i]);
    g_free (paths[i]);
  }
  g_rmdir (files->folder);
  g_free (files->folder);
  g_free (files);
  return 0;
}

static TrialRun *
measure (const Files *files, const char *view, gboolean with_card)
{
  const char *const options[] = { "--calib", files->calibration, with_card ? "--tool" : NULL,
                                  files->card, NULL };
  return trial_measure_with (trial_program (), view, files->picture, options);
}

static double
field (const json_t *record, const char *quantity, const char *key)
{
  const json_t *entry = json_object_get (json_object_get (record, "quantities"), quantity);
  const json_t *value = json_object_get (entry, key);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

/* About 1.5 times what is achieved: RMS in degrees or parts of the radius, deviations in px. */
static const TrialGate segment_gates[] = {
  { TRIAL_SEGMENT_ANGLE, 0.011, 0, 0, 0 },
  { TRIAL_SEGMENT_RADIUS, 0.0012, 0, 0, 0 },
};

static const TrialGate deviation_gates[] = {
  { TRIAL_SEGMENT_DEVIATION, 0.034, 0, 0, 0 },
};

static const TrialGate blade_gates[] = {
  { TRIAL_SIDE_RAKE, 0.0039, 0, 0, 0 },
  { TRIAL_SIDE_CLEARANCE_MEAN, 0.0086, 0, 0, 0 },
  { TRIAL_EDGE_WIDTH, 0.00026, 0, 0, 0 },
  { TRIAL_LEADING_CORNER_ADVANCE, 0.000095, 0, 0, 0 },
  { TRIAL_CORNER_RADIUS_LEFT, 0.0038, 0, 0, 0 },
  { TRIAL_CORNER_RADIUS_RIGHT, 0.0041, 0, 0, 0 },
  { TRIAL_EDGE_STRAIGHTNESS, 0.00055, 0, 0, 0 },
  { TRIAL_BLADE_CHIP_DEPTH, 0.00039, 0, 0, 0 },
  { TRIAL_FRONT_RELIEF, 0.011, 0, 0, 0 },
  { TRIAL_TOP_RAKE, 0.017, 0, 0, 0 },
  { TRIAL_TIP_HEIGHT, 0.00027, 0, 0, 0 },
};

/* ---- Form tools --------------------------------------------------------------------------- */

/* What segment `i` is by truth: its direction in the picture (deg, -90 to 90) or radius (mm). */
typedef struct
{
  gboolean is_arc;
  double value;
} Truth;

static Truth
truth_of (const SceneProfile *profile, guint i, double roll_deg)
{
  const ScenePoint from = i == 0 ? profile->start : profile->segments[i - 1].to;
  const SceneSegment *s = &profile->segments[i];
  const double dx = s->to.x - from.x, dy = s->to.y - from.y;
  const double b = fabs (s->bulge);
  if (b > 0)
    return (Truth){ TRUE, hypot (dx, dy) * (1 + b * b) / (4 * b) };
  return (Truth){ FALSE, remainder (atan2 (dy, dx) * 180 / G_PI - roll_deg, 180) };
}

/* Of the record's segment `number`: value and U; FALSE when it is none of that kind. */
static gboolean
told (const json_t *record, guint number, gboolean is_arc, double *value, double *U)
{
  g_autofree char *name =
    g_strdup_printf (is_arc ? "segment_%u_radius_mm" : "segment_%u_angle_deg", number);
  *value = field (record, name, "value");
  *U = field (record, name, "U");
  return isfinite (*value);
}

static double
error_of (double value, const Truth *truth)
{
  return truth->is_arc ? (value - truth->value) / truth->value
                       : remainder (value - truth->value, 180);
}

/* More than a profile and the bar's sides have. */
#define MOST_SEGMENTS 16

/* The record's next segment, from `number` on, that is this one; 0 where it is missing, being
 * parted or taken together with its neighbour. */
static guint
find_segment (const json_t *record, const Truth *truth, guint number)
{
  for (; number < MOST_SEGMENTS; number++)
  {
    double value, U;
    if (told (record, number, truth->is_arc, &value, &U) &&
        fabs (error_of (value, truth)) < (truth->is_arc ? 0.05 : 0.5))
      return number;
  }
  return 0;
}

static void
add_segments (const json_t *record, const SceneProfile *profile, double roll_deg, TrialTable *table)
{
  guint number = 0;
  for (guint i = 0; i < profile->n; i++)
  {
    const Truth truth = truth_of (profile, i, roll_deg);
    const guint found = find_segment (record, &truth, number + 1);
    double value, U;
    if (found == 0)
      continue;
    number = found;
    told (record, number, truth.is_arc, &value, &U);
    trial_table_add_error (table, truth.is_arc ? TRIAL_SEGMENT_RADIUS : TRIAL_SEGMENT_ANGLE,
                           error_of (value, &truth), truth.is_arc ? U / truth.value : U);
  }
}

static void
take_profile (const Files *files, guint64 seed, SceneProfile *profile, SceneCamera *camera)
{
  SceneRng rng;
  scene_rng_init (&rng, seed + 400000);
  scene_profile_random (seed, profile, camera);
  scene_random_lens (&rng, camera);
  g_autoptr (SceneImage) image = scene_render_profile (profile, camera);
  assert_true (scene_image_save (image, files->picture, 0));
  assert_true (trial_calibration_save (camera, seed, files->calibration));
}

static void
segments_of_form_tools (void **state)
{
  const Files *files = *state;
  g_autoptr (TrialTable) table = trial_table_new ();
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
  {
    SceneProfile profile;
    SceneCamera camera;
    take_profile (files, seed, &profile, &camera);
    g_autoptr (TrialRun) run = measure (files, "form-plan", FALSE);
    assert_false (trial_is_retake (run));
    add_segments (run->record, &profile, camera.roll_deg, table);
  }
  assert_true (trial_summary (table, TRIAL_SEGMENT_ANGLE).n >= 4 * N_SEEDS);
  assert_true (trial_summary (table, TRIAL_SEGMENT_RADIUS).n >= 2 * N_SEEDS);
  assert_true (trial_gates_hold ("segments", table, segment_gates, G_N_ELEMENTS (segment_gates)));
}

static void
deviations_of_form_tools (void **state)
{
  const Files *files = *state;
  g_autoptr (TrialTable) table = trial_table_new ();
  assert_true (g_file_set_contents (
    files->card, "[tool]\nid = QT-F-9999\nkind = form-tool\nnominal_profile = form.profile\n", -1,
    NULL));
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
  {
    SceneProfile profile;
    SceneCamera camera;
    take_profile (files, seed, &profile, &camera);
    g_autofree char *text = scene_profile_text (&profile);
    assert_true (g_file_set_contents (files->profile, text, -1, NULL));
    g_autoptr (TrialRun) run = measure (files, "form-plan", TRUE);
    assert_false (trial_is_retake (run));
    for (guint i = 1; i <= profile.n; i++)
    {
      g_autofree char *name = g_strdup_printf ("segment_%u_deviation_mm", i);
      const double value = field (run->record, name, "value");
      if (isfinite (value))
        trial_table_add_error (table, TRIAL_SEGMENT_DEVIATION, value / camera.mm_per_px,
                               field (run->record, name, "U") / camera.mm_per_px);
    }
  }
  assert_true (trial_summary (table, TRIAL_SEGMENT_DEVIATION).n >= 7 * N_SEEDS);
  assert_true (
    trial_gates_hold ("deviations", table, deviation_gates, G_N_ELEMENTS (deviation_gates)));
}

/* ---- Blades --------------------------------------------------------------------------------- */

typedef struct
{
  TrialTable *table;
  guint refused;
} Blades;

static void
take_blade (const Files *files, const SceneImage *image, const SceneCamera *camera, guint64 seed)
{
  assert_true (scene_image_save (image, files->picture, 0));
  assert_true (trial_calibration_save (camera, seed, files->calibration));
}

static void
add_blade (Blades *blades, const Files *files, const char *view, const char *line)
{
  json_t *json = json_loads (line, 0, NULL);
  g_autoptr (TrialRun) run = measure (files, view, FALSE);
  g_autofree char *wrong = trial_check_verdicts (run);
  assert_null (wrong);
  if (trial_is_retake (run))
  {
    g_print ("%s\n", trial_text (run->record, "detail"));
    blades->refused++;
  }
  else
    trial_table_add (blades->table, run->record, json_object_get (json, "truth"));
  json_decref (json);
}

static void
try_plan (Blades *blades, const Files *files, guint64 seed, SceneBladeMode mode)
{
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  SceneRng rng;
  scene_rng_init (&rng, seed + 500000);
  scene_random_blade_plan (seed, mode, &blade, &camera);
  scene_random_lens (&rng, &camera);
  g_autoptr (SceneImage) image = scene_render_blade_plan (&blade, &camera, &truth);
  take_blade (files, image, &camera, seed);
  g_autofree char *line = scene_blade_plan_json ("tool.png", "near", seed, &camera, &truth);
  add_blade (blades, files, "blade-plan", line);
}

static void
try_side (Blades *blades, const Files *files, guint64 seed, gboolean stepped)
{
  SceneBladeSide blade;
  SceneCamera camera;
  SceneBladeSideTruth truth;
  SceneRng rng;
  scene_rng_init (&rng, seed + 600000);
  if (stepped)
    scene_random_side_look (seed, SCENE_SIDE_STEPPED, &blade, &camera);
  else
    scene_random_blade_side (seed, SCENE_BLADE_GOOD, &blade, &camera);
  scene_random_lens (&rng, &camera);
  g_autoptr (SceneImage) image = scene_render_blade_side (&blade, &camera, &truth);
  take_blade (files, image, &camera, seed);
  g_autofree char *line = scene_blade_side_json ("tool.png", "near", seed, &camera, &truth);
  add_blade (blades, files, "blade-side", line);
}

static void
blades_by_near_cameras (void **state)
{
  const Files *files = *state;
  Blades blades = { trial_table_new (), 0 };
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
  {
    try_plan (&blades, files, seed, (SceneBladeMode)(seed % SCENE_BLADE_N_MODES));
    try_side (&blades, files, seed, seed % 2 == 0);
  }
  assert_int_equal (blades.refused, 0);
  assert_true (trial_gates_hold ("blades by near cameras", blades.table, blade_gates,
                                 G_N_ELEMENTS (blade_gates)));
  trial_table_free (blades.table);
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
    cmocka_unit_test (segments_of_form_tools),
    cmocka_unit_test (deviations_of_form_tools),
    cmocka_unit_test (blades_by_near_cameras),
  };
  return cmocka_run_group_tests_name ("flat tools through a calibration", tests, make_files,
                                      remove_files);
}
