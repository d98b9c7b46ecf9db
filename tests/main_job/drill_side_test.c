/*
 * The main job, end to end: the program measures pictures whose truth is known, and error,
 * stated uncertainty and verdict are judged together.
 *
 * The pictures are rendered here, and, where they lie beside the project, come from another
 * generator and from real cameras as well ("reference pictures").  These are looked for in
 * the folder that WHETSIGHT_REFERENCES names, else beside the source folder; without them
 * their tests are skipped and say so.
 */
#include "base/testing.h"
#include "scene/scene.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>

/* Six scenes each: so many that 95 % can be told from less. */
#define N_SEEDS trial_scenes (10, 1)
#define FIRST_SEED 100

/* --- Pictures measured so far ------------------------------------------------ */

typedef struct
{
  TrialTable *table;
  GString *wrong_verdicts; /* a line for each picture */
  GString *wrong_chips;
  GString *refused;   /* pictures that should have been measured */
  GString *mistaken;  /* accepted or rejected against the truth */
  GString *uncovered; /* a quantity off by more than U */
  guint n, expected;
  const char *what;
  const TrialGate *gates;
  gsize n_gates;
} Trials;

static Trials *
trials_new (void)
{
  Trials *trials = g_new0 (Trials, 1);
  trials->table = trial_table_new ();
  trials->wrong_verdicts = g_string_new (NULL);
  trials->wrong_chips = g_string_new (NULL);
  trials->refused = g_string_new (NULL);
  trials->mistaken = g_string_new (NULL);
  trials->uncovered = g_string_new (NULL);
  return trials;
}

static void
trials_free (Trials *trials)
{
  if (trials == NULL)
    return;
  trial_table_free (trials->table);
  g_string_free (trials->wrong_verdicts, TRUE);
  g_string_free (trials->wrong_chips, TRUE);
  g_string_free (trials->refused, TRUE);
  g_string_free (trials->mistaken, TRUE);
  g_string_free (trials->uncovered, TRUE);
  g_free (trials);
}

/* `what` is taken over. */
static void
note (GString *list, const char *picture, char *what)
{
  if (what == NULL)
    return;
  g_autofree char *name = g_path_get_basename (picture);
  g_string_append_printf (list, "%s: %s\n", name, what);
  g_free (what);
}

/* A verdict that truth belies: accepted though outside the limits, or the other way round. */
static char *
check_against_truth (const json_t *record, const json_t *truth)
{
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
  {
    const char *name = trial_quantity_name ((TrialQuantity)q);
    const json_t *entry = json_object_get (json_object_get (record, "quantities"), name);
    const json_t *expected = json_object_get (truth, name);
    const char *verdict = trial_text (entry, "verdict");
    if (verdict == NULL || !json_is_number (expected))
      continue;
    const double value = json_number_value (expected);
    const json_t *lower = json_object_get (entry, "lower"),
                 *upper = json_object_get (entry, "upper");
    const gboolean inside = (!json_is_number (lower) || value >= json_number_value (lower)) &&
                            (!json_is_number (upper) || value <= json_number_value (upper));
    if (strcmp (verdict, inside ? "reject" : "accept") == 0)
      return g_strdup_printf ("%s is %g in truth: %s is wrong", name, value, verdict);
  }
  return NULL;
}

/* Truth lies inside U: never a confident wrong number. */
static char *
check_covered (const json_t *record, const json_t *truth)
{
  for (guint q = 0; q < TRIAL_N_QUANTITIES; q++)
  {
    TrialError e;
    if (trial_error (record, truth, (TrialQuantity)q, &e) && fabs (e.error) > e.U)
      return g_strdup_printf ("%s is off by %.6f, U %.6f", trial_quantity_name ((TrialQuantity)q),
                              e.error, e.U);
  }
  return NULL;
}

static void
add_trial (Trials *trials, const char *picture, double mm_per_px, const json_t *truth)
{
  g_autoptr (TrialRun) run = trial_measure (trial_program (), picture, mm_per_px);
  trials->n++;
  note (trials->wrong_verdicts, picture, trial_check_verdicts (run));
  if (trial_is_retake (run))
  {
    note (trials->refused, picture, g_strdup (trial_text (run->record, "reason")));
    return;
  }
  note (trials->wrong_chips, picture, trial_check_chips (run->record, truth, mm_per_px));
  note (trials->mistaken, picture, check_against_truth (run->record, truth));
  note (trials->uncovered, picture, check_covered (run->record, truth));
  trial_table_add (trials->table, run->record, truth);
}

