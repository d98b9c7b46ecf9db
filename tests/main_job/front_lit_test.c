/*
 * The whole job on front-lit views: pictures rendered here with burn, wear lands and chisel edges
 * of known size, coatings and paint that are no burn; and reference pictures and photographs
 * where they are at hand, looked for as in drill_side_test.c.
 */
#include "base/testing.h"
#include "scene/flank.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>

#define FIRST_SEED 300
#define N_FACES trial_scenes (40, 4)
#define N_ENDS trial_scenes (24, 3)

/* --- Sums ------------------------------------------------------------------------- */

typedef struct
{
  TrialTable *table;
  GString *wrong;
  guint n, n_judged;
} Trials;

/* What is asked of each picture. */
typedef struct
{
  TrialQuantity quantity;
  double relative, px; /* tolerance: relative + px, or degrees in `px` for angles */
} Wanted;

static const Wanted land = { TRIAL_WEAR_LAND_MEAN, 0.10, 1.5 };
static const Wanted burn = { TRIAL_BURN_DEPTH_MAX, 0.15, 3.0 };
static const Wanted chisel = { TRIAL_CHISEL_EDGE_ANGLE, 0.0, 0.7 };
static const Wanted web = { TRIAL_WEB_THICKNESS, 0.02, 0.0 };

/* And of all: about 1.5 times what is achieved, RMS in degrees or px, of the web in parts of it. */
static const TrialGate face_gates[] = {
  { TRIAL_WEAR_LAND_MEAN, 1.6, 0, 0, 0 },
  { TRIAL_BURN_DEPTH_MAX, 3.9, 0, 0, 0 },
};

/* Painted chisel edges are straight: what U has for their form is needed by ground ones alone, as
 * the references', where U is 2.6 times the RMS. */
static const TrialGate end_gates[] = {
  { TRIAL_CHISEL_EDGE_ANGLE, 0.23, 6, 0, 0 },
  { TRIAL_WEB_THICKNESS, 0.016, 0, 0, 0 },
  { TRIAL_BURN_DEPTH_MAX, 2.4, 0, 0, 0 },
};

static const TrialGate reference_gates[] = {
  { TRIAL_CHISEL_EDGE_ANGLE, 0.31, 0, 0, 0 },
  { TRIAL_WEB_THICKNESS, 0.012, 0, 0, 0 },
  { TRIAL_WEAR_LAND_MEAN, 0.54, 0, 0, 0 },
  { TRIAL_BURN_DEPTH_MAX, 15, 0, 0, 0 },
};

static Trials *
trials_new (void)
{
  Trials *trials = g_new0 (Trials, 1);
  trials->table = trial_table_new ();
  trials->wrong = g_string_new (NULL);
  return trials;
}

static void
trials_free (Trials *trials)
{
  trial_table_free (trials->table);
  g_string_free (trials->wrong, TRUE);
  g_free (trials);
}

static json_t *
quantity_of (const json_t *record, const char *name)
{
  return json_object_get (json_object_get (record, "quantities"), name);
}

static void
compare (Trials *trials, const Wanted *wanted, const json_t *record, double truth, double mm_per_px,
         const char *picture)
{
  const char *name = trial_quantity_name (wanted->quantity);
  const gboolean is_angle = g_str_has_suffix (name, "_deg");
  /* No land and none told: U says how wide a one would be seen. */
  if (!(truth > 0 || trial_value (record, name) > 0))
    return;
  const double unit = is_angle ? 1.0 : wanted->px > 0 ? mm_per_px : truth;
  if (!trial_table_add_one (trials->table, wanted->quantity, record, truth, unit))
    return;
  const double value = trial_value (record, name);
  const double most = is_angle ? wanted->px : wanted->relative * truth + wanted->px * mm_per_px;
  if (fabs (value - truth) > most)
    g_string_append_printf (trials->wrong, "%s: %s is %.4f, truth %.4f\n", picture, name, value,
                            truth);
}

/* Burn present or absent? */
static void
check_presence (Trials *trials, const json_t *record, gboolean burnt, const char *picture)
{
  const double depth = trial_value (record, "burn_depth_max_mm");
  if (isnan (depth))
    return;
  trials->n_judged++;
  if ((depth > 0) != burnt)
    g_string_append_printf (trials->wrong, "%s: burn %s\n", picture, burnt ? "missed" : "invented");
}

