/*
 * The whole job on `drill-relief`: the solid drill in front light, rendered here with known relief,
 * and pictures that show no flank's edge.  Reference pictures are in front_lit_test.c.
 */
#include "base/testing.h"
#include "scene/relief.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <string.h>

#define FIRST_SEED 101
#define N_SCENES trial_scenes (20, 5)

/* A clear one, telecentric. */
#define TURNED_SEED 107

/* Under a dome flank and margin are of one lightness. */
#define FAINT_SEED 799107

/* What is asked of each, degrees. */
#define MOST_ERROR 0.5

/* About 1.5 times what is achieved, degrees. */
static const TrialGate gates[] = { { TRIAL_LIP_RELIEF, 0.31, 0, 0, 0 } };

/* With the diameter on the card, or without a card. */
static TrialRun *
measure_picture (const char *folder, const char *path, double mm_per_px, double diameter)
{
  if (!(diameter > 0))
    return trial_measure_view (trial_program (), "drill-relief", path, mm_per_px);
  char number[G_ASCII_DTOSTR_BUF_SIZE];
  g_autofree char *card = g_build_filename (folder, "drill.tool", NULL);
  g_autofree char *text =
    g_strdup_printf ("[tool]\nid = drill\nkind = twist-drill\ndiameter_mm = %s\n",
                     g_ascii_dtostr (number, sizeof number, diameter));
  assert_true (g_file_set_contents (card, text, -1, NULL));
  g_ascii_dtostr (number, sizeof number, mm_per_px);
  const char *const options[] = { "--tool", card, "--scale", number, NULL };
  TrialRun *run = trial_measure_with (trial_program (), "drill-relief", path, options);
  g_remove (card);
  return run;
}

static TrialRun *
measured (const SceneDrill *drill, const SceneRelief *relief, gboolean jpeg, double diameter)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, jpeg ? "picture.jpg" : "picture.png", NULL);
  g_autoptr (SceneImage) image = scene_render_relief (drill, relief);
  assert_true (scene_image_save (image, path, 92));
  TrialRun *run = measure_picture (folder, path, relief->mm_per_px, diameter);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (run->record);
  return run;
}

/* Under a dome flank and margin may be of one lightness: such pictures may be refused, of the
 * others hardly any. */
static void
rendered_reliefs_are_measured (void **state)
{
  (void)state;
  g_autoptr (TrialTable) table = trial_table_new ();
  guint refused = 0;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SCENES; seed++)
  {
    SceneDrill drill;
    SceneRelief relief;
    SceneReliefTruth truth;
    scene_random_relief (seed, &drill, &relief);
    scene_relief_truth (&drill, &relief, &truth);
    g_autoptr (TrialRun) run = measured (&drill, &relief, seed % 4 == 0, 0);
    if (trial_is_retake (run))
    {
      g_print ("%u, lamps %d: %s\n", (guint)seed, (int)relief.lamps,
               trial_text (run->record, "detail"));
      refused += relief.lamps != SCENE_DOME;
      continue;
    }
    assert_string_equal (trial_text (run->record, "hand"), drill.left_hand ? "left" : "right");
    /* Heat colours at the corner may hide the edge. */
    if (trial_value (run->record, "burn_area_share") > 0 &&
        isnan (trial_value (run->record, "lip_relief_deg")))
    {
      refused++;
      continue;
    }
    assert_near (trial_value (run->record, "lip_relief_deg"), truth.lip_relief_deg, MOST_ERROR);
    trial_table_add_one (table, TRIAL_LIP_RELIEF, run->record, truth.lip_relief_deg, 1.0);
  }
  assert_true (trial_gates_hold ("rendered reliefs", table, gates, G_N_ELEMENTS (gates)));
  assert_true (refused <= N_SCENES / 10);
  assert_true (2 * trial_summary (table, TRIAL_LIP_RELIEF).n >= N_SCENES);
}

/* The flank is lighter than the margin and darker than the land; an edge that is faint over the
 * margin alone, which U has to know. */
static void
faint_margins_are_measured (void **state)
{
  (void)state;
  static const guint64 seeds[] = { 5020, 5024 };
  for (guint i = 0; i < trial_scenes (G_N_ELEMENTS (seeds), 1); i++)
  {
    SceneDrill drill;
    SceneRelief relief;
    SceneReliefTruth truth;
    scene_random_relief (seeds[i], &drill, &relief);
    scene_relief_truth (&drill, &relief, &truth);
    g_autoptr (TrialRun) run = measured (&drill, &relief, FALSE, 0);
    assert_false (trial_is_retake (run));
    const json_t *found =
      json_object_get (json_object_get (run->record, "quantities"), "lip_relief_deg");
    assert_near (trial_value (run->record, "lip_relief_deg"), truth.lip_relief_deg,
                 json_number_value (json_object_get (found, "U")));
  }
}

