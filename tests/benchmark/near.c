/*
 * How true the program's numbers and uncertainties are with a near camera and its calibration:
 * tables over N rendered drills without and with the web's thickness on the tool card.
 *
 *   WHETSIGHT=build/src/whetsight benchmark-near [N [FIRST_SEED]]
 */
#include "scene/scene.h"
#include "trial/camera.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <math.h>
#include <stdlib.h>

#define DEFAULT_N 60

/* A worn corner is no matter of the camera. */
#define N_MODES SCENE_CORNER

typedef struct
{
  char *picture, *calibration, *card;
} Files;

typedef struct
{
  TrialTable *table;
  guint refused;
} Sums;

static void
judge (Sums *sums, const char *name, const TrialRun *run, const json_t *truth)
{
  if (trial_is_retake (run))
  {
    g_print ("%s: not measured: %s %s\n", name, trial_text (run->record, "detail"), run->errors);
    sums->refused++;
    return;
  }
  trial_table_add (sums->table, run->record, truth);
  TrialError angle, half, offset;
  if (g_getenv ("NEAR_EACH") != NULL &&
      trial_error (run->record, truth, TRIAL_POINT_ANGLE, &angle) &&
      trial_error (run->record, truth, TRIAL_HALF_ANGLE_DIFFERENCE, &half) &&
      trial_error (run->record, truth, TRIAL_POINT_OFFSET, &offset))
    g_print ("%-12s %+.4f (%.4f)  a-b %+.4f (%.4f)  offset/D %+.6f (%.6f)\n", name, angle.error,
             angle.U, half.error, half.U, offset.error, offset.U);
}

static gboolean
try_scene (Sums sums[2], const Files *files, guint64 seed, SceneMode mode)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  scene_random_near (seed, mode, &drill, &camera);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
  if (!scene_image_save (image, files->picture, 0) ||
      !trial_calibration_save (&camera, seed * SCENE_N_MODES + mode, files->calibration))
    return FALSE;
  g_autofree char *name = g_strdup_printf ("%s %" G_GUINT64_FORMAT, scene_mode_name (mode), seed);
  g_autofree char *line =
    scene_truth_json (name, scene_mode_name (mode), seed, &drill, &camera, &truth);
  json_t *json = json_loads (line, 0, NULL);
  const char *const options[] = { "--calib", files->calibration, "--tool", files->card, NULL };
  for (guint k = 0; k < 2; k++)
  {
    if (!trial_card_save (&drill, k == 0 ? NAN : drill.web, drill.left_hand ? "left" : NULL,
                          files->card))
      return FALSE;
    g_autoptr (TrialRun) run =
      trial_measure_with (trial_program (), "drill-side", files->picture, options);
    judge (&sums[k], name, run, json_object_get (json, "truth"));
  }
  json_decref (json);
  return TRUE;
}

static void
report (const Sums *sums, guint n, const char *what)
{
  g_autofree char *text = trial_table_text (sums->table);
  g_autofree char *shortcomings = trial_gates_short (sums->table);
  g_print ("%s: %u drills, %u not measured\n%s%s", what, n, sums->refused, text, shortcomings);
}

int
main (int argc, char **argv)
{
  const guint n = argc > 1 ? (guint)strtoul (argv[1], NULL, 10) : DEFAULT_N;
  const guint64 first = argc > 2 ? g_ascii_strtoull (argv[2], NULL, 10) : 1000;
  if (trial_program () == NULL || n == 0)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-near [N [FIRST_SEED]]\n");
    return 64;
  }
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (folder == NULL)
    return 73;
  g_autofree char *picture = g_build_filename (folder, "drill.png", NULL);
  g_autofree char *calibration = g_build_filename (folder, "near.calib", NULL);
  g_autofree char *card = g_build_filename (folder, "drill.tool", NULL);
  const Files files = { picture, calibration, card };
  Sums sums[2] = { { trial_table_new (), 0 }, { trial_table_new (), 0 } };
  gboolean written = TRUE;
  for (guint i = 0; written && i < n; i++)
    written = try_scene (sums, &files, first + i / N_MODES, (SceneMode)(i % N_MODES));
  g_remove (picture);
  g_remove (calibration);
  g_remove (card);
  g_rmdir (folder);
  if (written)
  {
    report (&sums[0], n, "web unknown");
    report (&sums[1], n, "web on the card");
  }
  else
    g_printerr ("can't write to %s\n", folder);
  trial_table_free (sums[0].table);
  trial_table_free (sums[1].table);
  return written ? 0 : 73;
}
