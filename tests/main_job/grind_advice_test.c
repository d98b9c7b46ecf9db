/*
 * Advice put to the proof: faulty tools are rendered and measured, ground by the numbers of the
 * record's `grinding`, rendered again as they then are, and measured again.  They must be good.
 *
 * WHETSIGHT_GRIND_SCENES=100 takes as many scenes of each fault, WHETSIGHT_GRIND_SEED=398 begins
 * with that one; figures are printed with WHETSIGHT_GATES=1.
 */
#include "base/testing.h"
#include "trial/gates.h"
#include "trial/ground.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdlib.h>

/* As in drill_side_test.c, clear of the seeds it takes. */
#define FIRST_SEED 300

/* Of those that were ground, so many in 100 must then be good. */
#define LEAST_GOOD 0.95

typedef struct
{
  guint n, ground, good;
  GString *bad; /* a line for each that isn't good when ground */
} Score;

typedef struct
{
  const char *view;
  const char *card; /* path */
  const char *picture;
  double mm_per_px;
} Shot;

static guint
n_scenes (void)
{
  const char *asked = g_getenv ("WHETSIGHT_GRIND_SCENES");
  return asked != NULL ? (guint)atoi (asked) : trial_scenes (4, 1);
}

static guint64
seed_of (guint i)
{
  const char *first = g_getenv ("WHETSIGHT_GRIND_SEED");
  return (first != NULL ? (guint64)atoi (first) : FIRST_SEED) + i;
}

static char *
in_folder (const char *folder, const char *name)
{
  return g_build_filename (folder, name, NULL);
}

static TrialRun *
measure (const Shot *shot, SceneImage *image)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE], u[G_ASCII_DTOSTR_BUF_SIZE];
  assert_true (scene_image_save (image, shot->picture, 0));
  const char *options[] = { "--tool",    shot->card,
                            "--scale",   g_ascii_dtostr (scale, sizeof scale, shot->mm_per_px),
                            "--scale-u", g_ascii_dtostr (u, sizeof u, 2e-4 * shot->mm_per_px),
                            NULL };
  TrialRun *run = trial_measure_with (trial_program (), shot->view, shot->picture, options);
  g_remove (shot->picture);
  return run;
}

/* "undecided; chip_depth_a_mm undecided, 0.012". */
static char *
what_is_bad (const TrialRun *run)
{
  GString *text =
    g_string_new (run->record != NULL ? trial_text (run->record, "verdict") : run->errors);
  const char *name;
  json_t *quantity;
  json_object_foreach (json_object_get (run->record, "quantities"), name, quantity)
  {
    const char *verdict = trial_text (quantity, "verdict");
    if (verdict != NULL && !g_str_equal (verdict, "accept"))
      g_string_append_printf (text, "; %s %s, %g", name, verdict, trial_value (run->record, name));
  }
  if (run->record != NULL && trial_text (run->record, "reason") != NULL)
    g_string_append_printf (text, "; %s", trial_text (run->record, "reason"));
  return g_string_free (text, FALSE);
}

/* `left`: of the damage, mm; none may be left, though limits would allow some. */
static void
score (Score *score, guint64 seed, const TrialRun *after, double left)
{
  g_autofree char *bad = what_is_bad (after);
  const gboolean good =
    g_strcmp0 (trial_text (after->record, "verdict"), "accept") == 0 && !(left > 0.0);
  score->ground++;
  score->good += good ? 1 : 0;
  if (!good)
    g_string_append_printf (score->bad, "  seed %" G_GUINT64_FORMAT ": %s; damage left %.4f mm\n",
                            seed, bad, left);
}

static gboolean
is_to_be_ground (const TrialRun *run)
{
  return run->record != NULL && g_strcmp0 (trial_text (run->record, "action"), "regrind") == 0;
}

static void
finish (const char *fault, Score *total)
{
  if (g_getenv ("WHETSIGHT_GATES") != NULL)
    g_print ("%-14s %3u scenes, %3u to be ground, %3u good then\n%s", fault, total->n,
             total->ground, total->good, total->bad->str);
  const guint most_bad = (guint)floor ((1.0 - LEAST_GOOD) * total->ground + 1e-9);
  const gboolean enough = total->ground - total->good <= most_bad;
  const gboolean told = 2 * total->ground >= total->n;
  if (!enough || !told)
    g_printerr ("%s: %u of %u to be ground, %u good then\n%s", fault, total->ground, total->n,
                total->good, total->bad->str);
  g_string_free (total->bad, TRUE);
  assert_true (enough);
  assert_true (told);
}

/* ---- Drills --------------------------------------------------------------------------- */

