/*
 * What a constant of the program does to its results: renders sets of scenes with known truth,
 * measures them with one program and another, and says what differs.  tests/sensitivity/run.sh
 * joins these steps.
 *
 *   benchmark-sensitivity render FOLDER SET...
 *   WHETSIGHT=PROGRAM benchmark-sensitivity measure FOLDER SET... > RESULTS
 *   benchmark-sensitivity compare RESULTS OTHER_RESULTS
 */
#include "scene/blade.h"
#include "scene/flank.h"
#include "scene/profile.h"
#include "scene/relief.h"
#include "scene/tip.h"
#include "trial/camera.h"
#include "trial/trial.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Nothing was set by scenes of these seeds. */
#define FIRST_SEED 77000

/* ---- Render ------------------------------------------------------------------------- */

/* Scene `i` of a set; its files' names begin with `stem`.  FALSE when they can't be written. */
typedef gboolean (*Render) (guint i, const char *stem);

/* Saves picture and truth, which `line` holds as scenes tell it, and the options to measure with
 * (ends in NULL).  Takes the picture. */
static gboolean
save (const char *stem, SceneImage *image, const char *line, const char *const *options)
{
  g_autofree char *picture = g_strconcat (stem, ".png", NULL);
  g_autofree char *truth = g_strconcat (stem, ".json", NULL);
  json_t *json = json_loads (line, 0, NULL);
  json_t *list = json_array ();
  for (; *options != NULL; options++)
    json_array_append_new (list, json_string (*options));
  json_object_set_new (json, "options", list);
  const gboolean saved =
    scene_image_save (image, picture, 0) && json_dump_file (json, truth, 0) == 0;
  json_decref (json);
  scene_image_free (image);
  return saved;
}

/* The same with the scale that `line` holds, and a card unless it is NULL. */
static gboolean
save_scaled (const char *stem, SceneImage *image, const char *line, const char *card)
{
  char scale[G_ASCII_DTOSTR_BUF_SIZE];
  json_t *json = json_loads (line, 0, NULL);
  g_ascii_dtostr (scale, sizeof scale, json_number_value (json_object_get (json, "mm_per_px")));
  json_decref (json);
  const char *const options[] = { "--scale", scale, card == NULL ? NULL : "--tool", card, NULL };
  return save (stem, image, line, options);
}

typedef struct
{
  SceneDrill drill;
  SceneCamera camera;
  SceneMode mode;
} Side;

static gboolean
save_side (const Side *side, const char *stem, gboolean calibrated)
{
  SceneTruth truth;
  SceneImage *image = scene_render (&side->drill, &side->camera, &truth);
  const char *mode = scene_mode_name (side->mode);
  g_autofree char *line =
    scene_truth_json (stem, mode, FIRST_SEED, &side->drill, &side->camera, &truth);
  g_autofree char *card = g_strconcat (stem, ".tool", NULL);
  g_autofree char *calibration = g_strconcat (stem, ".calib", NULL);
  const char *hand = side->drill.left_hand ? "left" : NULL;
  if (!trial_card_save (&side->drill, NAN, hand, card) ||
      (calibrated && !trial_calibration_save (&side->camera, FIRST_SEED, calibration)))
    return FALSE;
  const char *const options[] = { "--calib", calibration, "--tool", card, NULL };
  return calibrated ? save (stem, image, line, options) : save_scaled (stem, image, line, card);
}

static gboolean
render_side (guint i, const char *stem)
{
  Side side = { .mode = (SceneMode)(i % SCENE_N_MODES) };
  scene_random (FIRST_SEED + i, side.mode, &side.drill, &side.camera);
  return save_side (&side, stem, FALSE);
}

/* Lips up to 9 degrees out of the picture. */
static gboolean
render_turned (guint i, const char *stem)
{
  Side side = { .mode = SCENE_GOOD };
  scene_random (FIRST_SEED + i, side.mode, &side.drill, &side.camera);
  side.camera.turn_deg = (i % 2 == 0 ? 1 : -1) * (double)(i % 19) / 2;
  return save_side (&side, stem, FALSE);
}

static gboolean
render_lit (guint i, const char *stem)
{
  Side side = { .mode = (SceneMode)(i % SCENE_CHIP) };
  scene_random (FIRST_SEED + i, side.mode, &side.drill, &side.camera);
  scene_random_front_light (FIRST_SEED + i, &side.camera);
  return save_side (&side, stem, FALSE);
}