static void
assert_empty (const GString *list)
{
  if (list->len > 0)
    g_printerr ("%s", list->str);
  assert_int_equal (list->len, 0);
}

/* --- What is asked of many pictures ------------------------------------------- */

/* U over RMS of what rests on the lips' places: these have a floor of 0.003 px, the greatest bias
 * of a scan line (D29), which a whole lip of a clean scene comes nowhere near. */
#define LIPS_PADDED 3.5

/* And of what rests on the envelope: its floor of 0.012 px (D12a) is for pictures that were
 * resized, which show no trace of it, and is twice what clean scenes are off. */
#define LENGTH_PADDED 4.7
#define DIAMETER_PADDED 6.6

/* About 1.5 times what is achieved: RMS in degrees or diameters, padding by the rule, median U. */
static const TrialGate rendered_gates[] = {
  { TRIAL_POINT_ANGLE, 0.0058, 0, 0.06, 0 },
  { TRIAL_HALF_ANGLE_A, 0.0041, 0, 0, 0 },
  { TRIAL_HALF_ANGLE_B, 0.0037, 0, 0, 0 },
  { TRIAL_HALF_ANGLE_DIFFERENCE, 0.0051, 0, 0, 0 },
  { TRIAL_LIP_LENGTH_A, 0.000040, LENGTH_PADDED, 0.003, 0 },
  { TRIAL_LIP_LENGTH_B, 0.000042, LENGTH_PADDED, 0.003, 0 },
  { TRIAL_LIP_LENGTH_DIFFERENCE, 0.000064, LIPS_PADDED, 0.003, 0 },
  { TRIAL_LIP_HEIGHT_DIFFERENCE, 0.000029, LIPS_PADDED, 0.003, 0 },
  { TRIAL_POINT_OFFSET, 0.000038, LIPS_PADDED, 0.003, 0 },
  { TRIAL_DIAMETER, 0.000032, DIAMETER_PADDED, 0.003, 0 },
  { TRIAL_POINT_LENGTH, 0.00021, 0, 0, 0 },
  { TRIAL_CORNER_WEAR_A, 0.00035, 0, 0, 0 },
  { TRIAL_CORNER_WEAR_B, 0.00035, 0, 0, 0 },
  { TRIAL_LIP_STRAIGHTNESS_A, 0.000080, 0, 0, 0 },
  { TRIAL_LIP_STRAIGHTNESS_B, 0.000069, 0, 0, 0 },
  { TRIAL_CHISEL_FLAT, 0.0058, 0, 0, 0 },
  { TRIAL_CHIP_DEPTH_A, 0.00079, 0, 0, 0 },
  { TRIAL_CHIP_DEPTH_B, 0.00091, 0, 0, 0 },
  { TRIAL_VIEW_TURN, 1.6, 0, 0, 0 },
};

/* Another generator's drills. */
static const TrialGate reference_gates[] = {
  { TRIAL_POINT_ANGLE, 0.0078, 0, 0.06, 0 },
  { TRIAL_HALF_ANGLE_A, 0.0050, 0, 0, 0 },
  { TRIAL_HALF_ANGLE_B, 0.0066, 0, 0, 0 },
  { TRIAL_HALF_ANGLE_DIFFERENCE, 0.0087, 0, 0, 0 },
  { TRIAL_LIP_LENGTH_A, 0.000068, 0, 0.003, 0 },
  { TRIAL_LIP_LENGTH_B, 0.000032, LENGTH_PADDED, 0.003, 0 },
  { TRIAL_LIP_LENGTH_DIFFERENCE, 0.000077, 0, 0.003, 0 },
  { TRIAL_LIP_HEIGHT_DIFFERENCE, 0.000045, 0, 0.003, 0 },
  { TRIAL_POINT_OFFSET, 0.000053, 0, 0.003, 0 },
  { TRIAL_DIAMETER, 0.000038, DIAMETER_PADDED, 0.003, 0 },
  { TRIAL_CORNER_WEAR_A, 0.00012, 0, 0, 0 },
  { TRIAL_CORNER_WEAR_B, 0.00037, 0, 0, 0 },
  { TRIAL_CHIP_DEPTH_A, 0.0016, 0, 0, 0 },
  { TRIAL_CHIP_DEPTH_B, 0.0032, 0, 0, 0 },
};

static void
skip_without (const Trials *trials)
{
  if (trials == NULL)
    skip ();
}

static void
every_picture_is_measured (void **state)
{
  const Trials *trials = *state;
  skip_without (trials);
  assert_empty (trials->refused);
  assert_int_equal (trials->n, trials->expected);
}

