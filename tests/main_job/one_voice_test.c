/*
 * Banner, findings, advice and exit status speak with one voice, with and without card and scale,
 * over the demonstration's pictures and over random tools.
 */
#include "base/testing.h"

#include <glib/gstdio.h>

#include "scene/blade.h"
#include "scene/scene.h"
#include "trial/gates.h"
#include "trial/trial.h"

#define FIRST_SEED 120000

typedef struct
{
  const char *view, *picture;
  const char *card; /* NULL: there is none */
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
} Shot;

typedef struct
{
  guint n, of[5]; /* by WsVerdict's order: none, accept, undecided, reject, retake */
} Counts;

static void
count (Counts *counts, const TrialRun *run)
{
  static const char *const names[] = { NULL, "accept", "undecided", "reject", "retake" };
  counts->n++;
  for (guint i = 0; i < G_N_ELEMENTS (names); i++)
    if (g_strcmp0 (trial_text (run->record, "verdict"), names[i]) == 0)
      counts->of[i]++;
}

static void
measure_and_check (const Shot *shot, gboolean with_card, gboolean with_scale, Counts *counts)
{
  const char *options[5];
  guint n = 0;
  if (with_card)
  {
    options[n++] = "--tool";
    options[n++] = shot->card;
  }
  if (with_scale)
  {
    options[n++] = "--scale";
    options[n++] = shot->scale;
  }
  options[n] = NULL;
  g_autoptr (TrialRun) run =
    trial_measure_with (trial_program (), shot->view, shot->picture, options);
  g_autofree char *wrong = trial_check_verdicts (run);
  if (wrong != NULL)
    fail_msg ("%s, %s card, %s scale: %s", shot->picture, with_card ? "with" : "without",
              with_scale ? "with" : "without", wrong);
  count (counts, run);
}

/* All four ways; where there is no card, two. */
static void
check_shot (const Shot *shot, Counts *counts)
{
  for (gboolean with_scale = FALSE; with_scale <= TRUE; with_scale++)
    for (gboolean with_card = FALSE; with_card <= (shot->card != NULL); with_card++)
      measure_and_check (shot, with_card, with_scale, counts);
}

static void
print_counts (const char *what, const Counts *counts)
{
  g_print ("%s: %u runs, %u accepted, %u undecided, %u rejected, %u retakes\n", what, counts->n,
           counts->of[1], counts->of[2], counts->of[3], counts->of[4]);
}

static void
demonstration_pictures (void **state)
{
  (void)state;
  Counts counts = { 0 };
  g_autofree char *folder = g_build_filename (WS_SOURCE_DIR, "images", NULL);
  g_autofree char *list = g_build_filename (folder, "shots.csv", NULL), *text = NULL;
  assert_true (g_file_get_contents (list, &text, NULL, NULL));
  g_auto (GStrv) lines = g_strsplit (text, "\n", -1);
  guint n = 0;
  for (char **line = lines + 1; *line != NULL && **line != '\0'; line++)
  {
    if (n++ % trial_scenes (1, 4) != 0)
      continue;
    g_auto (GStrv) cells = g_strsplit (*line, ",", -1);
    assert_true (g_strv_length (cells) >= 4);
    g_autofree char *picture = g_build_filename (folder, cells[0], NULL);
    g_autofree char *card = g_build_filename (folder, cells[1], NULL);
    Shot shot = { .view = cells[2], .picture = picture, .card = card };
    g_strlcpy (shot.scale, cells[3], sizeof shot.scale);
    check_shot (&shot, &counts);
  }
  print_counts ("demonstration pictures", &counts);
  assert_true (counts.n >= trial_scenes (80, 20));
  if (!trial_few_scenes ())
    assert_true (counts.of[1] > 0 && counts.of[2] > 0 && counts.of[3] > 0 && counts.of[4] > 0);
}

/* ---- Random tools ---------------------------------------------------------------------- */

typedef struct
{
  char *folder, *picture, *card;
} Files;

static int
make_files (void **state)
{
  Files *files = g_new0 (Files, 1);
  files->folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  files->picture = g_build_filename (files->folder, "picture.png", NULL);
  files->card = g_build_filename (files->folder, "a.tool", NULL);
  *state = files;
  return 0;
}

static int
remove_files (void **state)
{
  Files *files = *state;
  g_unlink (files->picture);
  g_unlink (files->card);
  assert_int_equal (g_rmdir (files->folder), 0);
  g_free (files->folder);
  g_free (files->picture);
  g_free (files->card);
  g_free (files);
  return 0;
}

static void
check_scene (const Files *files, const char *view, const SceneImage *image, double mm_per_px,
             Counts *counts)
{
  Shot shot = { .view = view, .picture = files->picture, .card = files->card };
  g_ascii_dtostr (shot.scale, sizeof shot.scale, mm_per_px);
  assert_true (scene_image_save (image, files->picture, 0));
  check_shot (&shot, counts);
}

