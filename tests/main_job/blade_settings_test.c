/*
 * Cutoff blades as their camera and their tool card have it: a calibrated lens, little blur,
 * reference sides, and what the card tells of a view.  The pictures are rendered here.
 */
#include "base/testing.h"
#include "optics/lens.h"
#include "scene/blade.h"
#include "trial/gates.h"

#include <glib/gstdio.h>
#include <whetsight/judge.h>
#include <whetsight/view.h>

/* As in blade_test.c. */
#define FIRST_SEED 140

/* ---- Through a calibrated lens ------------------------------------------------------ */

/* The lens of a near camera as the measuring side describes it, known exactly. */
static WsLens
lens_of (const SceneCamera *camera)
{
  WsLens lens = { .model = WS_LENS_PINHOLE, .width = camera->width, .height = camera->height };
  double *p = lens.parameters;
  p[WS_LENS_P_FX] = p[WS_LENS_P_FY] = camera->distance_mm / camera->mm_per_px;
  p[WS_LENS_P_CX] = 0.5 * (camera->width - 1.0) + camera->centre_x;
  p[WS_LENS_P_CY] = 0.5 * (camera->height - 1.0) + camera->centre_y;
  p[WS_LENS_P_K1] = camera->k1;
  p[WS_LENS_P_K2] = camera->k2;
  p[WS_LENS_P_TZ] = camera->distance_mm;
  return lens;
}

static WsImage *
load_rendered (const SceneImage *image)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "blade.png", NULL);
  assert_true (scene_image_save (image, path, 0));
  WsImage *loaded = ws_image_load (path, NULL, WS_IMAGE_GREY, NULL);
  g_remove (path);
  assert_int_equal (g_rmdir (folder), 0);
  assert_non_null (loaded);
  return loaded;
}

static void
check_told (const WsResult *result, const char *stem, double truth, double tolerance)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  assert_near (quantity->value, truth, tolerance);
  assert_near (quantity->value, truth, quantity->U);
}

/* 0.02 mm toward a near camera enlarge lengths in proportion, and turn nothing (B43). */
static void
check_plane (const WsResult *result, double distance_mm)
{
  for (guint i = 0; i < result->quantities->len; i++)
  {
    const WsQuantity *quantity = g_ptr_array_index (result->quantities, i);
    guint n = 0;
    for (guint k = 0; k < quantity->budget->len; k++)
    {
      const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, k);
      if (!g_str_equal (line->name, "alignment: blade off the calibrated plane"))
        continue;
      assert_near (ws_budget_line_contribution (line), 0.02 * quantity->value / distance_mm, 1e-9);
      n++;
    }
    assert_int_equal (n, quantity->known && quantity->info->unit == WS_UNIT_LENGTH ? 1 : 0);
  }
}

/* Distortion of 1.5 % in the corner bends edges; through the lens they are straight again. */
static void
a_calibrated_lens_is_undone (void **state)
{
  (void)state;
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  scene_random_blade_plan (FIRST_SEED, SCENE_BLADE_GOOD, &blade, &camera);
  camera.distance_mm = 120.0;
  camera.centre_x = 6.0;
  const double corner =
    0.5 * hypot (camera.width, camera.height) * camera.mm_per_px / camera.distance_mm;
  camera.k1 = -0.015 / (corner * corner);
  g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsLens lens = lens_of (&camera);
  const WsOptics optics = ws_optics_of_lens (&lens);
  g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
  assert_int_equal (result->reason, WS_RETAKE_NONE);
  check_told (result, "side_rake", truth.side_rake_deg, 0.01);
  check_told (result, "side_clearance_mean", truth.side_clearance_mean_deg, 0.005);
  check_told (result, "edge_width", truth.edge_width_mm, 0.0003 * truth.edge_width_mm);
  check_plane (result, camera.distance_mm);
}

/* ---- Through a lens that nobody calibrated ----------------------------------------------- */

#define CORNER_DISTORTION 0.003 /* what is allowed without a word (K34) */
#define FAR_MM 20000.0

static void
distort (SceneCamera *camera, double distortion)
{
  const double corner =
    0.5 * hypot (camera->width - 1.0, camera->height - 1.0) * camera->mm_per_px / FAR_MM;
  camera->distance_mm = FAR_MM;
  camera->k1 = distortion / (corner * corner);
}

/* Errors in U, counted over what the lens acts on. */
typedef struct
{
  guint n, outside;
  double least_angle_U; /* degrees */
} Covered;

static void
cover (const WsResult *result, const char *stem, double truth, Covered *covered)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  covered->n++;
  covered->outside += fabs (quantity->value - truth) > quantity->U ? 1 : 0;
  if (ws_unit_is_angle (quantity->info->unit))
    covered->least_angle_U = MIN (covered->least_angle_U, quantity->U);
}