static gboolean
render_near (guint i, const char *stem)
{
  Side side = { .mode = (SceneMode)(i % SCENE_CORNER) };
  scene_random_near (FIRST_SEED + i, side.mode, &side.drill, &side.camera);
  return save_side (&side, stem, TRUE);
}

/* From 120 mm to two metres away, a lens free of distortion, a scale and no calibration. */
static gboolean
render_distance (guint i, const char *stem)
{
  Side side = { .mode = (SceneMode)(i % SCENE_CORNER) };
  scene_random_near (FIRST_SEED + i, side.mode, &side.drill, &side.camera);
  side.camera.k1 = side.camera.k2 = side.camera.shrink_px = 0;
  side.camera.centre_x = side.camera.centre_y = 0;
  side.camera.distance_mm = 120 * pow (2000.0 / 120, (i % 8) / 7.0);
  return save_side (&side, stem, FALSE);
}

static gboolean
render_trap (guint i, const char *stem)
{
  const char *const *kinds = scene_trap_kinds ();
  const char *reasons = NULL;
  const guint n = g_strv_length ((char **)kinds);
  SceneImage *image = scene_trap (kinds[i % n], FIRST_SEED + i / n, &reasons);
  const char *const options[] = { "--scale", "0.01", NULL };
  return save (stem, image, "{\"view\": \"drill-side\", \"truth\": {}}", options);
}

/* What makes pictures worse, step by step past the gates. */
static void
spoil (SceneCamera *camera, SceneDrill *drill, guint kind, double step)
{
  switch (kind)
  {
  case 0: /* out of focus */
    camera->blur_px = 3 + 9 * step;
    break;
  case 1: /* moved */
    camera->motion_px = 6 + 6 * step;
    break;
  case 2: /* lit from the front, the ground as bright */
    camera->front = camera->back * (0.55 + 0.35 * step);
    break;
  case 3: /* too bright on one side */
    camera->back = 0.8 + 0.2 * step;
    camera->light_x = 0.3;
    break;
  case 4: /* noisy */
    camera->shot = 0.02 + 0.15 * step;
    break;
  case 5: /* small */
    scene_camera_aim (camera, drill, (70 + 50 * step) / MIN (camera->width, camera->height));
    break;
  case 6: /* dark */
    camera->back = 0.01 + 0.04 * step;
    camera->shot = camera->read = 0.0005;
    break;
  default: /* dirty */
    camera->dust_body = (guint)(20 + 300 * step);
  }
}

static gboolean
render_graded (guint i, const char *stem)
{
  Side side = { .mode = SCENE_GOOD };
  scene_random (FIRST_SEED + i, side.mode, &side.drill, &side.camera);
  const guint kind = i % 8, strength = i / 8;
  spoil (&side.camera, &side.drill, kind, strength / 5.0);
  return save_side (&side, stem, FALSE);
}

static gboolean
render_plan (guint i, const char *stem)
{
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  const SceneBladeMode mode = (SceneBladeMode)(i % SCENE_BLADE_N_MODES);
  scene_random_blade_plan (FIRST_SEED + i, mode, &blade, &camera);
  SceneImage *image = scene_render_blade_plan (&blade, &camera, &truth);
  g_autofree char *line = scene_blade_plan_json (stem, "", FIRST_SEED, &camera, &truth);
  return save_scaled (stem, image, line, NULL);
}

static gboolean
render_blade (guint i, const char *stem)
{
  SceneBladeSide blade;
  SceneCamera camera;
  SceneBladeSideTruth truth;
  const SceneSideLook look = (SceneSideLook)(i / 2 % SCENE_SIDE_N_LOOKS);
  if (i % 2 == 0)
    scene_random_side_look (FIRST_SEED + i, look, &blade, &camera);
  else
    scene_random_blade_side (FIRST_SEED + i, (SceneBladeMode)(i / 2 % SCENE_BLADE_CHIP), &blade,
                             &camera);
  SceneImage *image = scene_render_blade_side (&blade, &camera, &truth);
  g_autofree char *line = scene_blade_side_json (stem, "", FIRST_SEED, &camera, &truth);
  return save_scaled (stem, image, line, NULL);
}

#define OFF_MM 0.02

