/*
 * The whole job on drills with something proud of their lips: wire edges, torn and rolled over,
 * drops, fragments, hairs.  Whatever is hidden, no number is outside of its U.
 */
#include "base/testing.h"
#include "scene/scene.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <string.h>

#define FIRST_SEED 7001
#define N_SCENES trial_sample (60, 3, 1)

/* A burr lower than this, px, hardly shows and isn't found (docs/methods/drill.md). */
#define LEAST_PX 0.3

/* About twice what is achieved, of few scenes: RMS in degrees or parts of the diameter. */
static const TrialGate gates[] = {
  { TRIAL_POINT_ANGLE, 0.0600, 9, 0, 0 },
  { TRIAL_HALF_ANGLE_A, 0.0500, 9, 0, 0 },
  { TRIAL_HALF_ANGLE_B, 0.0500, 9, 0, 0 },
  { TRIAL_HALF_ANGLE_DIFFERENCE, 0.0600, 9, 0, 0 },
  { TRIAL_LIP_LENGTH_A, 0.0005, 9, 0, 0 },
  { TRIAL_LIP_LENGTH_B, 0.0005, 9, 0, 0 },
  { TRIAL_LIP_LENGTH_DIFFERENCE, 0.0006, 9, 0, 0 },
  { TRIAL_LIP_HEIGHT_DIFFERENCE, 0.0006, 9, 0, 0 },
  { TRIAL_POINT_OFFSET, 0.0005, 9, 0, 0 },
  { TRIAL_DIAMETER, 0.0003, 9, 0, 0 },
  { TRIAL_POINT_LENGTH, 0.0006, 9, 0, 0 },
  { TRIAL_CORNER_WEAR_A, 0.0010, 9, 0, 0 },
  { TRIAL_CORNER_WEAR_B, 0.0010, 9, 0, 0 },
  { TRIAL_LIP_STRAIGHTNESS_A, 0.0004, 9, 0, 0.9 },
  { TRIAL_LIP_STRAIGHTNESS_B, 0.0004, 9, 0, 0.9 },
  { TRIAL_CHISEL_FLAT, 0.0120, 9, 0, 0 },
  { TRIAL_VIEW_TURN, 2.0000, 9, 0, 0 },
};

typedef struct
{
  TrialRun *run;
  json_t *truth;
  double highest; /* burr, px */
  double burrs[2];
  double mm_per_px;
} Measured;

static Measured
measure_scene (const char *kind, guint64 seed)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  SceneDirt dirt[SCENE_MAX_DIRT];
  gsize n;
  assert_true (scene_random_proud (seed, kind, &drill, &camera, dirt, &n));
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  g_autoptr (SceneImage) image = scene_render_dirty (&drill, &camera, dirt, n, &truth);
  assert_true (scene_image_save (image, path, 0));
  g_autofree char *json = scene_truth_json (path, kind, seed, &drill, &camera, &truth);
  Measured shot = { .run = trial_measure (trial_program (), path, camera.mm_per_px) };
  json_t *line = json_loads (json, 0, NULL);
  shot.truth = json_incref (json_object_get (line, "truth"));
  json_decref (line);
  shot.mm_per_px = camera.mm_per_px;
  shot.burrs[0] = truth.burr_height_a_mm / camera.mm_per_px;
  shot.burrs[1] = truth.burr_height_b_mm / camera.mm_per_px;
  shot.highest = MAX (shot.burrs[0], shot.burrs[1]);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (shot.run->record);
  return shot;
}

static gboolean
is_told (const json_t *record)
{
  gsize i;
  json_t *finding;
  json_array_foreach (json_object_get (record, "findings"), i, finding)
  {
    const char *code = trial_text (finding, "code");
    if (g_strcmp0 (code, "wire-edge") == 0 || g_strcmp0 (code, "dirt") == 0)
      return TRUE;
  }
  return FALSE;
}

typedef struct
{
  guint measured, scenes, high, told;
  guint burrs, inside_u, heights; /* that could be known, inside U, known */
} Counts;

static double
part_of (const json_t *record, const char *quantity, const char *part)
{
  const json_t *number =
    json_object_get (json_object_get (json_object_get (record, "quantities"), quantity), part);
  return json_is_number (number) ? json_number_value (number) : NAN;
}

/* A height is told to a fifth and a px, none is invented, and what isn't told is lower than the
 * smallest that would be seen. */
static void
look_at_heights (const char *kind, guint64 seed, const Measured *shot, Counts *counts)
{
  static const char *const names[2] = { "burr_height_a_mm", "burr_height_b_mm" };
  for (guint k = 0; k < 2 && !trial_is_retake (shot->run); k++)
  {
    const json_t *record = shot->run->record;
    const double height = trial_value (record, names[k]) / shot->mm_per_px,
                 U = part_of (record, names[k], "U") / shot->mm_per_px,
                 least = part_of (record, names[k], "smallest_seen") / shot->mm_per_px;
    counts->burrs += shot->burrs[k] > 0 ? 1 : 0;
    if (isnan (height))
      continue;
    const gboolean is_wrong = height > 0 ? !(shot->burrs[k] > 0) || fabs (height - shot->burrs[k]) >
                                                                      0.2 * shot->burrs[k] + 1
                                         : shot->burrs[k] > least;
    if (is_wrong)
      fail_msg ("%s %" G_GUINT64_FORMAT ": a burr of %.2f px told as %.2f px", kind, seed,
                shot->burrs[k], height);
    counts->heights += shot->burrs[k] > 0 ? 1 : 0;
    counts->inside_u += shot->burrs[k] > 0 && fabs (height - shot->burrs[k]) <= U ? 1 : 0;
  }
}

