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
#define N_FACES trial_scenes (16, 4)
#define N_ENDS trial_scenes (12, 3)

/* --- Sums ------------------------------------------------------------------------- */

typedef struct
{
  double squares, greatest, U;
  guint n, covered, off; /* `off`: outside the tolerance that is asked */
} Sum;

typedef struct
{
  const char *name;
  double relative, px; /* tolerance: relative + px, or degrees in `px` for angles */
  gboolean angle;
  Sum sum;
} Wanted;

enum
{
  LAND,
  BURN,
  CHISEL,
  WEB,
  N_WANTED
};

typedef struct
{
  Wanted wanted[N_WANTED];
  GString *wrong;
  guint n, n_judged;
} Trials;

static Trials *
trials_new (void)
{
  static const Wanted wanted[N_WANTED] = {
    [LAND] = { "wear_land_mean_mm", 0.10, 1.5, FALSE, { 0, 0, 0, 0, 0, 0 } },
    [BURN] = { "burn_depth_max_mm", 0.15, 3.0, FALSE, { 0, 0, 0, 0, 0, 0 } },
    [CHISEL] = { "chisel_edge_angle_deg", 0.0, 0.7, TRUE, { 0, 0, 0, 0, 0, 0 } },
    [WEB] = { "web_thickness_mm", 0.02, 0.0, FALSE, { 0, 0, 0, 0, 0, 0 } },
  };
  Trials *trials = g_new0 (Trials, 1);
  memcpy (trials->wanted, wanted, sizeof wanted);
  trials->wrong = g_string_new (NULL);
  return trials;
}

static void
trials_free (Trials *trials)
{
  g_string_free (trials->wrong, TRUE);
  g_free (trials);
}

static json_t *
quantity_of (const json_t *record, const char *name)
{
  return json_object_get (json_object_get (record, "quantities"), name);
}

static void
compare (Trials *trials, guint i, const json_t *record, double truth, double mm_per_px,
         const char *picture)
{
  Wanted *wanted = &trials->wanted[i];
  const double value = trial_value (record, wanted->name);
  if (isnan (value))
    return;
  const double error = value - truth;
  const double U = json_number_value (json_object_get (quantity_of (record, wanted->name), "U"));
  const double most =
    wanted->angle ? wanted->px : wanted->relative * truth + wanted->px * mm_per_px;
  wanted->sum.n++;
  wanted->sum.squares += error * error;
  wanted->sum.greatest = MAX (wanted->sum.greatest, fabs (error));
  wanted->sum.covered += fabs (error) <= U;
  wanted->sum.U += U;
  if (fabs (error) <= most)
    return;
  wanted->sum.off++;
  g_string_append_printf (trials->wrong, "%s: %s is %.4f, truth %.4f, U %.4f\n", picture,
                          wanted->name, value, truth, U);
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
print_sums (const Trials *trials, const char *what)
{
  g_print ("%s: %u pictures\n", what, trials->n);
  for (guint i = 0; i < N_WANTED; i++)
  {
    const Wanted *wanted = &trials->wanted[i];
    if (wanted->sum.n > 0)
      g_print ("%-24s n %2u  RMS %.4f  max %.4f  |e| <= U %u\n", wanted->name, wanted->sum.n,
               sqrt (wanted->sum.squares / wanted->sum.n), wanted->sum.greatest,
               wanted->sum.covered);
  }
}

/* U must hold what it promises, and not by padding. */
static void
assert_covered (const Trials *trials, guint i)
{
  const Sum *sum = &trials->wanted[i].sum;
  const double rms = sqrt (sum->squares / sum->n), U = sum->U / sum->n;
  g_print ("%-24s U over RMS error %.1f\n", trials->wanted[i].name, U / rms);
  assert_true (sum->covered >= 0.95 * sum->n - 0.5);
  /* An RMS of n errors is itself known to some 1 / sqrt (2 n). */
  assert_true (U <= 3 * rms * (1 + 1 / sqrt (sum->n)));
}

static void
assert_good (const Trials *trials)
{
  guint n = 0, covered = 0;
  for (guint i = 0; i < N_WANTED; i++)
  {
    n += trials->wanted[i].sum.n;
    covered += trials->wanted[i].sum.covered;
  }
  if (trials->wrong->len > 0)
    g_printerr ("%s", trials->wrong->str);
  assert_int_equal (trials->wrong->len, 0);
  assert_true (n > 0 && covered >= 0.9 * n);
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
      compare (trials, BURN, run->record, scene_heat_greatest (&face.heat, seed),
               face.lamp.mm_per_px, name);
    compare (trials, LAND, run->record, scene_face_land_mean (&face), face.lamp.mm_per_px, name);
    trials->n++;
  }
  print_sums (trials, "rendered faces");
  assert_covered (trials, BURN);
  assert_true (trials->n_judged >= N_FACES - 1);
  assert_good (trials);
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
    compare (trials, CHISEL, run->record, end.chisel_deg, end.lamp.mm_per_px, name);
    compare (trials, WEB, run->record, end.web, end.lamp.mm_per_px, name);
    check_presence (trials, run->record, end.heat.depth > 0, name);
    if (end.heat.depth > 0)
      compare (trials, BURN, run->record, scene_heat_greatest (&end.heat, seed), end.lamp.mm_per_px,
               name);
    wrong_hands +=
      g_strcmp0 (trial_text (run->record, "hand"), end.left_hand ? "left" : "right") != 0;
    trials->n++;
  }
  print_sums (trials, "rendered drill ends");
  assert_covered (trials, BURN);
  assert_int_equal (wrong_hands, 0);
  assert_good (trials);
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
  for (int i = 0; i < 2 * SCENE_N_COVERS; i++)
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
  const double burn = number_at (truth, "burn", "width"),
               chisel = number_at (truth, NULL, "chisel_edge_angle_deg"),
               web = number_at (truth, NULL, "web_thickness_mm");
  const double land =
    first_known (number_at (truth, "wear", "VB_mean"), number_at (truth, "wear", "VB"));
  check_presence (trials, run->record, !isnan (burn), file);
  if (!isnan (burn))
    compare (trials, BURN, run->record, burn, scale, file);
  if (!isnan (land))
    compare (trials, LAND, run->record, land, scale, file);
  if (!isnan (chisel))
    compare (trials, CHISEL, run->record, chisel, scale, file);
  if (!isnan (web))
    compare (trials, WEB, run->record, web, scale, file);
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
  print_sums (trials, "reference pictures");
  assert_true (trials->n >= 8);
  assert_good (trials);
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
main (void)
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
    cmocka_unit_test (reference_pictures_are_measured),
    cmocka_unit_test (reference_reliefs_are_measured_or_refused),
    cmocka_unit_test (photographs_of_other_things_show_no_burn),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