/* {"segment_N_deviation_mm": …} of the profile. */
static char *
profile_truth (const SceneProfile *profile, double mm_per_px)
{
  char text[G_ASCII_DTOSTR_BUF_SIZE];
  GString *line = g_string_new ("{\"view\": \"form-plan\", \"mm_per_px\": ");
  g_string_append (line, g_ascii_dtostr (text, sizeof text, mm_per_px));
  g_string_append (line, ", \"truth\": {");
  for (guint k = 0; k < profile->n; k++)
  {
    g_ascii_dtostr (text, sizeof text, profile->segments[k].error);
    g_string_append_printf (line, "%s\"segment_%u_deviation_mm\": %s", k > 0 ? ", " : "", k + 1,
                            text);
  }
  g_string_append (line, "}}");
  return g_string_free (line, FALSE);
}

/* One segment in two pictures of three is off. */
static gboolean
render_form (guint i, const char *stem)
{
  SceneProfile profile;
  SceneCamera camera;
  scene_profile_random (FIRST_SEED + i, &profile, &camera);
  if (i % 3 != 0)
    profile.segments[i % profile.n].error = i % 2 == 0 ? OFF_MM : -OFF_MM;
  g_autofree char *line = profile_truth (&profile, camera.mm_per_px);
  g_autofree char *nominal = scene_profile_text (&profile);
  g_autofree char *path = g_strconcat (stem, ".profile", NULL);
  g_autofree char *card = g_strconcat (stem, ".tool", NULL);
  g_autofree char *text =
    g_strdup_printf ("[tool]\nid = QT-F-0114\nkind = form-tool\nnominal_profile = %s\n[limits]\n"
                     "profile_deviation_max_mm = -0.01 .. 0.01\n"
                     "profile_deviation_min_mm = -0.01 .. 0.01\n",
                     path);
  return g_file_set_contents (path, nominal, -1, NULL) &&
         g_file_set_contents (card, text, -1, NULL) &&
         save_scaled (stem, scene_render_profile (&profile, &camera), line, card);
}

static gboolean
render_face (guint i, const char *stem)
{
  SceneFace face;
  scene_random_face (FIRST_SEED + i, &face);
  g_autofree char *line = scene_face_json (stem, &face);
  return save_scaled (stem, scene_render_face (&face), line, NULL);
}

static gboolean
render_end (guint i, const char *stem)
{
  SceneEnd end;
  scene_random_end (FIRST_SEED + i, &end);
  g_autofree char *line = scene_end_json (stem, &end);
  return save_scaled (stem, scene_render_end (&end), line, NULL);
}

static gboolean
render_tip (guint i, const char *stem)
{
  SceneDrill drill;
  SceneTip tip;
  SceneTipTruth truth;
  scene_random_tip (FIRST_SEED + i, &drill, &tip);
  scene_tip_truth (&drill, &truth);
  g_autofree char *line = scene_tip_json (stem, &drill, &tip, &truth);
  return save_scaled (stem, scene_render_tip (&drill, &tip), line, NULL);
}

static gboolean
render_relief (guint i, const char *stem)
{
  SceneDrill drill;
  SceneRelief relief;
  SceneReliefTruth truth;
  scene_random_relief (FIRST_SEED + i, &drill, &relief);
  scene_relief_truth (&drill, &relief, &truth);
  g_autofree char *line = scene_relief_json (stem, &drill, &relief, &truth);
  g_autofree char *card = g_strconcat (stem, ".tool", NULL);
  return trial_card_save (&drill, NAN, NULL, card) &&
         save_scaled (stem, scene_render_relief (&drill, &relief), line, card);
}

static const struct
{
  const char *name;
  guint n;
  Render render;
} sets[] = {
  { "side", 30, render_side },        { "turned", 30, render_turned },
  { "lit", 24, render_lit },          { "near", 16, render_near },
  { "trap", 40, render_trap },        { "graded", 48, render_graded },
  { "distance", 8, render_distance }, { "plan", 30, render_plan },
  { "blade", 24, render_blade },      { "form", 12, render_form },
  { "face", 16, render_face },        { "end", 10, render_end },
  { "tip", 10, render_tip },          { "relief", 8, render_relief },
};

static gboolean
render (const char *folder, const char *name)
{
  for (gsize s = 0; s < G_N_ELEMENTS (sets); s++)
    for (guint i = 0; i < sets[s].n && g_str_equal (sets[s].name, name); i++)
    {
      g_autofree char *stem = g_strdup_printf ("%s/%s-%03u", folder, name, i);
      if (sets[s].render (i, stem))
        continue;
      g_printerr ("can't write %s\n", stem);
      return FALSE;
    }
  return TRUE;
}