/* Ends of a limit. */
static void
append_limit (GString *card, const char *name, double middle, double half)
{
  char lower[G_ASCII_DTOSTR_BUF_SIZE], upper[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_formatd (lower, sizeof lower, "%.6f", middle - half);
  g_ascii_formatd (upper, sizeof upper, "%.6f", middle + half);
  g_string_append_printf (card, "%s = %s .. %s\n", name, lower, upper);
}

static void
write_drill_card (const char *path, const SceneDrill *drill)
{
  char diameter[G_ASCII_DTOSTR_BUF_SIZE], web[G_ASCII_DTOSTR_BUF_SIZE];
  g_autoptr (GString) card = g_string_new (NULL);
  g_ascii_formatd (diameter, sizeof diameter, "%.6f", drill->diameter);
  g_ascii_formatd (web, sizeof web, "%.6f", drill->web);
  g_string_printf (
    card, "[tool]\nid = T\nkind = twist-drill\ndiameter_mm = %s\nweb_mm = %s\n\n[limits]\n",
    diameter, web);
  append_limit (card, "diameter_mm", drill->diameter, 0.02 + 0.002 * drill->diameter);
  append_limit (card, "point_angle_deg", 2.0 * drill->design_half_angle, 3.0);
  assert_true (g_file_set_contents (path, card->str, -1, NULL));
}

static void
try_drill (Score *total, const Shot *shot, guint64 seed, SceneDrill *drill, SceneCamera *camera)
{
  SceneTruth truth;
  Shot here = *shot;
  here.mm_per_px = camera->mm_per_px;
  write_drill_card (shot->card, drill);
  g_autoptr (SceneImage) before = scene_render (drill, camera, &truth);
  g_autoptr (TrialRun) faulty = measure (&here, before);
  total->n++;
  if (!is_to_be_ground (faulty))
    return;
  const SceneDrill ground = trial_ground_drill (drill, &truth, faulty->record);
  g_autoptr (SceneImage) image = scene_render (&ground, camera, NULL);
  g_autoptr (TrialRun) after = measure (&here, image);
  score (
    total, seed, after,
    MAX (MAX (ground.chip_a.depth, ground.chip_b.depth), MAX (ground.corner_a, ground.corner_b)));
}

/* Worn so far that it is beyond its limit. */
static void
wear_corner (guint64 seed, SceneDrill *drill)
{
  SceneRng rng;
  scene_rng_init (&rng, seed + 8000);
  double *radius = drill->corner_a > 0.0 ? &drill->corner_a : &drill->corner_b;
  *radius = drill->diameter * scene_rng_uniform (&rng, 0.08, 0.13);
}

/* A point ground too flat: lips grow blunt against the work. */
static void
make_blunt (guint64 seed, SceneDrill *drill)
{
  SceneRng rng;
  scene_rng_init (&rng, seed + 9000);
  const double by = scene_rng_uniform (&rng, 2.0, 4.0);
  drill->half_angle_a += by;
  drill->half_angle_b += by;
}

static void
try_drills (const char *fault, SceneMode mode)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *card = in_folder (folder, "T.tool"), *picture = in_folder (folder, "t.png");
  const Shot shot = { "drill-side", card, picture, NAN };
  Score total = { .bad = g_string_new (NULL) };
  for (guint i = 0; i < n_scenes (); i++)
  {
    SceneDrill drill;
    SceneCamera camera;
    const guint64 seed = seed_of (i);
    scene_random (seed, mode, &drill, &camera);
    if (mode == SCENE_CORNER)
      wear_corner (seed, &drill);
    if (mode == SCENE_GOOD)
      make_blunt (seed, &drill);
    try_drill (&total, &shot, seed, &drill, &camera);
  }
  g_remove (card);
  assert_int_equal (g_rmdir (folder), 0);
  finish (fault, &total);
}

static void
unequal_lips_are_ground_equal (void **state)
{
  (void)state;
  try_drills ("unequal lips", SCENE_UNEQUAL);
}

static void
an_offset_is_ground_away (void **state)
{
  (void)state;
  try_drills ("offset", SCENE_OFFSET);
}

static void
a_high_lip_is_ground_down (void **state)
{
  (void)state;
  try_drills ("high lip", SCENE_HEIGHT);
}

static void
a_chip_is_ground_away (void **state)
{
  (void)state;
  try_drills ("chip", SCENE_CHIP);
}

static void
a_worn_corner_is_ground_away (void **state)
{
  (void)state;
  try_drills ("worn corner", SCENE_CORNER);
}

static void
a_blunt_point_is_ground_sharp (void **state)
{
  (void)state;
  try_drills ("blunt point", SCENE_GOOD);
}

/* ---- Blades --------------------------------------------------------------------------- */

static void
write_blade_card (const char *path, double width)
{
  char mm[G_ASCII_DTOSTR_BUF_SIZE];
  g_autoptr (GString) card = g_string_new (NULL);
  g_ascii_formatd (mm, sizeof mm, "%.6f", width);
  g_string_printf (
    card, "[tool]\nid = T\nkind = cutoff-blade\npart_has_centre_hole = yes\nwidth_mm = %s\n", mm);
  assert_true (g_file_set_contents (path, card->str, -1, NULL));
}

