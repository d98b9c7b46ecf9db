/*
 * The whole job on burnt edges in views that measure an outline: front-lit pictures rendered here,
 * with heat, paint, brown grounds or nothing on the edge; and silhouettes, whose records must stay
 * as they are.
 */
#include "base/testing.h"
#include "scene/blade.h"
#include "scene/heat.h"
#include "scene/profile.h"
#include "scene/relief.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>

#define FIRST_SEED 700
#define N_BLADES trial_scenes (16, 3)
#define RELIEF_SEED 8100

/* --- Pictures ---------------------------------------------------------------------- */

static TrialRun *
measured (const SceneImage *image, const char *view, double mm_per_px)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  assert_true (scene_image_save (image, path, 0));
  TrialRun *run = trial_measure_view (trial_program (), view, path, mm_per_px);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (run->record);
  return run;
}

/* As a form tool, by the profile of its card. */
static TrialRun *
measured_by_profile (const SceneImage *image, double mm_per_px)
{
  SceneProfile profile;
  scene_profile_fitting (&profile);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  g_autofree char *card = g_build_filename (folder, "form.tool", NULL);
  g_autofree char *nominal = g_build_filename (folder, "form.profile", NULL);
  g_autofree char *text = scene_profile_text (&profile);
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, mm_per_px);
  const char *const options[] = { "--tool", card, "--scale", scale, NULL };
  assert_true (scene_image_save (image, path, 0));
  assert_true (g_file_set_contents (nominal, text, -1, NULL));
  assert_true (g_file_set_contents (card,
                                    "[tool]\nid = QT-F-9999\nkind = form-tool\n"
                                    "nominal_profile = form.profile\n",
                                    -1, NULL));
  TrialRun *run = trial_measure_with (trial_program (), "form-plan", path, options);
  g_remove (path);
  g_remove (card);
  g_remove (nominal);
  g_rmdir (folder);
  assert_non_null (run->record);
  return run;
}

/* Front-lit, on a brighter ground, point or front up. */
static void
light_up (SceneCamera *camera, guint64 seed)
{
  scene_camera_init (camera);
  camera->width = 900;
  camera->height = 700;
  camera->colour = TRUE;
  camera->back = 0.8;
  camera->front = 0.3;
  camera->dust = 0;
  camera->seed = seed;
}

static SceneStain
stain_at (const SceneCamera *camera, double across)
{
  return (SceneStain){ .depth = 40.0,
                       .hottest = 0.8,
                       .column = (guint)(across * camera->width),
                       .radius = 90.0,
                       .tool = camera->front,
                       .ground = camera->back };
}

static SceneImage *
blade (SceneCamera *camera)
{
  SceneBladePlan plan;
  SceneBladePlanTruth truth;
  scene_blade_plan_init (&plan, 3.0);
  plan.seed = camera->seed;
  scene_aim_blade (camera, plan.width, 0.6);
  return scene_render_blade_plan (&plan, camera, &truth);
}

static SceneImage *
drill (SceneCamera *camera)
{
  SceneDrill solid;
  SceneTruth truth;
  scene_drill_init (&solid, 8.0);
  scene_camera_aim (camera, &solid, 0.6);
  return scene_render (&solid, camera, &truth);
}

static SceneImage *
form (SceneCamera *camera)
{
  SceneProfile profile;
  scene_profile_fitting (&profile);
  scene_profile_aim (&profile, camera, 0.6);
  return scene_render_profile (&profile, camera);
}

/* --- What records say ---------------------------------------------------------------- */

static gboolean
has_finding (const json_t *record, const char *code)
{
  gsize i;
  json_t *finding;
  json_array_foreach (json_object_get (record, "findings"), i, finding)
  {
    if (g_strcmp0 (json_string_value (json_object_get (finding, "code")), code) == 0)
      return TRUE;
  }
  return FALSE;
}

static json_t *
quantity_of (const json_t *record, const char *name)
{
  return json_object_get (json_object_get (record, "quantities"), name);
}