/* ---- Measure ------------------------------------------------------------------------ */

/* {"verdict", "reason", "truth", "quantities"} of one picture. */
static json_t *
measure_one (const char *stem, json_t *scene)
{
  g_autofree char *picture = g_strconcat (stem, ".png", NULL);
  g_autoptr (GPtrArray) options = g_ptr_array_new ();
  gsize i;
  json_t *option;
  json_array_foreach (json_object_get (scene, "options"), i, option)
    g_ptr_array_add (options, (gpointer)json_string_value (option));
  g_ptr_array_add (options, NULL);
  g_autoptr (TrialRun) run = trial_measure_with (trial_program (), trial_text (scene, "view"),
                                                 picture, (const char *const *)options->pdata);
  json_t *result = json_object ();
  static const char *const keys[] = { "verdict", "reason", "quantities" };
  for (gsize k = 0; k < G_N_ELEMENTS (keys); k++)
    json_object_set (result, keys[k], json_object_get (run->record, keys[k]));
  json_object_set (result, "truth", json_object_get (scene, "truth"));
  return result;
}

static gboolean
measure (const char *folder, const char *name)
{
  for (guint i = 0;; i++)
  {
    g_autofree char *stem = g_strdup_printf ("%s/%s-%03u", folder, name, i);
    g_autofree char *path = g_strconcat (stem, ".json", NULL);
    json_t *scene = json_load_file (path, 0, NULL);
    if (scene == NULL)
      return i > 0;
    json_t *result = measure_one (stem, scene);
    g_autofree char *line = json_dumps (result, JSON_COMPACT);
    puts (line);
    json_decref (result);
    json_decref (scene);
  }
}

/* ---- Compare ------------------------------------------------------------------------ */

typedef struct
{
  guint n;           /* values in both */
  double squares[2]; /* of their errors */
  double U[2];       /* sum of the logarithms of U */
} Pair;

typedef struct
{
  guint refused[2], values[2], inside[2], tools, quantities; /* last two: verdicts that changed */
  GHashTable *pairs;                                         /* quantity's name to Pair */
} Difference;

static double
number_of (const json_t *result, const char *name, const char *key)
{
  const json_t *quantity = json_object_get (json_object_get (result, "quantities"), name);
  const json_t *number = json_object_get (quantity, key);
  return json_is_number (number) ? json_number_value (number) : NAN;
}

static void
add_quantity (Difference *difference, json_t *const results[2], const char *name, double truth)
{
  double error[2], U[2];
  for (guint k = 0; k < 2; k++)
  {
    error[k] = number_of (results[k], name, "value") - truth;
    U[k] = number_of (results[k], name, "U");
    difference->values[k] += isnan (error[k]) ? 0 : 1;
    difference->inside[k] += fabs (error[k]) <= U[k];
  }
  if (isnan (error[0]) || isnan (error[1]))
    return;
  Pair *pair = g_hash_table_lookup (difference->pairs, name);
  if (pair == NULL)
    g_hash_table_insert (difference->pairs, g_strdup (name), pair = g_new0 (Pair, 1));
  pair->n++;
  for (guint k = 0; k < 2; k++)
  {
    pair->squares[k] += error[k] * error[k];
    pair->U[k] += log (MAX (U[k], 1e-12));
  }
}

static void
add_picture (Difference *difference, json_t *const results[2])
{
  const char *verdicts[2];
  for (guint k = 0; k < 2; k++)
  {
    verdicts[k] = trial_text (results[k], "verdict");
    difference->refused[k] += g_strcmp0 (verdicts[k], "retake") == 0;
  }
  difference->tools += g_strcmp0 (verdicts[0], verdicts[1]) != 0;
  const char *name;
  json_t *quantity, *truth;
  json_t *others = json_object_get (results[1], "quantities");
  json_object_foreach (json_object_get (results[0], "quantities"), name, quantity)
  {
    const char *verdict = trial_text (json_object_get (others, name), "verdict");
    difference->quantities +=
      json_object_size (others) > 0 && g_strcmp0 (trial_text (quantity, "verdict"), verdict) != 0;
  }
  json_object_foreach (json_object_get (results[0], "truth"), name, truth)
    add_quantity (difference, results, name, json_number_value (truth));
}