/* The reason that is told is the one whose cure makes the drill measurable. */
static void
assert_cured (guint64 seed, const char *detail, double ground, SceneLamps lamps)
{
  SceneDrill drill;
  SceneRelief relief;
  scene_random_relief (seed, &drill, &relief);
  g_autoptr (TrialRun) run = measured (&drill, &relief, FALSE, 0);
  assert_true (trial_is_retake (run));
  assert_string_equal (trial_text (run->record, "reason"), "low-contrast");
  assert_contains (trial_text (run->record, "detail"), detail);
  relief.ground = ground > 0 ? ground : relief.ground;
  relief.lamps = lamps;
  g_autoptr (TrialRun) cured = measured (&drill, &relief, FALSE, 0);
  assert_false (trial_is_retake (cured));
}

/* A flank as light as the ground, and a margin as light as its flank under a dome. */
static void
light_is_named_where_it_is_at_fault (void **state)
{
  (void)state;
  assert_cured (5000, "can't be told from the ground", 0.035, SCENE_SOFT_BOXES);
  assert_cured (FAINT_SEED, "light flank and margin differently", 0, SCENE_SOFT_BOXES);
}

/* Nothing but light ground and a dark shape, as by back light: there is no edge between flank and
 * margin. */
static void
a_silhouette_is_refused (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneRelief relief;
  scene_random_relief (FIRST_SEED, &drill, &relief);
  relief.exposure = 0.004;
  relief.ground = 0.6;
  relief.burn = 0.0;
  g_autoptr (TrialRun) run = measured (&drill, &relief, FALSE, 0);
  assert_true (trial_is_retake (run));
  assert_contains (trial_text (run->record, "detail"), "flank");
}

/* The drill turned about its axis until the margin looks past the camera: told by the diameter, and
 * which way to turn it back. */
static void
a_turned_drill_is_refused (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneRelief relief;
  scene_random_relief (TURNED_SEED, &drill, &relief);
  relief.burn = 0.0;
  /* The body's side stays in the picture. */
  relief.mm_per_px *= 1.2;
  for (int way = -1; way <= 1; way++)
  {
    relief.turn_deg = 13.0 * way;
    g_autoptr (TrialRun) run = measured (&drill, &relief, FALSE, drill.diameter);
    assert_true (trial_is_retake (run) == (way != 0));
    if (way == 0)
      continue;
    const char *detail = trial_text (run->record, "detail");
    assert_contains (detail, "askew");
    assert_true ((strstr (detail, "counterclockwise") != NULL) == (way < 0));
  }
}

/* By quarter turns clockwise, and mirrored. */
static SceneImage *
laid (const SceneImage *from, guint turns, gboolean mirrored)
{
  SceneImage *image = g_new (SceneImage, 1);
  const guint w = from->width, h = from->height, n = from->channels;
  *image = *from;
  image->width = turns % 2 == 0 ? w : h;
  image->height = turns % 2 == 0 ? h : w;
  image->data = g_malloc ((gsize)w * h * n);
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const guint u = (const guint[]){ x, h - 1 - y, w - 1 - x, y }[turns],
                  v = (const guint[]){ y, x, h - 1 - y, w - 1 - x }[turns];
      const guint across = mirrored ? image->width - 1 - u : u;
      memcpy (image->data + n * ((gsize)v * image->width + across),
              from->data + n * ((gsize)y * w + x), n);
    }
  return image;
}

/* The same drill, however the picture lies; in a mirror with the other hand. */
static void
a_turned_picture_says_the_same (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneRelief relief;
  scene_random_relief (TURNED_SEED, &drill, &relief);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "laid.png", NULL);
  g_autoptr (SceneImage) plain = scene_render_relief (&drill, &relief);
  static const guint turns[] = { 0, 1, 3, 2 };
  double first = NAN;
  for (guint i = 0; i < trial_scenes (G_N_ELEMENTS (turns), 2); i++)
  {
    const gboolean mirrored = i == 3;
    g_autoptr (SceneImage) image = laid (plain, turns[i], mirrored);
    assert_true (scene_image_save (image, path, 0));
    g_autoptr (TrialRun) run = measure_picture (folder, path, relief.mm_per_px, 0);
    g_remove (path);
    assert_non_null (run->record);
    assert_false (trial_is_retake (run));
    const double value = trial_value (run->record, "lip_relief_deg");
    first = i == 0 ? value : first;
    assert_near (value, first, 1e-9);
    assert_string_equal (trial_text (run->record, "hand"),
                         drill.left_hand != mirrored ? "left" : "right");
  }
  g_rmdir (folder);
}