static gboolean
advises (const json_t *record, const char *words)
{
  gsize i;
  json_t *advice;
  json_array_foreach (json_object_get (record, "advice"), i, advice)
  {
    if (strstr (json_string_value (advice), words) != NULL)
      return TRUE;
  }
  return FALSE;
}

/* --- Tests --------------------------------------------------------------------------- */

static void
depth_on_blades_is_true (void **state)
{
  (void)state;
  double squares = 0, U_sum = 0;
  guint covered = 0;
  for (guint i = 0; i < N_BLADES; i++)
  {
    SceneCamera camera;
    SceneRng rng;
    light_up (&camera, FIRST_SEED + i);
    scene_rng_init (&rng, FIRST_SEED + i);
    camera.front = scene_rng_uniform (&rng, 0.15, 0.45);
    camera.blur_px = scene_rng_uniform (&rng, 0.6, 1.5);
    g_autoptr (SceneImage) image = blade (&camera);
    SceneStain stain = stain_at (&camera, scene_rng_uniform (&rng, 0.35, 0.65));
    stain.depth = scene_rng_uniform (&rng, 20.0, 60.0);
    stain.hottest = scene_rng_uniform (&rng, 0.35, 1.0);
    scene_stain (image, &stain);
    g_autoptr (TrialRun) run = measured (image, "blade-plan", camera.mm_per_px);
    const double value = trial_value (run->record, "burn_depth_max_mm") / camera.mm_per_px,
                 U = json_number_value (
                       json_object_get (quantity_of (run->record, "burn_depth_max_mm"), "U")) /
                     camera.mm_per_px;
    assert_near (value, stain.depth, 0.15 * stain.depth + 3);
    assert_string_equal (trial_text (run->record, "verdict"), "reject");
    squares += (value - stain.depth) * (value - stain.depth);
    covered += fabs (value - stain.depth) <= U;
    U_sum += U;
  }
  const double rms = sqrt (squares / N_BLADES);
  g_print ("burn depth on blades: RMS %.2f px, U %.2f px, covered %u of %u\n", rms,
           U_sum / N_BLADES, covered, N_BLADES);
  assert_true (covered >= N_BLADES - 1);
}

typedef SceneImage *(*Render) (SceneCamera *camera);

typedef struct
{
  const char *view;
  Render render;
  double across; /* where the stain is, part of the picture's width */
} Case;

/* On lip a, which is the left one; in the middle of the front; on the profile's line. */
static const Case cases[] = {
  { "drill-side", drill, 0.36 },
  { "blade-plan", blade, 0.5 },
  { "form-plan", form, 0.5 },
};

static void
burnt_edges_are_rejected_in_every_view (void **state)
{
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    SceneCamera camera;
    light_up (&camera, FIRST_SEED);
    g_autoptr (SceneImage) image = cases[i].render (&camera);
    const SceneStain stain = stain_at (&camera, cases[i].across);
    scene_stain (image, &stain);
    g_autoptr (TrialRun) run = cases[i].render == form
                                 ? measured_by_profile (image, camera.mm_per_px)
                                 : measured (image, cases[i].view, camera.mm_per_px);
    assert_string_equal (trial_text (run->record, "verdict"), "reject");
    assert_true (has_finding (run->record, "burn"));
    assert_true (advises (run->record, "Burnt edge"));
    assert_true (trial_value (run->record, "burn_area_share") > 0.02);
    /* From the side flanks are foreshortened. */
    assert_int_equal (quantity_of (run->record, "burn_depth_max_mm") != NULL, i > 0);
  }
}

/* Without its profile nothing tells a form tool from a wallpaper's swirls. */
static void
colours_on_an_unknown_outline_judge_nothing (void **state)
{
  (void)state;
  SceneCamera camera;
  light_up (&camera, FIRST_SEED);
  g_autoptr (SceneImage) image = form (&camera);
  const SceneStain stain = stain_at (&camera, 0.5);
  scene_stain (image, &stain);
  g_autoptr (TrialRun) run = measured (image, "form-plan", camera.mm_per_px);
  assert_true (has_finding (run->record, "burn"));
  assert_true (trial_value (run->record, "burn_area_share") > 0.02);
  assert_string_equal (trial_text (run->record, "verdict"), "undecided");
  assert_string_equal (trial_text (run->record, "reason"), "not-judged");
}