static void
assert_good (const Trials *trials, const char *what, const TrialGate *gates, gsize n_gates)
{
  if (trials->wrong->len > 0)
    g_printerr ("%s", trials->wrong->str);
  assert_int_equal (trials->wrong->len, 0);
  assert_true (trial_gates_hold (what, trials->table, gates, n_gates));
}

/* --- Pictures rendered here -------------------------------------------------------- */

static TrialRun *
measured (SceneImage *image, const char *view, double mm_per_px)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "picture.png", NULL);
  assert_true (scene_image_save (image, path, 0));
  TrialRun *run = trial_measure_view (trial_program (), view, path, mm_per_px);
  g_remove (path);
  g_rmdir (folder);
  scene_image_free (image);
  assert_non_null (run->record);
  return run;
}

static void
rendered_faces_are_measured (void **state)
{
  (void)state;
  Trials *trials = trials_new ();
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_FACES; seed++)
  {
    SceneFace face;
    scene_random_face (seed, &face);
    g_autofree char *name = g_strdup_printf ("face %u", (guint)seed);
    g_autoptr (TrialRun) run =
      measured (scene_render_face (&face), "blade-face", face.lamp.mm_per_px);
    if (trial_is_retake (run))
      g_string_append_printf (trials->wrong, "%s: %s\n", name, trial_text (run->record, "reason"));
    check_presence (trials, run->record, face.heat.depth > 0, name);
    if (face.heat.depth > 0)
      compare (trials, &burn, run->record, scene_heat_greatest (&face.heat, seed),
               face.lamp.mm_per_px, name);
    compare (trials, &land, run->record, scene_face_land_mean (&face), face.lamp.mm_per_px, name);
    trials->n++;
  }
  assert_true (trials->n_judged + N_FACES / 20 >= N_FACES);
  assert_good (trials, "rendered faces", face_gates, G_N_ELEMENTS (face_gates));
  trials_free (trials);
}

static void
rendered_drill_ends_are_measured (void **state)
{
  (void)state;
  Trials *trials = trials_new ();
  guint wrong_hands = 0;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_ENDS; seed++)
  {
    SceneEnd end;
    scene_random_end (seed, &end);
    g_autofree char *name = g_strdup_printf ("end %u", (guint)seed);
    g_autoptr (TrialRun) run = measured (scene_render_end (&end), "drill-end", end.lamp.mm_per_px);
    if (trial_is_retake (run))
    {
      g_string_append_printf (trials->wrong, "%s: %s\n", name, trial_text (run->record, "reason"));
      continue;
    }
    compare (trials, &chisel, run->record, end.chisel_deg, end.lamp.mm_per_px, name);
    compare (trials, &web, run->record, end.web, end.lamp.mm_per_px, name);
    check_presence (trials, run->record, end.heat.depth > 0, name);
    if (end.heat.depth > 0)
      compare (trials, &burn, run->record, scene_heat_greatest (&end.heat, seed),
               end.lamp.mm_per_px, name);
    wrong_hands +=
      g_strcmp0 (trial_text (run->record, "hand"), end.left_hand ? "left" : "right") != 0;
    trials->n++;
  }
  assert_int_equal (wrong_hands, 0);
  assert_good (trials, "rendered drill ends", end_gates, G_N_ELEMENTS (end_gates));
  trials_free (trials);
}

static gboolean
has_finding (const json_t *record, const char *code)
{
  gsize i;
  json_t *finding;
  json_array_foreach (json_object_get (record, "findings"), i,
                      finding) if (g_strcmp0 (json_string_value (json_object_get (finding, "code")),
                                              code) == 0) return TRUE;
  return FALSE;
}

static void
coatings_and_paint_are_no_burn (void **state)
{
  (void)state;
  for (int i = 0; i < (int)trial_scenes (2, 1) * SCENE_N_COVERS; i++)
  {
    SceneFace face;
    scene_random_face (FIRST_SEED + (i % 2 == 0 ? 1 : 3), &face); /* without and with a land */
    face.cover = (SceneCover)(i / 2);
    if (face.cover == SCENE_BARE)
      continue;
    g_autoptr (TrialRun) run =
      measured (scene_render_face (&face), "blade-face", face.lamp.mm_per_px);
    assert_false (trial_is_retake (run));
    assert_true (isnan (trial_value (run->record, "burn_depth_max_mm")));
    assert_true (has_finding (run->record, "burn-unjudged"));
    assert_false (has_finding (run->record, "burn"));
  }
}