/* What lies at (across x + skew y, y), each pixel from two neighbours. */
static SceneImage *
warped (const SceneImage *from, double across, double skew)
{
  SceneImage *image = g_new (SceneImage, 1);
  *image = *from;
  image->width = (guint)(from->width / across);
  image->data = g_malloc ((gsize)image->width * image->height * image->channels);
  for (guint y = 0; y < image->height; y++)
    for (guint x = 0; x < image->width; x++)
    {
      const double at = CLAMP (across * x + skew * y, 0.0, from->width - 2.0);
      const double part = at - floor (at);
      for (guint c = 0; c < image->channels; c++)
      {
        const guint8 *old = from->data + ((gsize)y * from->width + (gsize)at) * from->channels + c;
        image->data[((gsize)y * image->width + x) * image->channels + c] =
          (guint8)lrint ((1.0 - part) * old[0] + part * old[from->channels]);
      }
    }
  return image;
}

/* Neither shape nor size tells: relief and helix are the grinder's choice.  The ground's noise
 * does, and where compression took it away U covers what such pictures do. */
static void
squeezed_and_skewed_pictures_fool_nobody (void **state)
{
  (void)state;
  SceneDrill drill;
  SceneRelief relief;
  SceneReliefTruth truth;
  scene_random_relief (TURNED_SEED, &drill, &relief);
  scene_relief_truth (&drill, &relief, &truth);
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autoptr (SceneImage) plain = scene_render_relief (&drill, &relief);
  assert_int_equal (plain->bits, 8);
  for (guint i = 0; i < 3; i++)
  {
    static const char *const names[] = { "squeezed.png", "skewed.png", "skewed.jpg" };
    g_autofree char *path = g_build_filename (folder, names[i], NULL);
    g_autoptr (SceneImage) image = warped (plain, i == 0 ? 1.08 : 1.0, i == 0 ? 0.0 : 0.04);
    assert_true (scene_image_save (image, path, 92));
    g_autoptr (TrialRun) run = measure_picture (folder, path, relief.mm_per_px, 0);
    g_remove (path);
    assert_non_null (run->record);
    if (i < 2)
      assert_string_equal (trial_text (run->record, "reason"), "pixels-not-square");
    else
      assert_true (
        trial_is_retake (run) ||
        fabs (trial_value (run->record, "lip_relief_deg") - truth.lip_relief_deg) <
          json_number_value (json_object_get (
            json_object_get (json_object_get (run->record, "quantities"), "lip_relief_deg"), "U")));
  }
  g_rmdir (folder);
}

/* Ten tempered bars on a table: one's end is an edge behind another's straight side. */
static void
bars_on_a_table_are_refused (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "photos/temper-colours");
  if (folder == NULL)
    skip ();
  g_autofree char *path =
    g_build_filename (folder, "Tempering_standards_used_in_blacksmithing.jpg", NULL);
  g_autoptr (TrialRun) run = trial_measure_view (trial_program (), "drill-relief", path, NAN);
  assert_true (trial_is_retake (run));
}

/* Against the light, with the picture turned: a gullet's side before the dark of the blade. */
static void
saw_teeth_are_refused (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "photos/saw-teeth");
  if (folder == NULL)
    skip ();
  g_autofree char *path = g_build_filename (folder, "saw_01.png", NULL);
  g_autoptr (TrialRun) run = trial_measure_view (trial_program (), "drill-relief", path, NAN);
  assert_true (trial_is_retake (run));
}

int
main (int argc, char **argv)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (rendered_reliefs_are_measured),
    cmocka_unit_test (faint_margins_are_measured),
    cmocka_unit_test (light_is_named_where_it_is_at_fault),
    cmocka_unit_test (a_silhouette_is_refused),
    cmocka_unit_test (a_turned_drill_is_refused),
    cmocka_unit_test (a_turned_picture_says_the_same),
    cmocka_unit_test (squeezed_and_skewed_pictures_fool_nobody),
  };
  const struct CMUnitTest references[] = {
    cmocka_unit_test (bars_on_a_table_are_refused),
    cmocka_unit_test (saw_teeth_are_refused),
  };
  return argc > 1 && strcmp (argv[1], "references") == 0
           ? cmocka_run_group_tests (references, NULL, NULL)
           : cmocka_run_group_tests (tests, NULL, NULL);
}