static void
every_quantity_keeps_to_its_gates (void **state)
{
  const Trials *trials = *state;
  skip_without (trials);
  assert_true (trial_gates_hold (trials->what, trials->table, trials->gates, trials->n_gates));
}

static void
chips_are_found_and_none_is_invented (void **state)
{
  const Trials *trials = *state;
  skip_without (trials);
  assert_empty (trials->wrong_chips);
}

static void
verdicts_follow_from_the_numbers (void **state)
{
  const Trials *trials = *state;
  skip_without (trials);
  assert_empty (trials->wrong_verdicts);
}

static void
truth_belies_no_verdict (void **state)
{
  const Trials *trials = *state;
  skip_without (trials);
  assert_empty (trials->mistaken);
}

/* --- Pictures rendered here ---------------------------------------------------- */

static char *
make_folder (void)
{
  return g_dir_make_tmp ("whetsight-XXXXXX", NULL);
}

static void
remove_folder (char *folder)
{
  assert_int_equal (g_rmdir (folder), 0);
  g_free (folder);
}

static void
try_scene (Trials *trials, const char *folder, guint64 seed, SceneMode mode, double turn_deg)
{
  SceneDrill drill;
  SceneCamera camera;
  SceneTruth truth;
  scene_random (seed, mode, &drill, &camera);
  camera.turn_deg = turn_deg;
  g_autoptr (SceneImage) image = scene_render (&drill, &camera, &truth);
  g_autofree char *name =
    g_strdup_printf ("%s-%" G_GUINT64_FORMAT ".png", scene_mode_name (mode), seed);
  g_autofree char *path = g_build_filename (folder, name, NULL);
  assert_true (scene_image_save (image, path, 0));
  g_autofree char *line =
    scene_truth_json (name, scene_mode_name (mode), seed, &drill, &camera, &truth);
  json_t *json = json_loads (line, 0, NULL);
  add_trial (trials, path, camera.mm_per_px, json_object_get (json, "truth"));
  json_decref (json);
  g_remove (path);
}

static int
measure_scenes (void **state)
{
  Trials *trials = trials_new ();
  char *folder = make_folder ();
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
    for (int mode = 0; mode < SCENE_N_MODES; mode++)
      try_scene (trials, folder, seed, (SceneMode)mode, 0.0);
  remove_folder (folder);
  trials->expected = N_SEEDS * SCENE_N_MODES;
  trials->what = "rendered drills";
  trials->gates = rendered_gates;
  trials->n_gates = G_N_ELEMENTS (rendered_gates);
  *state = trials;
  return 0;
}

static int
forget (void **state)
{
  trials_free (*state);
  return 0;
}

/* Lips out of the picture's plane by up to 14 degrees either way. */
static void
turned_drills_are_refused_or_covered (void **state)
{
  (void)state;
  Trials *trials = trials_new ();
  char *folder = make_folder ();
  for (guint i = 0; i < trial_scenes (26, 4); i++)
    try_scene (trials, folder, FIRST_SEED + i, SCENE_GOOD,
               (i % 2 == 0 ? 1.0 : -1.0) * (1.0 + 0.5 * i));
  remove_folder (folder);
  assert_empty (trials->uncovered);
  assert_empty (trials->wrong_verdicts);
  assert_empty (trials->mistaken);
  assert_true (trials->refused->len > 0);
  assert_true (trial_summary (trials->table, TRIAL_POINT_ANGLE).n > 0);
  trials_free (trials);
}

static void
rendered_traps_are_refused (void **state)
{
  (void)state;
  g_autoptr (GString) wrong = g_string_new (NULL);
  char *folder = make_folder ();
  g_autofree char *path = g_build_filename (folder, "trap.png", NULL);
  for (const char *const *kind = scene_trap_kinds (); *kind != NULL; kind++)
    for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + trial_scenes (2, 1); seed++)
    {
      const char *reasons = NULL;
      g_autoptr (SceneImage) image = scene_trap (*kind, seed, &reasons);
      assert_true (scene_image_save (image, path, 0));
      g_autoptr (TrialRun) run = trial_measure (trial_program (), path, 0.01);
      note (wrong, *kind, trial_check_retake (run, reasons));
    }
  g_remove (path);
  remove_folder (folder);
  assert_empty (wrong);
}

/* --- Reference pictures --------------------------------------------------------- */

static json_t *
load_truth (const char *folder, const char *name)
{
  g_autofree char *path = g_build_filename (folder, name, NULL);
  json_t *list = json_load_file (path, 0, NULL);
  assert_true (json_is_array (list));
  return list;
}

static double
scale_of (const json_t *entry)
{
  return json_number_value (json_object_get (entry, "mm_per_px"));
}