/* A lamp of tungsten's colour, unbalanced. */
static void
a_coloured_lamp_is_no_burn (void **state)
{
  (void)state;
  SceneFace face;
  scene_random_face (FIRST_SEED + 1, &face);
  face.lamp.lamp[0] = 1.15;
  face.lamp.lamp[2] = 0.7;
  g_autoptr (TrialRun) run =
    measured (scene_render_face (&face), "blade-face", face.lamp.mm_per_px);
  assert_false (has_finding (run->record, "burn"));
}

/* A blade that comes in from below, burnt along all its edge. */
static void
all_burnt (double depth, double hottest, gboolean card, SceneFace *face)
{
  scene_random_face (FIRST_SEED, face);
  face->lamp.roll_deg = 1.5;
  face->land = 0;
  face->card = card;
  face->heat = (SceneHeat){
    .depth = depth * face->width, .hottest = hottest, .from = -0.5, .to = 1.5, .bend = 1.0
  };
}

static TrialRun *
measured_face (const SceneFace *face)
{
  return measured (scene_render_face (face), "blade-face", face->lamp.mm_per_px);
}

static void
edges_burnt_from_end_to_end_are_judged (void **state)
{
  (void)state;
  /* The last reaches into the half that is taken for clean. */
  static const double depths[] = { 0.15, 0.3, 0.55 };
  for (guint i = 0; i < G_N_ELEMENTS (depths); i++)
  {
    SceneFace face;
    all_burnt (depths[i], 0.8, FALSE, &face);
    g_autoptr (TrialRun) run = measured_face (&face);
    assert_true (has_finding (run->record, "burn"));
    assert_near (trial_value (run->record, "burn_depth_max_mm"), face.heat.depth,
                 0.15 * face.heat.depth + 3 * face.lamp.mm_per_px);
  }
}

/* Heat beyond what is in view leaves no clean steel: then a grey card serves, if there is one. */
static void
a_grey_card_serves_where_no_steel_is_clean (void **state)
{
  (void)state;
  for (gboolean card = FALSE; card <= TRUE; card++)
  {
    SceneFace face;
    all_burnt (1.6, 0.9, card, &face);
    g_autoptr (TrialRun) run = measured_face (&face);
    assert_int_equal (has_finding (run->record, "burn"), card);
    assert_int_equal (has_finding (run->record, "grey-card"), card);
    assert_int_equal (has_finding (run->record, "burn-unjudged"), !card);
    /* It goes on out of view. */
    assert_true (isnan (trial_value (run->record, "burn_depth_max_mm")));
    assert_int_equal (g_strcmp0 (trial_text (run->record, "verdict"), "reject") == 0, card);
  }
}

static void
a_grey_card_makes_no_burn_of_coatings (void **state)
{
  (void)state;
  for (int cover = SCENE_BARE; cover <= SCENE_GOLD_COATING; cover++)
  {
    SceneFace face;
    all_burnt (0, 0, TRUE, &face);
    face.cover = (SceneCover)cover;
    g_autoptr (TrialRun) run = measured_face (&face);
    assert_false (has_finding (run->record, "burn"));
    assert_int_equal (has_finding (run->record, "burn-unjudged"), cover != SCENE_BARE);
  }
}

/* --- Reference pictures -------------------------------------------------------------- */

static double
number_at (const json_t *object, const char *group, const char *name)
{
  const json_t *in = group != NULL ? json_object_get (object, group) : object;
  const json_t *value = json_object_get (in, name);
  return json_is_number (value) ? json_number_value (value) : NAN;
}

static double
first_known (double a, double b)
{
  return isnan (a) ? b : a;
}

static void
try_reference (Trials *trials, const char *folder, const json_t *entry)
{
  const char *file = trial_text (entry, "file"), *view = trial_text (entry, "view");
  const json_t *truth = json_object_get (entry, "truth");
  const double scale = number_at (entry, NULL, "mm_per_px");
  g_autofree char *picture = g_build_filename (folder, file, NULL);
  g_autoptr (TrialRun) run = trial_measure_view (trial_program (), view, picture, scale);
  trials->n++;
  if (trial_is_retake (run))
  {
    g_string_append_printf (trials->wrong, "%s: %s\n", file, trial_text (run->record, "reason"));
    return;
  }
  const double burnt = number_at (truth, "burn", "width"),
               angle = number_at (truth, NULL, "chisel_edge_angle_deg"),
               thick = number_at (truth, NULL, "web_thickness_mm");
  const double worn =
    first_known (number_at (truth, "wear", "VB_mean"), number_at (truth, "wear", "VB"));
  check_presence (trials, run->record, !isnan (burnt), file);
  if (!isnan (burnt))
    compare (trials, &burn, run->record, burnt, scale, file);
  if (!isnan (worn))
    compare (trials, &land, run->record, worn, scale, file);
  if (!isnan (angle))
    compare (trials, &chisel, run->record, angle, scale, file);
  if (!isnan (thick))
    compare (trials, &web, run->record, thick, scale, file);
}

