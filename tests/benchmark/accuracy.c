/*
 * How true the program's numbers and uncertainties are: a table over N rendered drills, and one
 * over N blades, half of them from above.
 *
 *   WHETSIGHT=build/src/whetsight benchmark-accuracy [N [FIRST_SEED]]
 */
#include "scene/blade.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <stdlib.h>

#define DEFAULT_N 60

typedef struct
{
  TrialTable *table;
  guint refused, wrong; /* wrong: chips, hands, corners */
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
  const gboolean is_drill = json_object_get (truth, "diameter_mm") != NULL;
  g_autofree char *wrong = is_drill ? trial_check_chips (run->record, truth, mm_per_px)
                                    : trial_check_blade (run->record, truth, mm_per_px);
  if (wrong == NULL)
    return;
  g_print ("%s: %s\n", name, wrong);
  sums->wrong++;
}

/* Saves, measures and judges one scene; `line` is its truth as JSON. */
static gboolean
judge_scene (Sums *sums, const char *view, const char *path, const SceneImage *image,
             const char *name, const char *line)
{
  if (!scene_image_save (image, path, 0))
    return FALSE;
  json_t *json = json_loads (line, 0, NULL);
  const double mm_per_px = json_number_value (json_object_get (json, "mm_per_px"));
  g_autoptr (TrialRun) run = trial_measure_view (trial_program (), view, path, mm_per_px);
  judge (sums, name, run, json_object_get (json, "truth"), mm_per_px);
  json_decref (json);
  return TRUE;
}

static gboolean
try_scene (Sums *sums, const char *path, guint64 seed, SceneMode mode)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  scene_random (seed, mode, &drill, &camera);
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
  g_autofree char *name = g_strdup_printf ("%s %" G_GUINT64_FORMAT, scene_mode_name (mode), seed);
  g_autofree char *line =
    scene_truth_json (name, scene_mode_name (mode), seed, &drill, &camera, &truth);
  return judge_scene (sums, "drill-side", path, image, name, line);
}

static gboolean
try_plan (Sums *sums, const char *path, guint64 seed, SceneBladeMode mode)
{
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  scene_random_blade_plan (seed, mode, &blade, &camera);
  g_autoptr (SceneImage) image = scene_render_blade_plan (&blade, &camera, &truth);
  const char *kind = scene_blade_mode_name (mode);
  g_autofree char *name = g_strdup_printf ("plan %s %" G_GUINT64_FORMAT, kind, seed);
  g_autofree char *line = scene_blade_plan_json (name, kind, seed, &camera, &truth);
  return judge_scene (sums, "blade-plan", path, image, name, line);
}

static gboolean
try_side (Sums *sums, const char *path, guint64 seed, SceneBladeMode mode)
{
  SceneBladeSide blade;
  SceneCamera camera;
  SceneBladeSideTruth truth;
  scene_random_blade_side (seed, mode, &blade, &camera);
  g_autoptr (SceneImage) image = scene_render_blade_side (&blade, &camera, &truth);
  const char *kind = scene_blade_mode_name (mode);
  g_autofree char *name = g_strdup_printf ("side %s %" G_GUINT64_FORMAT, kind, seed);
  g_autofree char *line = scene_blade_side_json (name, kind, seed, &camera, &truth);
  return judge_scene (sums, "blade-side", path, image, name, line);
}

/* Picture i of either kind of tool; FALSE when it can't be written. */
static gboolean
try_drill_number (Sums *sums, const char *path, guint64 first, guint i)
{
  return try_scene (sums, path, first + i / SCENE_N_MODES, (SceneMode)(i % SCENE_N_MODES));
}

static gboolean
try_blade_number (Sums *sums, const char *path, guint64 first, guint i)
{
  const SceneBladeMode mode = (SceneBladeMode)(i / 2 % SCENE_BLADE_N_MODES);
  const guint64 seed = first + i / (2 * SCENE_BLADE_N_MODES);
  return i % 2 == 0 ? try_plan (sums, path, seed, mode) : try_side (sums, path, seed, mode);
}

static void
report (const Sums *sums, const char *tools, guint n)
{
  g_autofree char *text = trial_table_text (sums->table);
  g_autofree char *shortcomings = trial_gates_short (sums->table);
  g_print ("%u %s, %u not measured, %u with a chip, a hand or a corner missed, invented or "
           "misjudged\n%s%s",
           n, tools, sums->refused, sums->wrong, text, shortcomings);
}

static gboolean
run (const char *tools, gboolean (*try_number) (Sums *, const char *, guint64, guint),
     const char *path, guint64 first, guint n)
{
  Sums sums = { trial_table_new (), 0, 0 };
  gboolean written = TRUE;
  for (guint i = 0; written && i < n; i++)
    written = try_number (&sums, path, first, i);
  g_remove (path);
  if (written)
    report (&sums, tools, n);
  else
    g_printerr ("can't write %s\n", path);
  trial_table_free (sums.table);
  return written;
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
  g_autofree char *path = g_build_filename (folder, "tool.png", NULL);
  const gboolean written = run ("drills", try_drill_number, path, first, n) &&
                           run ("blades", try_blade_number, path, first, n);
  g_rmdir (folder);
  return written ? 0 : 73;
}