static void
try_plan (Score *total, const Shot *shot, guint64 seed, const SceneBladePlan *blade,
          const SceneCamera *camera)
{
  SceneBladePlanTruth truth;
  Shot here = *shot;
  here.mm_per_px = camera->mm_per_px;
  g_autoptr (SceneImage) before = scene_render_blade_plan (blade, camera, &truth);
  write_blade_card (shot->card, blade->width);
  g_autoptr (TrialRun) faulty = measure (&here, before);
  total->n++;
  if (!is_to_be_ground (faulty))
    return;
  const SceneBladePlan ground = trial_ground_plan (blade, &truth, faulty->record);
  g_autoptr (SceneImage) image = scene_render_blade_plan (&ground, camera, &truth);
  g_autoptr (TrialRun) after = measure (&here, image);
  score (total, seed, after,
         MAX (ground.chip.depth, MAX (ground.radius_left, ground.radius_right)));
}

/* Rake alone: outside 6 to 8 degrees, either way.  For damage the rake is as it should be. */
static void
try_plans (const char *fault, SceneBladeMode mode)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *card = in_folder (folder, "T.tool"), *picture = in_folder (folder, "t.png");
  const Shot shot = { "blade-plan", card, picture, NAN };
  Score total = { .bad = g_string_new (NULL) };
  for (guint i = 0; i < n_scenes (); i++)
  {
    SceneBladePlan blade;
    SceneCamera camera;
    const guint64 seed = seed_of (i);
    scene_random_blade_plan (seed, mode, &blade, &camera);
    if (mode != SCENE_BLADE_GOOD)
      blade.rake_deg = copysign (7.0, blade.rake_deg);
    try_plan (&total, &shot, seed, &blade, &camera);
  }
  g_remove (card);
  assert_int_equal (g_rmdir (folder), 0);
  finish (fault, &total);
}

static void
a_wrong_rake_is_ground_right (void **state)
{
  (void)state;
  try_plans ("rake", SCENE_BLADE_GOOD);
}

static void
a_chipped_blade_is_ground_whole (void **state)
{
  (void)state;
  try_plans ("blade chip", SCENE_BLADE_CHIP);
}

static void
round_corners_are_ground_sharp (void **state)
{
  (void)state;
  try_plans ("corner radius", SCENE_BLADE_WORN);
}

static void
try_side (Score *total, const Shot *shot, guint64 seed, const SceneBladeSide *blade,
          const SceneCamera *camera)
{
  SceneBladeSideTruth truth;
  Shot here = *shot;
  here.mm_per_px = camera->mm_per_px;
  g_autoptr (SceneImage) before = scene_render_blade_side (blade, camera, &truth);
  g_autoptr (TrialRun) faulty = measure (&here, before);
  total->n++;
  if (!is_to_be_ground (faulty))
    return;
  const SceneBladeSide ground = trial_ground_side (blade, faulty->record);
  g_autoptr (SceneImage) image = scene_render_blade_side (&ground, camera, &truth);
  g_autoptr (TrialRun) after = measure (&here, image);
  score (total, seed, after, 0.0);
}

static void
wrong_relief_is_ground_right (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *card = in_folder (folder, "T.tool"), *picture = in_folder (folder, "t.png");
  const Shot shot = { "blade-side", card, picture, NAN };
  Score total = { .bad = g_string_new (NULL) };
  write_blade_card (card, 3.0);
  for (guint i = 0; i < n_scenes (); i++)
  {
    SceneBladeSide blade;
    SceneCamera camera;
    const guint64 seed = seed_of (i);
    scene_random_blade_side (seed, SCENE_BLADE_GOOD, &blade, &camera);
    blade.relief_deg += blade.relief_deg < 10.0 ? -2.5 : 2.5;
    try_side (&total, &shot, seed, &blade, &camera);
  }
  g_remove (card);
  assert_int_equal (g_rmdir (folder), 0);
  finish ("relief", &total);
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
    cmocka_unit_test (unequal_lips_are_ground_equal),
    cmocka_unit_test (an_offset_is_ground_away),
    cmocka_unit_test (a_high_lip_is_ground_down),
    cmocka_unit_test (a_chip_is_ground_away),
    cmocka_unit_test (a_worn_corner_is_ground_away),
    cmocka_unit_test (a_blunt_point_is_ground_sharp),
    cmocka_unit_test (a_wrong_rake_is_ground_right),
    cmocka_unit_test (a_chipped_blade_is_ground_whole),
    cmocka_unit_test (round_corners_are_ground_sharp),
    cmocka_unit_test (wrong_relief_is_ground_right),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