/* The quantity that changed most: `name` (NULL: by less than half a per cent) and by what factor.
 */
static double
greatest_change (const Difference *difference, gboolean of_U, const char **name)
{
  GHashTableIter iter;
  gpointer key, value;
  double greatest = log (1.005), factor = 1;
  *name = NULL;
  g_hash_table_iter_init (&iter, difference->pairs);
  while (g_hash_table_iter_next (&iter, &key, &value))
  {
    const Pair *pair = value;
    const double change =
      of_U ? (pair->U[1] - pair->U[0]) / pair->n
           : 0.5 * log (MAX (pair->squares[1], 1e-18) / MAX (pair->squares[0], 1e-18));
    if (fabs (change) < greatest || (fabs (change) == greatest && strcmp (key, *name) > 0))
      continue;
    greatest = fabs (change);
    factor = exp (change);
    *name = key;
  }
  return factor;
}

static void
append_count (GString *text, const char *what, const guint n[2])
{
  if (n[0] != n[1])
    g_string_append_printf (text, "%s %u → %u; ", what, n[0], n[1]);
}

static void
append_change (GString *text, const Difference *difference, gboolean of_U)
{
  const char *name;
  const double factor = greatest_change (difference, of_U, &name);
  const char *what = of_U ? "U" : "RMS";
  if (name == NULL)
    return;
  if (factor < 1e-3 || factor > 1e3)
    g_string_append_printf (text, "%s of `%s` %s 0; ", what, name, factor < 1 ? "→" : "from");
  else
    g_string_append_printf (text, "%s ×%.3g `%s`; ", what, factor, name);
}

/* One line. */
static char *
describe (const Difference *difference)
{
  GString *text = g_string_new (NULL);
  append_count (text, "refused", difference->refused);
  append_count (text, "values", difference->values);
  if (difference->tools + difference->quantities > 0)
    g_string_append_printf (text, "verdicts changed: tools %u, quantities %u; ", difference->tools,
                            difference->quantities);
  double inside[2];
  for (guint k = 0; k < 2; k++)
    inside[k] = 100.0 * difference->inside[k] / MAX (difference->values[k], 1);
  if (fabs (inside[0] - inside[1]) >= 0.05)
    g_string_append_printf (text, "in U %.1f → %.1f %%; ", inside[0], inside[1]);
  append_change (text, difference, FALSE);
  append_change (text, difference, TRUE);
  if (text->len == 0)
    g_string_append (text, "no change; ");
  g_string_truncate (text, text->len - 2);
  return g_string_free (text, FALSE);
}

static gboolean
compare (const char *path, const char *other)
{
  g_autofree char *texts[2] = { NULL, NULL };
  if (!g_file_get_contents (path, &texts[0], NULL, NULL) ||
      !g_file_get_contents (other, &texts[1], NULL, NULL))
    return FALSE;
  g_auto (GStrv) first = g_strsplit (g_strstrip (texts[0]), "\n", -1);
  g_auto (GStrv) second = g_strsplit (g_strstrip (texts[1]), "\n", -1);
  if (g_strv_length (first) != g_strv_length (second))
    return FALSE;
  g_autoptr (GHashTable) pairs = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, g_free);
  Difference difference = { .pairs = pairs };
  for (guint i = 0; first[i] != NULL; i++)
  {
    json_t *const results[2] = { json_loads (first[i], 0, NULL), json_loads (second[i], 0, NULL) };
    add_picture (&difference, results);
    json_decref (results[0]);
    json_decref (results[1]);
  }
  g_autofree char *line = describe (&difference);
  puts (line);
  return TRUE;
}

int
main (int argc, char **argv)
{
  gboolean done = argc > 3;
  if (argc == 4 && g_str_equal (argv[1], "compare"))
    done = compare (argv[2], argv[3]);
  else if (argc > 3 && g_str_equal (argv[1], "render"))
    for (int i = 3; done && i < argc; i++)
      done = render (argv[2], argv[i]);
  else if (argc > 3 && g_str_equal (argv[1], "measure") && trial_program () != NULL)
    for (int i = 3; done && i < argc; i++)
      done = measure (argv[2], argv[i]);
  else
    done = FALSE;
  if (!done)
    g_printerr ("usage: benchmark-sensitivity render|measure FOLDER SET..., or compare A B\n");
  return done ? 0 : 64;
}