/* The scale is the one in the picture's middle, as a small gauge there tells it. */
static void
cover_plan (guint64 seed, double distortion, Covered *covered)
{
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  scene_random_blade_plan (seed, SCENE_BLADE_GOOD, &blade, &camera);
  distort (&camera, distortion);
  g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = { .has_scale = TRUE, .mm_per_px = camera.mm_per_px };
  g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
  cover (result, "side_rake", truth.side_rake_deg, covered);
  cover (result, "side_clearance_mean", truth.side_clearance_mean_deg, covered);
  cover (result, "edge_width", truth.edge_width_mm, covered);
}

static void
cover_side (guint64 seed, double distortion, Covered *covered)
{
  SceneBladeSide blade;
  SceneCamera camera;
  SceneBladeSideTruth truth;
  scene_random_blade_side (seed, SCENE_BLADE_GOOD, &blade, &camera);
  distort (&camera, distortion);
  g_autoptr (SceneImage) picture = scene_render_blade_side (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = { .has_scale = TRUE, .mm_per_px = camera.mm_per_px };
  g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-side"), image, card, &optics);
  cover (result, "front_relief", truth.front_relief_deg, covered);
  cover (result, "top_rake", truth.top_rake_deg, covered);
  cover (result, "tip_height", truth.tip_height_mm, covered);
}

/* A scale says nothing of the lens: errors by a distortion that anybody's lens may have lie in U,
 * and no angle is told to better than 0.1 degrees. */
static void
an_uncalibrated_lens_is_in_U (void **state)
{
  (void)state;
  Covered covered = { 0, 0, 1.0 };
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + trial_scenes (10, 2); seed++)
    for (int sign = -1; sign <= 1; sign += 2)
    {
      cover_plan (seed, sign * CORNER_DISTORTION, &covered);
      cover_side (seed, sign * CORNER_DISTORTION, &covered);
    }
  print_message ("%u of %u outside U, the least of an angle %.3f degrees\n", covered.outside,
                 covered.n, covered.least_angle_U);
  assert_true (covered.outside <= MAX (1, covered.n / 20));
  assert_true (covered.least_angle_U > 0.09);
}

/* ---- Little blur --------------------------------------------------------------------- */

/* How many of a sharp blade's two corners are called round, beyond U. */
static guint
called_round (double rake_deg, double roll_deg, double blur_px)
{
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  scene_blade_plan_init (&blade, 2.0);
  blade.rake_deg = rake_deg;
  scene_camera_init (&camera);
  camera.width = 900;
  camera.height = 700;
  camera.roll_deg = roll_deg;
  camera.blur_px = blur_px;
  camera.shot = 0.008;
  scene_aim_blade (&camera, blade.width, 0.35);
  g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = {
    .has_scale = TRUE, .mm_per_px = camera.mm_per_px, .u_mm_per_px = 0.0, .lens = NULL
  };
  g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
  assert_int_equal (result->reason, WS_RETAKE_NONE);
  const WsQuantity *left = ws_result_quantity (result, "corner_radius_left");
  const WsQuantity *right = ws_result_quantity (result, "corner_radius_right");
  return (left->value > left->U ? 1u : 0u) + (right->value > right->U ? 1u : 0u);
}

/* Where a corner is blurred by less than a px, pixels round it, most where it stands with them. */
static void
pixels_round_no_corner (void **state)
{
  (void)state;
  static const double blurs[] = { 0.5, 0.65, 0.8 }, rolls[] = { 0, 7, 45, 84 }, rakes[] = { 6, -3 };
  guint wrong = 0, n = 0;
  for (gsize b = 0; b < trial_scenes (G_N_ELEMENTS (blurs), 1); b++)
    for (gsize r = 0; r < G_N_ELEMENTS (rolls); r++)
      for (gsize k = 0; k < G_N_ELEMENTS (rakes); k++)
      {
        wrong += called_round (rakes[k], rolls[r], blurs[b]);
        n += 2;
      }
  print_message ("%u of %u sharp corners called round\n", wrong, n);
  assert_true (wrong <= n / 20);
}

/* ---- The tool card --------------------------------------------------------------------- */

