/*
 * How true the program's numbers and uncertainties are: a table over N rendered drills.
 *
 *   WHETSIGHT=build/src/whetsight benchmark-accuracy [N [FIRST_SEED]]
 */
#include "scene/scene.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <stdlib.h>

#define DEFAULT_N 60

typedef struct
{
  TrialTable *table;
  guint refused, wrong_chips;
} Sums;

static void
judge (Sums *sums, const char *name, const TrialRun *run, const json_t *truth, double mm_per_px)
{
  if (trial_is_retake (run))
  {
    g_print ("%s: not measured: %s\n", name, trial_text (run->record, "detail"));
    sums->refused++;
    return;
  }
  trial_table_add (sums->table, run->record, truth);
  g_autofree char *wrong = trial_check_chips (run->record, truth, mm_per_px);
  if (wrong == NULL)
    return;
  g_print ("%s: %s\n", name, wrong);
  sums->wrong_chips++;
}

static gboolean
try_scene (Sums *sums, const char *path, guint64 seed, SceneMode mode)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  scene_random (seed, mode, &drill, &camera);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
  if (!scene_image_save (image, path, 0))
    return FALSE;
  g_autofree char *name = g_strdup_printf ("%s %" G_GUINT64_FORMAT, scene_mode_name (mode), seed);
  g_autofree char *line =
    scene_truth_json (name, scene_mode_name (mode), seed, &drill, &camera, &truth);
  json_t *json = json_loads (line, 0, NULL);
  g_autoptr (TrialRun) run = trial_measure (trial_program (), path, camera.mm_per_px);
  judge (sums, name, run, json_object_get (json, "truth"), camera.mm_per_px);
  json_decref (json);
  return TRUE;
}

static void
report (const Sums *sums, guint n)
{
  g_autofree char *text = trial_table_text (sums->table);
  g_print ("%u drills, %u not measured, %u with a chip missed, invented or misjudged\n%s"
           "|e| <= U in %.1f %% of all\n",
           n, sums->refused, sums->wrong_chips, text, 100.0 * trial_coverage (sums->table));
}

int
main (int argc, char **argv)
{
  const guint n = argc > 1 ? (guint)strtoul (argv[1], NULL, 10) : DEFAULT_N;
  const guint64 first = argc > 2 ? g_ascii_strtoull (argv[2], NULL, 10) : 1000;
  if (trial_program () == NULL || n == 0)
  {
    g_printerr ("usage: WHETSIGHT=PROGRAM benchmark-accuracy [N [FIRST_SEED]]\n");
    return 64;
  }
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  if (folder == NULL)
    return 73;
  g_autofree char *path = g_build_filename (folder, "drill.png", NULL);
  Sums sums = { trial_table_new (), 0, 0 };
  gboolean written = TRUE;
  for (guint i = 0; written && i < n; i++)
    written = try_scene (&sums, path, first + i / SCENE_N_MODES, (SceneMode)(i % SCENE_N_MODES));
  g_remove (path);
  g_rmdir (folder);
  if (written)
    report (&sums, n);
  else
    g_printerr ("can't write %s\n", path);
  trial_table_free (sums.table);
  return written ? 0 : 73;
}