static char *
picture_of (const char *folder, const json_t *entry)
{
  return g_build_filename (folder, trial_text (entry, "file"), NULL);
}

static int
measure_references (void **state)
{
  *state = NULL;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/drill-side");
  if (folder == NULL)
    return 0;
  Trials *trials = trials_new ();
  json_t *list = load_truth (folder, "truth-drill-side.json");
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry)
  {
    g_autofree char *picture = picture_of (folder, entry);
    add_trial (trials, picture, scale_of (entry), json_object_get (entry, "truth"));
  }
  trials->expected = (guint)json_array_size (list);
  json_decref (list);
  assert_true (trials->expected >= 20);
  trials->what = "reference drills";
  trials->gates = reference_gates;
  trials->n_gates = G_N_ELEMENTS (reference_gates);
  *state = trials;
  return 0;
}

static void
turned_references_are_refused_or_covered (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/turned");
  if (folder == NULL)
    skip ();
  Trials *trials = trials_new ();
  json_t *list = load_truth (folder, "truth-turned.json");
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry)
  {
    g_autofree char *picture = picture_of (folder, entry);
    add_trial (trials, picture, scale_of (entry), json_object_get (entry, "truth"));
  }
  json_decref (list);
  assert_empty (trials->uncovered);
  assert_empty (trials->wrong_verdicts);
  trials_free (trials);
}

/* Comma-separated.  Free with g_free(). */
static char *
reasons_of (const json_t *entry)
{
  GString *reasons = g_string_new (NULL);
  gsize i;
  json_t *reason;
  json_array_foreach (json_object_get (entry, "reasons"), i, reason)
    g_string_append_printf (reasons, "%s,", json_string_value (reason));
  return g_string_free (reasons, FALSE);
}

static void
trap_references_are_refused (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/traps");
  if (folder == NULL)
    skip ();
  g_autoptr (GString) wrong = g_string_new (NULL);
  json_t *list = load_truth (folder, "truth-traps.json");
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry)
  {
    g_autofree char *picture = picture_of (folder, entry);
    g_autofree char *reasons = reasons_of (entry);
    g_autoptr (TrialRun) run = trial_measure (trial_program (), picture, scale_of (entry));
    note (wrong, picture, trial_check_retake (run, reasons));
  }
  json_decref (list);
  assert_empty (wrong);
}

static void
photographs_of_something_else_are_refused (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "photos/refuse");
  if (folder == NULL)
    skip ();
  g_autoptr (GString) wrong = g_string_new (NULL);
  g_autoptr (GDir) dir = g_dir_open (folder, 0, NULL);
  guint n = 0;
  for (const char *name = g_dir_read_name (dir); name != NULL; name = g_dir_read_name (dir))
  {
    if (!g_str_has_suffix (name, ".jpg") && !g_str_has_suffix (name, ".png"))
      continue;
    g_autofree char *picture = g_build_filename (folder, name, NULL);
    g_autoptr (TrialRun) run = trial_measure (trial_program (), picture, NAN);
    note (wrong, picture, trial_check_retake (run, NULL));
    n++;
  }
  assert_true (n > 0);
  assert_empty (wrong);
}

int
main (int argc, char **argv)
{
  if (trial_program () == NULL)
  {
    print_error ("set WHETSIGHT to the program to test\n");
    return 1;
  }
  const struct CMUnitTest drills[] = {
    cmocka_unit_test (every_picture_is_measured),
    cmocka_unit_test (every_quantity_keeps_to_its_gates),
    cmocka_unit_test (chips_are_found_and_none_is_invented),
    cmocka_unit_test (verdicts_follow_from_the_numbers),
    cmocka_unit_test (truth_belies_no_verdict),
  };
  const struct CMUnitTest refusals[] = {
    cmocka_unit_test (rendered_traps_are_refused),
    cmocka_unit_test (turned_drills_are_refused_or_covered),
  };
  const struct CMUnitTest references[] = {
    cmocka_unit_test (turned_references_are_refused_or_covered),
    cmocka_unit_test (trap_references_are_refused),
    cmocka_unit_test (photographs_of_something_else_are_refused),
  };
  if (argc > 1 && strcmp (argv[1], "references") == 0)
    return cmocka_run_group_tests_name ("reference drills", drills, measure_references, forget) +
           cmocka_run_group_tests_name ("reference refusals", references, NULL, NULL);
  return cmocka_run_group_tests_name ("rendered drills", drills, measure_scenes, forget) +
         cmocka_run_group_tests_name ("refusals", refusals, NULL, NULL);
}