/* Against one side the rake differs by that side's clearance from the one against the centre. */
static void
the_card_chooses_the_reference_side (void **state)
{
  (void)state;
  SceneBladePlan blade;
  SceneCamera camera;
  SceneBladePlanTruth truth;
  scene_random_blade_plan (FIRST_SEED + 1, SCENE_BLADE_GOOD, &blade, &camera);
  g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = WS_OPTICS_UNKNOWN;
  const double clearance = truth.side_clearance_mean_deg;
  const double rake = (g_str_equal (truth.hand, "right") ? 1.0 : -1.0) * truth.side_rake_deg;
  /* The left side leans to the left of the centreline, seen toward the front. */
  const double expected[] = { [WS_REFERENCE_CENTRE] = rake,
                              [WS_REFERENCE_LEFT] = rake - clearance,
                              [WS_REFERENCE_RIGHT] = rake + clearance };
  for (int side = WS_REFERENCE_CENTRE; side <= WS_REFERENCE_RIGHT; side++)
  {
    card->reference_side = (WsReferenceSide)side;
    g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
    check_told (result, "side_rake", fabs (expected[side]), 0.01);
    assert_string_equal (result->hand, expected[side] > 0.0 ? "right" : "left");
    check_told (result, "side_clearance_mean", clearance, 0.005);
    assert_int_equal (ws_result_quantity (result, "side_clearance_left") != NULL,
                      side == WS_REFERENCE_RIGHT);
    assert_int_equal (ws_result_quantity (result, "side_clearance_right") != NULL,
                      side == WS_REFERENCE_LEFT);
    if (side == WS_REFERENCE_LEFT)
      check_told (result, "side_clearance_right", 2.0 * clearance, 0.01);
    if (side == WS_REFERENCE_RIGHT)
      check_told (result, "side_clearance_left", 2.0 * clearance, 0.01);
  }
}

/* ---- The fixture ------------------------------------------------------------------------ */

#define FIXTURE_U_DEG 0.03

/* A good blade of clearances that differ, turned about the picture's axis; `card` may choose a
 * side, and the fixture's direction is off by as much. */
static WsResult *
measure_turned (guint64 seed, const WsToolCard *card, double fixture_off_deg,
                SceneBladePlanTruth *truth)
{
  SceneBladePlan blade;
  SceneCamera camera;
  scene_random_blade_plan (seed, SCENE_BLADE_GOOD, &blade, &camera);
  camera.roll_deg = 3.0 * (double)(seed % 9) - 12.0;
  g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  WsOptics optics = { .has_scale = TRUE, .mm_per_px = camera.mm_per_px };
  optics.has_fixture = !isnan (fixture_off_deg);
  optics.fixture = (90.0 - camera.roll_deg + fixture_off_deg) * G_PI / 180.0;
  optics.u_fixture = FIXTURE_U_DEG * G_PI / 180.0;
  return ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
}

/* Nothing in the picture tells the two apart: they are unknown, and their mean is told.  A card
 * that limits one is told what is missing. */
static void
without_a_reference_only_the_mean_is_told (void **state)
{
  (void)state;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsLimit limit = { g_strdup ("side_clearance_left_deg"), 0.5, 3.0 };
  g_array_append_val (card->limits, limit);
  SceneBladePlanTruth truth;
  g_autoptr (WsResult) result = measure_turned (FIRST_SEED + 3, card, NAN, &truth);
  assert_true (fabs (truth.side_clearance_left_deg - truth.side_clearance_right_deg) > 0.05);
  assert_null (ws_result_quantity (result, "side_clearance_left"));
  assert_null (ws_result_quantity (result, "side_clearance_right"));
  check_told (result, "side_clearance_mean", truth.side_clearance_mean_deg, 0.01);
  gboolean told = FALSE;
  for (guint i = 0; i < result->findings->len; i++)
    told |= g_str_equal (((const WsFinding *)g_ptr_array_index (result->findings, i))->code,
                         "sides-not-told");
  assert_true (told);
  assert_int_not_equal (result->verdict, WS_VERDICT_ACCEPT);
}

/* The fixture's direction tells them apart, to as much as it is known itself. */
static void
a_fixture_tells_both_clearances (void **state)
{
  (void)state;
  static const double offs[] = { -0.05, -0.02, 0.0, 0.03, 0.06 };
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  Covered covered = { 0, 0, 1.0 };
  for (guint64 k = 0; k < trial_scenes (10, 3); k++)
  {
    SceneBladePlanTruth truth;
    const double off = offs[k % G_N_ELEMENTS (offs)];
    g_autoptr (WsResult) result = measure_turned (FIRST_SEED + k, card, off, &truth);
    assert_int_equal (result->reason, WS_RETAKE_NONE);
    cover (result, "side_clearance_left", truth.side_clearance_left_deg, &covered);
    cover (result, "side_clearance_right", truth.side_clearance_right_deg, &covered);
    assert_true (ws_result_quantity (result, "side_clearance_left")->U > 2 * FIXTURE_U_DEG);
  }
  print_message ("%u of %u clearances outside U\n", covered.outside, covered.n);
  assert_true (covered.outside <= MAX (1, covered.n / 20));

  SceneBladePlanTruth truth;
  g_autoptr (WsResult) across = measure_turned (FIRST_SEED, card, 90.0, &truth);
  assert_int_equal (across->reason, WS_RETAKE_WRONG_VIEW);
}

