/*
 * Outlines of tools lit from the front, by the real program: rendered drills with bands and streaks
 * of light, before grey and light grounds, beside cards and pins; and reference pictures.
 */
#include "base/testing.h"
#include "scene/scene.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>

/* Not those that anything was set by. */
#define FIRST_SEED 7000
#define N_SCENES trial_scenes (12, 3)

/* Bands of light pass the ground's level in some: those may be refused. */
#define MIN_MEASURED (N_SCENES / 2)

#define MIN_WITHIN 0.9
#define MAX_OVER 2.5 /* times U */

/* Adds the picture's quantities to `within` and `all`. */
static void
compare (const json_t *record, const json_t *truth, guint *within, guint *all)
{
  const char *name;
  json_t *value;
  json_object_foreach ((json_t *)truth, name, value)
  {
    const json_t *entry = json_object_get (json_object_get (record, "quantities"), name);
    const json_t *found = json_object_get (entry, "value");
    if (!json_is_number (value) || !json_is_number (found))
      continue;
    const double error = fabs (json_number_value (found) - json_number_value (value));
    const double U = json_number_value (json_object_get (entry, "U"));
    (*all)++;
    *within += error <= U;
    if (g_str_equal (name, "point_angle_deg"))
      assert_true (error <= MAX_OVER * U);
  }
}

static void
front_lit_drills_are_within_their_uncertainty (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-lit-XXXXXX", NULL);
  g_autofree char *picture = g_build_filename (folder, "drill.png", NULL);
  guint measured = 0, within = 0, all = 0;
  for (guint i = 0; i < N_SCENES; i++)
  {
    SceneDrill drill;
    SceneCamera camera;
    SceneTruth truth;
    scene_random (FIRST_SEED + i, (SceneMode)(i % SCENE_CHIP), &drill, &camera);
    scene_random_front_light (FIRST_SEED + i, &camera);
    g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
    assert_true (scene_image_save (image, picture, 0));
    g_autofree char *line =
      scene_truth_json ("drill.png", "lit", FIRST_SEED + i, &drill, &camera, &truth);
    json_t *whole = json_loads (line, 0, NULL);
    g_autoptr (TrialRun) run = trial_measure (trial_program (), picture, camera.mm_per_px);
    if (!trial_is_retake (run))
    {
      measured++;
      compare (run->record, json_object_get (whole, "truth"), &within, &all);
    }
    json_decref (whole);
  }
  g_unlink (picture);
  g_rmdir (folder);
  g_print ("%u of %u measured, %u of %u quantities within U\n", measured, N_SCENES, within, all);
  assert_true (measured >= MIN_MEASURED);
  assert_true (within >= MIN_WITHIN * all);
}

/* NULL, having said so, when the pictures aren't there. */
static TrialRun *
measure_reference (const char *view, const char *name, double mm_per_px)
{
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/front-lit");
  if (folder == NULL)
    return NULL;
  g_autofree char *picture = g_build_filename (folder, name, NULL);
  return trial_measure_view (trial_program (), view, picture, mm_per_px);
}

/* A form tool on grey beside a colour card: its profile has an arc of 2.5 mm, which the card has
 * not. */
static void
a_card_beside_a_form_tool_is_not_measured (void **state)
{
  (void)state;
  g_autoptr (TrialRun) run = measure_reference ("form-plan", "form_top_04.png", 0.0165);
  if (run == NULL)
    skip ();
  if (!trial_is_retake (run))
    assert_near (trial_value (run->record, "segment_3_radius_mm"), 2.5, 0.05);
}

/* Through cameras at 190 to 300 mm: perspective leaves the sum of the half angles alone. */
static void
front_lit_points_have_their_angle (void **state)
{
  (void)state;
  const struct
  {
    const char *name;
    double mm_per_px, point_angle;
  } drills[] = { { "drill_side_07.png", 0.0055, 118.0 },
                 { "drill_side_05.jpg", 0.015, 90.0 },
                 { "drill_side_12.png", 0.021, 118.0 },
                 { "drill_side_17.png", 0.017, 118.0 },
                 { "drill_side_19.png", 0.018, 118.0 } };
  for (gsize i = 0; i < G_N_ELEMENTS (drills); i++)
  {
    g_autoptr (TrialRun) run =
      measure_reference ("drill-side", drills[i].name, drills[i].mm_per_px);
    if (run == NULL)
      skip ();
    assert_false (trial_is_retake (run));
    assert_near (trial_value (run->record, "point_angle_deg"), drills[i].point_angle, 0.25);
  }
}

static void
what_must_be_refused_is (void **state)
{
  (void)state;
  const char *const names[] = { "trap_01_defocus.jpg", "trap_02_cut_off.jpg",
                                "trap_03_two_tools.jpg", "trap_05_overexposed.jpg",
                                "trap_06_empty.jpg" };
  for (gsize i = 0; i < G_N_ELEMENTS (names); i++)
  {
    g_autoptr (TrialRun) run = measure_reference ("drill-side", names[i], 0.018);
    if (run == NULL)
      skip ();
    g_autofree char *wrong = trial_check_retake (run, NULL);
    assert_null (wrong);
  }
}

int
main (int argc, char **argv)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (front_lit_drills_are_within_their_uncertainty),
  };
  const struct CMUnitTest references[] = {
    cmocka_unit_test (a_card_beside_a_form_tool_is_not_measured),
    cmocka_unit_test (front_lit_points_have_their_angle),
    cmocka_unit_test (what_must_be_refused_is),
  };
  return argc > 1 && strcmp (argv[1], "references") == 0
           ? cmocka_run_group_tests (references, NULL, NULL)
           : cmocka_run_group_tests (tests, NULL, NULL);
}
