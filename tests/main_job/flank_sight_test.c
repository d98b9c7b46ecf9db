/*
 * The whole job on flanks that show little: a land of any width and lustre is measured, or is told
 * not to be known, and "none" holds up to the width that would have been seen.  And a picture that
 * is turned by quarter turns or mirrored says the same.
 */
#include "base/testing.h"
#include "scene/flank.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <string.h>

#define SEED 301

static TrialRun *
measured (const SceneImage *image, double mm_per_px)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  assert_true (scene_image_save (image, path, 0));
  TrialRun *run = trial_measure_view (trial_program (), "blade-face", path, mm_per_px);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (run->record);
  return run;
}

static double
number_at (const json_t *quantity, const char *key)
{
  const json_t *number = json_object_get (quantity, key);
  return json_is_number (number) ? json_number_value (number) : NAN;
}

/* Unworn but for a land of that width, px, whose light is so many times the flank's. */
static void
worn_face (double width, double light, double blur, SceneFace *face)
{
  scene_random_face (SEED, face);
  face->heat.depth = 0;
  face->lamp.blur_px = blur;
  face->lamp.steel = MIN (face->lamp.steel, 0.85 / light);
  face->land = width * face->lamp.mm_per_px;
  face->land_wave = 0;
  face->land_light = light;
}

static void
check_land (double width, double light, double blur, guint *n_known)
{
  SceneFace face;
  worn_face (width, light, blur, &face);
  g_autoptr (SceneImage) image = scene_render_face (&face);
  g_autoptr (TrialRun) run = measured (image, face.lamp.mm_per_px);
  assert_false (trial_is_retake (run));
  const json_t *land =
    json_object_get (json_object_get (run->record, "quantities"), "wear_land_mean_mm");
  const double value = number_at (land, "value"), U = number_at (land, "U"),
               least = number_at (land, "smallest_seen");
  if (isnan (value))
    return;
  (*n_known)++;
  if (fabs (value - face.land) > U)
    g_printerr ("land of %.1f px, light %.2f, blur %.1f: %.4f ± %.4f mm, truth %.4f\n", width,
                light, blur, value, U, face.land);
  assert_true (fabs (value - face.land) <= U);
  assert_true (least > 2 * face.lamp.mm_per_px && least < 12 * face.lamp.mm_per_px);
}

static gboolean
has_finding (const TrialRun *run, const char *code)
{
  gsize i;
  json_t *finding;
  json_array_foreach (json_object_get (run->record, "findings"), i,
                      finding) if (g_strcmp0 (trial_text (finding, "code"), code) == 0) return TRUE;
  return FALSE;
}

/* Little flank, all of it land: there is no end to be seen, and none would be without a land. */
static void
a_land_over_all_of_a_short_flank_is_unknown (void **state)
{
  (void)state;
  for (guint i = 0; i < 2; i++)
  {
    SceneFace face;
    worn_face (i == 0 ? 1000 : 0, 1.3, 0.8, &face);
    face.lamp.width = 800;
    face.lamp.height = 300;
    face.lamp.roll_deg = 0;
    face.lamp.mm_per_px = 3.0 / 340.0;
    face.width = 3.0;
    g_autoptr (SceneImage) image = scene_render_face (&face);
    g_autoptr (TrialRun) run = measured (image, face.lamp.mm_per_px);
    assert_false (trial_is_retake (run));
    assert_true (isnan (trial_value (run->record, "wear_land_mean_mm")));
    assert_true (has_finding (run, "flank-short"));
  }
}

static void
lands_are_measured_or_unknown (void **state)
{
  (void)state;
  static const double known[][3] = {
    { 0, 1, 1 }, { 4, 0.5, 0.8 }, { 12, 1.8, 2 }, { 6, 1.8, 0.8 }
  };
  /* As wide as the flank's half and as all that is to be seen of it; and hardly another lustre. */
  static const double hard[][3] = {
    { 160, 0.5, 0.8 },
    { 400, 1.8, 1 },
    { 30, 0.9, 1 },
  };
  guint n_known = 0, n_hard = 0;
  for (guint i = 0; i < G_N_ELEMENTS (known); i++)
    check_land (known[i][0], known[i][1], known[i][2], &n_known);
  assert_int_equal (n_known, G_N_ELEMENTS (known));
  for (guint i = 0; i < G_N_ELEMENTS (hard); i++)
    check_land (hard[i][0], hard[i][1], hard[i][2], &n_hard);
}