static double
line_u (const WsResult *result, const char *stem, const char *name)
{
  const WsQuantity *quantity = ws_result_quantity (result, stem);
  assert_non_null (quantity);
  for (guint k = 0; k < quantity->budget->len; k++)
  {
    const WsBudgetLine *line = &g_array_index (quantity->budget, WsBudgetLine, k);
    if (g_str_equal (line->name, name))
      return ws_budget_line_contribution (line);
  }
  return 0;
}

/* What is counted from a reference has its squareness in U, and the mean hasn't. */
static void
the_reference_has_a_line (void **state)
{
  (void)state;
  SceneBladePlanTruth truth;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  static const char *const by_fixture = "alignment: fixture's direction",
                           *const by_side = "alignment: reference side against the body";
  g_autoptr (WsResult) fixture = measure_turned (FIRST_SEED + 1, card, 0.0, &truth);
  assert_near (line_u (fixture, "side_clearance_left", by_fixture), FIXTURE_U_DEG, 1e-9);
  assert_near (line_u (fixture, "side_clearance_right", by_fixture), FIXTURE_U_DEG, 1e-9);
  assert_near (line_u (fixture, "side_rake", by_fixture), FIXTURE_U_DEG, 1e-9);
  assert_near (line_u (fixture, "side_clearance_mean", by_fixture), 0.0, 0.0);
  card->reference_side = WS_REFERENCE_LEFT;
  g_autoptr (WsResult) side = measure_turned (FIRST_SEED + 1, card, NAN, &truth);
  assert_near (line_u (side, "side_clearance_right", by_side), 0.05, 1e-9);
  assert_near (line_u (side, "side_rake", by_side), 0.05, 1e-9);
  assert_near (line_u (side, "side_clearance_mean", by_side), 0.0, 0.0);
  g_autoptr (WsResult) both = measure_turned (FIRST_SEED + 1, card, 0.0, &truth);
  assert_near (line_u (both, "side_clearance_left", by_fixture), FIXTURE_U_DEG, 1e-9);
  assert_near (line_u (both, "side_rake", by_side), 0.05, 1e-9);
}

/* tan (section) = tan (shown) cos (side rake). */
static void
the_card_gives_the_relief_in_section (void **state)
{
  (void)state;
  SceneBladeSide blade;
  SceneCamera camera;
  SceneBladeSideTruth truth;
  scene_random_blade_side (FIRST_SEED, SCENE_BLADE_GOOD, &blade, &camera);
  g_autoptr (SceneImage) picture = scene_render_blade_side (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = WS_OPTICS_UNKNOWN;
  const WsView *view = ws_view_find ("blade-side");
  g_autoptr (WsResult) silent = ws_measure (view, image, card, &optics);
  assert_null (ws_result_quantity (silent, "front_relief_section"));
  card->side_rake_deg = 12.0;
  g_autoptr (WsResult) result = ws_measure (view, image, card, &optics);
  const double shown = truth.front_relief_deg * G_PI / 180.0;
  check_told (result, "front_relief", truth.front_relief_deg, 0.01);
  check_told (result, "front_relief_section",
              atan (tan (shown) * cos (12.0 * G_PI / 180.0)) * 180.0 / G_PI, 0.01);
}

/* A plan given for a side, or a side for a plan, is told by the width on the card. */
static void
the_cards_width_tells_the_views_apart (void **state)
{
  (void)state;
  SceneBladeSide blade;
  SceneCamera camera;
  SceneBladeSideTruth truth;
  scene_random_blade_side (FIRST_SEED + 2, SCENE_BLADE_GOOD, &blade, &camera);
  g_autoptr (SceneImage) picture = scene_render_blade_side (&blade, &camera, &truth);
  g_autoptr (WsImage) image = load_rendered (picture);
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
  const WsOptics optics = {
    .has_scale = TRUE, .mm_per_px = camera.mm_per_px, .u_mm_per_px = 0.0, .lens = NULL
  };
  card->width_mm = 3.0;
  g_autoptr (WsResult) plan = ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
  assert_int_equal (plan->reason, WS_RETAKE_WRONG_VIEW);
  card->width_mm = truth.tip_height_mm;
  g_autoptr (WsResult) side = ws_measure (ws_view_find ("blade-side"), image, card, &optics);
  assert_int_equal (side->reason, WS_RETAKE_WRONG_VIEW);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_calibrated_lens_is_undone),
    cmocka_unit_test (an_uncalibrated_lens_is_in_U),
    cmocka_unit_test (pixels_round_no_corner),
    cmocka_unit_test (the_card_chooses_the_reference_side),
    cmocka_unit_test (without_a_reference_only_the_mean_is_told),
    cmocka_unit_test (a_fixture_tells_both_clearances),
    cmocka_unit_test (the_reference_has_a_line),
    cmocka_unit_test (the_card_gives_the_relief_in_section),
    cmocka_unit_test (the_cards_width_tells_the_views_apart),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
