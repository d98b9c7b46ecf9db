/*
 * The whole job on `drill-end`: the solid drill's point in front light, rendered here with known
 * chisel edge, web and margins.  Plainer points with burn and wear are in front_lit_test.c.
 */
#include "base/testing.h"
#include "scene/tip.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>

#define FIRST_SEED 3001
#define N_SCENES trial_scenes (12, 3)

typedef struct
{
  const char *name;
  double limit; /* for the RMS error, degrees or relative */
  gboolean angle;
  guint n, covered;
  double squares;
} Sum;

static TrialRun *
measured (const SceneDrill *drill, const SceneTip *tip)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  g_autoptr (SceneImage) image = scene_render_tip (drill, tip);
  assert_true (scene_image_save (image, path, 0));
  TrialRun *run = trial_measure_view (trial_program (), "drill-end", path, tip->mm_per_px);
  g_remove (path);
  g_rmdir (folder);
  assert_non_null (run->record);
  return run;
}

static void
add (Sum *sum, const json_t *record, double truth)
{
  const double value = trial_value (record, sum->name);
  if (isnan (value))
    return;
  const json_t *quantity = json_object_get (json_object_get (record, "quantities"), sum->name);
  const double error = value - truth, share = sum->angle ? error : error / truth;
  sum->covered += fabs (error) <= json_number_value (json_object_get (quantity, "U"));
  sum->squares += share * share;
  sum->n++;
}

/* The land's width where there is none; unknown will do. */
static gboolean
invents_wear (const json_t *record)
{
  return trial_value (record, "wear_land_mean_mm") > 0 ||
         trial_value (record, "wear_land_max_mm") > 0;
}

static void
rendered_points_are_measured (void **state)
{
  (void)state;
  Sum sums[] = { { "chisel_edge_angle_deg", 0.7, TRUE, 0, 0, 0 },
                 { "chisel_edge_length_mm", 0.02, FALSE, 0, 0, 0 },
                 { "web_thickness_mm", 0.02, FALSE, 0, 0, 0 },
                 { "margin_width_mm", 0.1, FALSE, 0, 0, 0 } };
  guint n = 0, covered = 0, refused = 0;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SCENES; seed++)
  {
    SceneDrill drill;
    SceneTip tip;
    SceneTipTruth truth;
    scene_random_tip (seed, &drill, &tip);
    scene_tip_truth (&drill, &truth);
    g_autoptr (TrialRun) run = measured (&drill, &tip);
    if (trial_is_retake (run))
    {
      g_print ("%u: %s\n", (guint)seed, trial_text (run->record, "detail"));
      refused++;
      continue;
    }
    assert_string_equal (trial_text (run->record, "hand"), drill.left_hand ? "left" : "right");
    assert_false (invents_wear (run->record));
    add (&sums[0], run->record, truth.chisel_edge_angle_deg);
    add (&sums[1], run->record, truth.chisel_edge_length_mm);
    add (&sums[2], run->record, truth.web_thickness_mm);
    add (&sums[3], run->record, truth.margin_width_mm);
  }
  for (guint i = 0; i < G_N_ELEMENTS (sums); i++)
  {
    const double rms = sqrt (sums[i].squares / MAX (sums[i].n, 1));
    g_print ("%-24s n %u  RMS %.4f  |e| <= U %u\n", sums[i].name, sums[i].n, rms, sums[i].covered);
    assert_true (sums[i].n >= N_SCENES / 2);
    assert_true (rms <= sums[i].limit);
    n += sums[i].n;
    covered += sums[i].covered;
  }
  assert_true (refused <= N_SCENES / 4);
  assert_true (covered >= 0.95 * n);
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
    cmocka_unit_test (rendered_points_are_measured),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