static void
clean_edges_have_no_burn (void **state)
{
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    SceneCamera camera;
    light_up (&camera, FIRST_SEED);
    camera.tint[0] = 1.1; /* a warm lamp */
    camera.tint[2] = 0.85;
    g_autoptr (SceneImage) image = cases[i].render (&camera);
    g_autoptr (TrialRun) run = measured (image, cases[i].view, camera.mm_per_px);
    assert_near (trial_value (run->record, "burn_area_share"), 0, 0);
    assert_false (has_finding (run->record, "burn"));
    assert_false (has_finding (run->record, "burn-unjudged"));
  }
}

static void
paint_is_no_burn (void **state)
{
  (void)state;
  static const double paints[][3] = { { 0.15, 0.4, 0.9 }, { 0.9, 0.7, 0.15 }, { 0.8, 0.15, 0.1 } };
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    for (guint k = 0; k < trial_scenes (G_N_ELEMENTS (paints), 1); k++)
    {
      SceneCamera camera;
      light_up (&camera, FIRST_SEED);
      g_autoptr (SceneImage) image = cases[i].render (&camera);
      SceneStain stain = stain_at (&camera, cases[i].across);
      stain.hottest = 0;
      memcpy (stain.tint, paints[k], sizeof stain.tint);
      scene_stain (image, &stain);
      g_autoptr (TrialRun) run = measured (image, cases[i].view, camera.mm_per_px);
      assert_false (has_finding (run->record, "burn"));
      assert_true (isnan (trial_value (run->record, "burn_area_share")));
    }
}

/* A lip's heat shows on the margin below its corner. */
static void
burnt_corners_are_seen_beside_the_relief (void **state)
{
  (void)state;
  for (guint i = 0; i < 2; i++)
  {
    SceneDrill solid;
    SceneRelief relief;
    scene_random_relief (RELIEF_SEED, &solid, &relief);
    relief.colour = TRUE;
    relief.burn = i == 0 ? 0.0 : 0.1 * solid.diameter;
    g_autoptr (SceneImage) image = scene_render_relief (&solid, &relief);
    g_autoptr (TrialRun) run = measured (image, "drill-relief", relief.mm_per_px);
    assert_false (trial_is_retake (run));
    assert_int_equal (has_finding (run->record, "burn"), i);
    assert_int_equal (trial_value (run->record, "burn_area_share") > 0, i);
    assert_null (quantity_of (run->record, "burn_depth_max_mm"));
  }
}

/* A dark tool before a bright panel, and a grey picture stored in three channels. */
static void
silhouettes_stay_as_they_are (void **state)
{
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
    for (guint grey = 0; grey < 2; grey++)
    {
      SceneCamera camera;
      light_up (&camera, FIRST_SEED);
      camera.front = grey ? 0.3 : 0.01;
      g_autoptr (SceneImage) image = cases[i].render (&camera);
      guint8 *data = image->data;
      for (gsize k = 0; grey && k < 3 * (gsize)image->width * image->height; k++)
        data[k] = data[k - k % 3];
      g_autoptr (TrialRun) run = measured (image, cases[i].view, camera.mm_per_px);
      assert_false (trial_is_retake (run));
      assert_null (quantity_of (run->record, "burn_area_share"));
      assert_false (has_finding (run->record, "burn-unjudged"));
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
    cmocka_unit_test (depth_on_blades_is_true),
    cmocka_unit_test (burnt_edges_are_rejected_in_every_view),
    cmocka_unit_test (colours_on_an_unknown_outline_judge_nothing),
    cmocka_unit_test (clean_edges_have_no_burn),
    cmocka_unit_test (paint_is_no_burn),
    cmocka_unit_test (burnt_corners_are_seen_beside_the_relief),
    cmocka_unit_test (silhouettes_stay_as_they_are),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