static void
reference_pictures_are_measured (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/front-lit");
  if (folder == NULL)
    skip ();
  g_autofree char *path = g_build_filename (folder, "truth-front-lit.json", NULL);
  json_t *list = json_load_file (path, 0, NULL);
  assert_true (json_is_array (list));
  Trials *trials = trials_new ();
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry)
  {
    const char *view = trial_text (entry, "view");
    if (g_str_has_suffix (view, "-face") || g_str_equal (view, "drill-end"))
      try_reference (trials, folder, entry);
  }
  json_decref (list);
  assert_true (trials->n >= 8);
  assert_good (trials, "reference pictures", reference_gates, G_N_ELEMENTS (reference_gates));
  trials_free (trials);
}

/* The lip that is seen is A.  Bodies without a straight side in view are refused. */
static void
reference_reliefs_are_measured_or_refused (void **state)
{
  (void)state;
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "renders/front-lit");
  if (folder == NULL)
    skip ();
  g_autofree char *path = g_build_filename (folder, "truth-front-lit.json", NULL);
  json_t *list = json_load_file (path, 0, NULL);
  guint n = 0;
  gsize i;
  json_t *entry;
  json_array_foreach (list, i, entry)
  {
    if (g_strcmp0 (trial_text (entry, "view"), "drill-relief") != 0)
      continue;
    g_autofree char *picture = g_build_filename (folder, trial_text (entry, "file"), NULL);
    g_autoptr (TrialRun) run = trial_measure_view (trial_program (), "drill-relief", picture, NAN);
    if (trial_is_retake (run))
      continue;
    const double truth = number_at (entry, "truth", "lip_relief_A_deg"),
                 value = trial_value (run->record, "lip_relief_deg");
    const double U =
      json_number_value (json_object_get (quantity_of (run->record, "lip_relief_deg"), "U"));
    g_print ("%s: lip relief %.2f, truth %.2f, U %.2f\n", trial_text (entry, "file"), value, truth,
             U);
    assert_true (fabs (value - truth) <= MIN (U, 0.5));
    n++;
  }
  json_decref (list);
  assert_true (n >= 3);
}

/* Whatever they show, none is a tool's flank with burn on it. */
static void
photographs_of_other_things_show_no_burn (void **state)
{
  (void)state;
  static const char *const pictures[] = {
    "v-points/v_bit_20_degrees.jpg",        "v-points/v_bit_45_degrees_fluted.jpg",
    "temper-colours/stained_metal_cc0.jpg", "temper-colours/scratched_metal_cc0.jpg",
    "oxide-colours/6ns_color_swatches.jpg", "oxide-colours/60ns_color_swatches.jpg",
  };
  g_autofree char *folder = trial_references (WS_SOURCE_DIR, "photos");
  if (folder == NULL)
    skip ();
  for (guint i = 0; i < G_N_ELEMENTS (pictures); i++)
    for (guint k = 0; k < 2; k++)
    {
      g_autofree char *picture = g_build_filename (folder, pictures[i], NULL);
      g_autoptr (TrialRun) run =
        trial_measure_view (trial_program (), k == 0 ? "blade-face" : "drill-end", picture, NAN);
      assert_false (has_finding (run->record, "burn"));
    }
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
    cmocka_unit_test (rendered_faces_are_measured),
    cmocka_unit_test (rendered_drill_ends_are_measured),
    cmocka_unit_test (coatings_and_paint_are_no_burn),
    cmocka_unit_test (a_coloured_lamp_is_no_burn),
    cmocka_unit_test (edges_burnt_from_end_to_end_are_judged),
    cmocka_unit_test (a_grey_card_serves_where_no_steel_is_clean),
    cmocka_unit_test (a_grey_card_makes_no_burn_of_coatings),
  };
  const struct CMUnitTest references[] = {
    cmocka_unit_test (reference_pictures_are_measured),
    cmocka_unit_test (reference_reliefs_are_measured_or_refused),
    cmocka_unit_test (photographs_of_other_things_show_no_burn),
  };
  return argc > 1 && strcmp (argv[1], "references") == 0
           ? cmocka_run_group_tests (references, NULL, NULL)
           : cmocka_run_group_tests (tests, NULL, NULL);
}