/* The design's point angle, and a diameter in the middle of h8, not at its end. */
static void
save_drill_card (const Files *files, const SceneDrill *drill)
{
  const double point = 2 * drill->design_half_angle;
  g_autofree char *card = g_strdup_printf ("[tool]\nid = QT-D-0118\nkind = %s\n"
                                           "diameter_mm = %.4f\n[limits]\n"
                                           "point_angle_deg = %.1f .. %.1f\n",
                                           point < 100 ? "spot-drill" : "twist-drill",
                                           drill->diameter + 0.007, point - 3, point + 3);
  assert_true (g_file_set_contents (files->card, card, -1, NULL));
}

static void
random_drills (void **state)
{
  const Files *files = *state;
  Counts counts = { 0 };
  for (guint i = 0; i < trial_sample (300, 24, 4); i++)
  {
    SceneDrill drill;
    SceneCamera camera;
    scene_random (FIRST_SEED + i, (SceneMode)(i % SCENE_N_MODES), &drill, &camera);
    save_drill_card (files, &drill);
    g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
    check_scene (files, "drill-side", image, camera.mm_per_px, &counts);
  }
  print_counts ("random drills", &counts);
  if (!trial_few_scenes ())
    assert_true (counts.of[1] > 0 && counts.of[3] > 0);
}

static void
save_blade_card (const Files *files, double width)
{
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *card = g_strdup_printf (
    "[tool]\nid = QT-B-0030\nkind = cutoff-blade\nwidth_mm = %s\npart_has_centre_hole = yes\n",
    g_ascii_dtostr (number, sizeof number, width));
  assert_true (g_file_set_contents (files->card, card, -1, NULL));
}

static void
random_blades (void **state)
{
  const Files *files = *state;
  Counts counts = { 0 };
  for (guint i = 0; i < trial_sample (200, 20, 4); i++)
  {
    const SceneBladeMode mode = (SceneBladeMode)(i / 2 % SCENE_BLADE_N_MODES);
    SceneCamera camera;
    if (i % 2 == 0)
    {
      SceneBladePlan blade;
      SceneBladePlanTruth truth;
      scene_random_blade_plan (FIRST_SEED + i, mode, &blade, &camera);
      save_blade_card (files, blade.width);
      g_autoptr (SceneImage) image = scene_render_blade_plan (&blade, &camera, &truth);
      check_scene (files, "blade-plan", image, camera.mm_per_px, &counts);
      continue;
    }
    SceneBladeSide blade;
    SceneBladeSideTruth truth;
    scene_random_blade_side (FIRST_SEED + i, mode, &blade, &camera);
    save_blade_card (files, 3.0);
    g_autoptr (SceneImage) image = scene_render_blade_side (&blade, &camera, &truth);
    check_scene (files, "blade-side", image, camera.mm_per_px, &counts);
  }
  print_counts ("random blades", &counts);
  if (!trial_few_scenes ())
    assert_true (counts.of[3] > 0);
}

/* What a card adds must be judged too, where the view measures it; a name that no view of the kind
 * measures is an error. */
static void
a_card_may_require_more (void **state)
{
  const Files *files = *state;
  static const struct
  {
    const char *required, *limits;
    int status;
    const char *reason;
  } cases[] = {
    { "chisel_flat_mm", "", 2, "not-judged" },
    { "chisel_flat_mm", "[limits]\nchisel_flat_mm = .. 5\n", 0, NULL },
    { "lip_relief_deg", "", 0, NULL },
    { "chisel_fat_mm", "", 65, NULL },
  };
  SceneDrill drill;
  SceneCamera camera;
  scene_drill_init (&drill, 10.0);
  scene_camera_init (&camera);
  scene_camera_aim (&camera, &drill, 0.45);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, NULL);
  assert_true (scene_image_save (image, files->picture, 0));
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  g_ascii_dtostr (scale, sizeof scale, camera.mm_per_px);
  const char *const options[] = { "--tool", files->card, "--scale", scale, NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    g_autofree char *card = g_strdup_printf (
      "[tool]\nid = QT-D-0118\nkind = twist-drill\ndiameter_mm = 10.01\nrequired = %s\n%s",
      cases[i].required, cases[i].limits);
    assert_true (g_file_set_contents (files->card, card, -1, NULL));
    g_autoptr (TrialRun) run =
      trial_measure_with (trial_program (), "drill-side", files->picture, options);
    assert_int_equal (run->status, cases[i].status);
    if (cases[i].status == 65)
      assert_contains (run->errors, "[tool] required: chisel_fat_mm");
    else if (cases[i].reason != NULL)
      assert_string_equal (trial_text (run->record, "reason"), cases[i].reason);
    else
      assert_null (trial_text (run->record, "reason"));
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
    cmocka_unit_test (demonstration_pictures),
    cmocka_unit_test_setup_teardown (random_drills, make_files, remove_files),
    cmocka_unit_test_setup_teardown (random_blades, make_files, remove_files),
    cmocka_unit_test_setup_teardown (a_card_may_require_more, make_files, remove_files),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