/* Ground, and scratched by the camera's noise alone: polished, or out of the light. */
static void
a_flank_without_marks_is_not_judged (void **state)
{
  (void)state;
  SceneFace face;
  worn_face (0, 1, 1, &face);
  face.lamp.streaks = 0;
  g_autoptr (SceneImage) image = scene_render_face (&face);
  g_autoptr (TrialRun) run = measured (image, face.lamp.mm_per_px);
  assert_string_equal (trial_text (run->record, "verdict"), "undecided");
  assert_true (isnan (trial_value (run->record, "wear_land_mean_mm")));
  assert_true (isnan (trial_value (run->record, "burn_depth_max_mm")));
  assert_true (isnan (trial_value (run->record, "burn_area_share")));
}

static SceneImage *
turned (const SceneImage *image, guint turn, gboolean mirrored)
{
  SceneImage *out = g_memdup2 (image, sizeof *image);
  const guint w = image->width, h = image->height;
  out->width = turn % 2 == 0 ? w : h;
  out->height = turn % 2 == 0 ? h : w;
  out->data = g_malloc (3 * (gsize)w * h);
  for (guint y = 0; y < h; y++)
    for (guint x = 0; x < w; x++)
    {
      const guint across = mirrored ? w - 1 - x : x;
      const guint u = (const guint[]){ across, y, w - 1 - across, h - 1 - y }[turn],
                  v = (const guint[]){ y, w - 1 - across, h - 1 - y, across }[turn];
      memcpy (out->data + 3 * ((gsize)v * out->width + u), image->data + 3 * ((gsize)y * w + x), 3);
    }
  return out;
}

static void
turned_pictures_say_the_same (void **state)
{
  (void)state;
  SceneFace face;
  scene_random_face (SEED + 2, &face); /* with a land */
  g_autoptr (SceneImage) image = scene_render_face (&face);
  g_autofree char *first = NULL;
  for (guint i = 0; i < 8; i++)
  {
    g_autoptr (SceneImage) other = turned (image, i % 4, i > 3);
    g_autoptr (TrialRun) run = measured (other, face.lamp.mm_per_px);
    char *quantities = json_dumps (json_object_get (run->record, "quantities"), 0);
    if (first == NULL)
      first = g_strdup (quantities);
    assert_string_equal (quantities, first);
    free (quantities);
  }
}

/* Where no chip is seen the record says how deep one would have shown. */
static void
no_chip_has_its_smallest (void **state)
{
  (void)state;
  static const char *const pictures[][3] = {
    { "drill-side", "good-118.png", "chip_depth_a_mm" },
    { "drill-side", "good-118.png", "chip_depth_b_mm" },
    { "blade-plan", "blade-good.png", "chip_depth_mm" },
  };
  for (guint i = 0; i < G_N_ELEMENTS (pictures); i++)
  {
    g_autofree char *path = g_build_filename (WS_SOURCE_DIR, "images", pictures[i][1], NULL);
    g_autoptr (TrialRun) run = trial_measure_view (trial_program (), pictures[i][0], path, 0.01);
    assert_false (trial_is_retake (run));
    const json_t *chip =
      json_object_get (json_object_get (run->record, "quantities"), pictures[i][2]);
    const double least = number_at (chip, "smallest_seen");
    assert_near (number_at (chip, "value"), 0, 0);
    assert_true (least > 0);
    assert_true (number_at (chip, "U") >= least);
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
    cmocka_unit_test (lands_are_measured_or_unknown),
    cmocka_unit_test (a_land_over_all_of_a_short_flank_is_unknown),
    cmocka_unit_test (a_flank_without_marks_is_not_judged),
    cmocka_unit_test (turned_pictures_say_the_same),
    cmocka_unit_test (no_chip_has_its_smallest),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