static void
look_at (const char *kind, TrialTable *table, Counts *counts)
{
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SCENES; seed++)
  {
    Measured shot = measure_scene (kind, seed);
    const gboolean shows = !(shot.highest > 0.0 && shot.highest < LEAST_PX);
    counts->scenes += shows ? 1 : 0;
    if (shows && !trial_is_retake (shot.run))
    {
      trial_table_add (table, shot.run->record, shot.truth);
      counts->measured += isfinite (trial_value (shot.run->record, "point_angle_deg")) ? 1 : 0;
      counts->high += shot.highest > 1.5 ? 1 : 0;
      counts->told += shot.highest > 1.5 && is_told (shot.run->record) ? 1 : 0;
    }
    if (!g_str_equal (kind, "film") && !g_str_equal (kind, "hair"))
      look_at_heights (kind, seed, &shot, counts);
    json_decref (shot.truth);
    trial_run_free (shot.run);
  }
}

static void
wire_edges_do_not_move_the_numbers (void **state)
{
  (void)state;
  static const char *const kinds[] = { "wire", "ragged", "rolled", "both", "corner", "tip" };
  g_autoptr (TrialTable) table = trial_table_new ();
  Counts counts = { 0 };
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    look_at (kinds[i], table, &counts);
  g_print ("wire edges: %u of %u measured; told of %u in %u higher than 1.5 px\n", counts.measured,
           counts.scenes, counts.told, counts.high);
  assert_true (trial_gates_hold ("wire edges", table, gates, G_N_ELEMENTS (gates)));
  g_print ("heights: %u of %u known, %u inside U\n", counts.heights, counts.burrs, counts.inside_u);
  assert_true (100 * counts.inside_u >= 95 * counts.heights || trial_few_scenes ());
  if (trial_few_scenes ())
    return;
  assert_true (10 * counts.heights >= 8 * counts.burrs);
  assert_true (10 * counts.measured >= 6 * counts.scenes);
  assert_true (10 * counts.told >= 9 * counts.high);
}

static void
dirt_does_not_move_the_numbers (void **state)
{
  (void)state;
  static const char *const kinds[] = { "drop-corner", "drop-lip", "drop-tip", "drop-body",
                                       "fragment",    "hair",     "film" };
  g_autoptr (TrialTable) table = trial_table_new ();
  Counts counts = { 0 };
  for (gsize i = 0; i < G_N_ELEMENTS (kinds); i++)
    look_at (kinds[i], table, &counts);
  g_print ("dirt: %u of %u measured\n", counts.measured, counts.scenes);
  assert_true (trial_gates_hold ("dirt", table, gates, G_N_ELEMENTS (gates)));
}

/* A chip might be under it. */
static void
a_lip_under_a_drop_has_no_chip_depth (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneCamera camera;
  scene_random (FIRST_SEED, SCENE_GOOD, &drill, &camera);
  const SceneDirt drop = { .kind = SCENE_DROP,
                           .place = SCENE_AT_LIP,
                           .side = 1,
                           .along = 0.55,
                           .size = 0.1 * 0.5 * drill.diameter,
                           .opacity = 1.0 };
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  g_autoptr (SceneImage) image = scene_render_dirty (&drill, &camera, &drop, 1, NULL);
  assert_true (scene_image_save (image, path, 0));
  g_autoptr (TrialRun) run = trial_measure (trial_program (), path, camera.mm_per_px);
  g_remove (path);
  g_rmdir (folder);
  assert_true (isnan (trial_value (run->record, "chip_depth_b_mm")));
  assert_true (is_told (run->record));
  assert_true (trial_is_retake (run) || isfinite (trial_value (run->record, "chip_depth_a_mm")));
}

/* A drop whose foot on the lip lies clear of the tip still hangs over the chisel edge. */
static void
a_drop_beside_the_tip_hides_it (void **state)
{
  (void)state;
  static const struct
  {
    double along, size, proud; /* radii; of the diameter */
  } drops[] = {
    { 0.24, 0.12, 0.0 }, { 0.32, 0.12, 0.02 }, { 0.36, 0.12, 0.04 }, { 0.32, 0.17, 0.0 }
  };
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (drops); i++)
  {
    SceneDrill drill;
    SceneCamera camera;
    SceneTruth truth;
    scene_random (FIRST_SEED, SCENE_GOOD, &drill, &camera);
    const SceneDirt drop = { .kind = SCENE_DROP,
                             .place = SCENE_AT_LIP,
                             .side = 1,
                             .along = drops[i].along,
                             .size = drops[i].size * 0.5 * drill.diameter,
                             .proud = drops[i].proud * drill.diameter,
                             .opacity = 1.0 };
    g_autoptr (SceneImage) image = scene_render_dirty (&drill, &camera, &drop, 1, &truth);
    assert_true (scene_image_save (image, path, 0));
    g_autoptr (TrialRun) run = trial_measure (trial_program (), path, camera.mm_per_px);
    const double length = trial_value (run->record, "point_length_mm"),
                 U = part_of (run->record, "point_length_mm", "U");
    g_remove (path);
    if (!trial_is_retake (run) && fabs (length - truth.point_length_mm) > U)
      fail_msg ("at %g of the radius: %g +- %g mm, in truth %g", drops[i].along, length, U,
                truth.point_length_mm);
  }
  g_rmdir (folder);
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
    cmocka_unit_test (wire_edges_do_not_move_the_numbers),
    cmocka_unit_test (dirt_does_not_move_the_numbers),
    cmocka_unit_test (a_drop_beside_the_tip_hides_it),
    cmocka_unit_test (a_lip_under_a_drop_has_no_chip_depth),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
