/*
 * The card against the tool: another tool's card is noticed, and no good, worn or reground tool is
 * taken for another.
 */
#include "base/testing.h"
#include "scene/blade.h"
#include "scene/flank.h"
#include "scene/scene.h"
#include "trial/gates.h"
#include "trial/trial.h"

#include <glib/gstdio.h>
#include <whetsight/view.h>

/* Constants of the measuring side were set with seeds below 100. */
#define FIRST_SEED 160
#define N_SEEDS trial_scenes (2, 1)

/* ---- Another tool's card, through the program ------------------------------------------- */

typedef struct
{
  const char *picture, *card, *view, *scale;
} Shot;

static TrialRun *
measure_shot (const Shot *shot)
{
  g_autofree char *picture = g_build_filename (WS_SOURCE_DIR, "images", shot->picture, NULL);
  g_autofree char *card = g_build_filename (WS_SOURCE_DIR, "images", shot->card, NULL);
  const char *const options[] = { "--scale", shot->scale, "--tool", card, NULL };
  return trial_measure_with (trial_program (), shot->view, picture, options);
}

static const json_t *
finding (const json_t *record, const char *code)
{
  gsize i;
  const json_t *entry;
  json_array_foreach (json_object_get (record, "findings"), i,
                      entry) if (g_strcmp0 (trial_text (entry, "code"), code) == 0) return entry;
  return NULL;
}

static void
another_tools_card_is_noticed (void **state)
{
  (void)state;
  static const Shot shots[] = {
    { "spot-90.png", "QT-D-0118.tool", "drill-side", "0.015625" },
    { "good-118.png", "QT-S-0060.tool", "drill-side", "0.014230263" },
    { "small-135.png", "QT-D-0118.tool", "drill-side", "0.00716050" },
    { "good-118.png", "QT-D-0100.tool", "drill-side", "0.014230263" },
    { "drill-end.jpg", "QT-D-0100.tool", "drill-end", "0.011445536" },
    { "drill-end.jpg", "QT-D-0025.tool", "drill-end", "0.011445536" },
    { "blade-good.png", "QT-B-0024.tool", "blade-plan", "0.0074900794" },
    { "blade-rake.png", "QT-B-0030.tool", "blade-plan", "0.0055787037" },
    { "blade-burnt.jpg", "QT-B-0030.tool", "blade-face", "0.0145742806" },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (shots); i++)
  {
    g_autoptr (TrialRun) run = measure_shot (&shots[i]);
    const json_t *mismatch = finding (run->record, "card-mismatch");
    if (run->status != 2 || mismatch == NULL)
      fail_msg ("%s under %s: status %d", shots[i].picture, shots[i].card, run->status);
    assert_string_equal (trial_text (run->record, "reason"), "card-mismatch");
    assert_int_equal (json_array_size (json_object_get (run->record, "advice")), 0);
    assert_contains (trial_text (mismatch, "text"), "the card says");
    assert_contains (trial_text (mismatch, "text"), "Check");
  }
}

/* ---- What is no tool at all ---------------------------------------------------------------- */

#define CONE_PX 400.0

/* A cylinder with a cone of `half_deg` whose tip is a little blunt, tip upwards: a punch, a pencil,
 * a turned rod. */
static SceneImage *
cone_on_a_rod (double half_deg, double blunt_px)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  const double middle = 0.5 * camera.width, top = 0.3 * camera.height;
  const double length = 0.5 * CONE_PX / tan (half_deg * G_PI / 180.0);
  ScenePoint corners[] = { { middle - 0.5 * CONE_PX, camera.height + 50.0 },
                           { middle - 0.5 * CONE_PX, top + length },
                           { middle - 0.5 * blunt_px, top },
                           { middle + 0.5 * blunt_px, top },
                           { middle + 0.5 * CONE_PX, top + length },
                           { middle + 0.5 * CONE_PX, camera.height + 50.0 } };
  const ScenePolygon shape = { corners, G_N_ELEMENTS (corners), 1.0 };
  return scene_render_polygons (&shape, 1, &camera);
}

static void
a_cone_is_not_rejected_as_a_drill (void **state)
{
  (void)state;
  static const double halves[] = { 57.5, 62.0 }, blunt[] = { 0.0, 5.0, 9.0 };
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *picture = g_build_filename (folder, "cone.png", NULL);
  g_autofree char *card = g_build_filename (folder, "drill.tool", NULL);
  assert_true (g_file_set_contents (card,
                                    "[tool]\nid = QT-D-1\nkind = twist-drill\ndiameter_mm = 8\n"
                                    "[limits]\npoint_angle_deg = 117 .. 123\n",
                                    -1, NULL));
  const char *const options[] = { "--tool", card, "--scale", "0.02", NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (halves) * G_N_ELEMENTS (blunt); i += trial_scenes (1, 4))
  {
    const double half = halves[i / G_N_ELEMENTS (blunt)], flat = blunt[i % G_N_ELEMENTS (blunt)];
    g_autoptr (SceneImage) image = cone_on_a_rod (half, flat);
    assert_true (scene_image_save (image, picture, 0));
    g_autoptr (TrialRun) run =
      trial_measure_with (trial_program (), "drill-side", picture, options);
    if (run->status != 2 && run->status != 3)
      fail_msg ("a cone of %g degrees, blunt by %g px: status %d", half, flat, run->status);
    assert_int_equal (json_array_size (json_object_get (run->record, "advice")), 0);
  }
  g_remove (picture);
  g_remove (card);
  g_rmdir (folder);
}

/* ---- Tools that are the card's -------------------------------------------------------------- */

static WsImage *
load_rendered (const SceneImage *image, WsImageFlags flags)
{
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *path = g_build_filename (folder, "tool.png", NULL);
  assert_true (scene_image_save (image, path, 0));
  WsImage *loaded = ws_image_load (path, NULL, flags, NULL);
  g_remove (path);
  assert_int_equal (g_rmdir (folder), 0);
  assert_non_null (loaded);
  return loaded;
}

static gboolean
is_mismatch (const char *view_name, const WsImage *image, const WsToolCard *card, double mm_per_px)
{
  const WsOptics optics = { .has_scale = TRUE, .mm_per_px = mm_per_px };
  g_autoptr (WsResult) result = ws_measure (ws_view_find (view_name), image, card, &optics);
  return g_strcmp0 (result->hold_code, "card-mismatch") == 0;
}

static void
add_limit (WsToolCard *card, const char *quantity, double lower, double upper)
{
  const WsLimit limit = { g_strdup (quantity), lower, upper };
  g_array_append_val (card->limits, limit);
}

/* The card's size as it was when the drill was new: since then h8, back taper and wear took up
 * to 2.5 in a hundred; and its point was ground some degrees off. */
static void
check_drill (guint64 seed, SceneMode mode, const SceneDrill *drill, const WsImage *image,
             double mm_per_px)
{
  const double angle = drill->half_angle_a + drill->half_angle_b;
  g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
  card->id = g_strdup ("QT-D-1");
  for (int off = -1; off <= 1; off++)
  {
    card->diameter_mm = drill->diameter / (off == 0 ? 1 : 0.975);
    g_array_set_size (card->limits, 0);
    add_limit (card, "point_angle_deg", angle + 8 * off - 2, angle + 8 * off + 2);
    if (is_mismatch ("drill-side", image, card, mm_per_px))
      fail_msg ("seed %u, mode %d is taken for another drill", (guint)seed, (int)mode);
  }
  card->diameter_mm = 1.08 * drill->diameter;
  assert_true (is_mismatch ("drill-side", image, card, mm_per_px));
}

static void
drills_fit_their_cards (void **state)
{
  (void)state;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
    for (SceneMode mode = SCENE_GOOD; mode < SCENE_N_MODES; mode += trial_scenes (1, 2))
    {
      SceneDrill drill;
      SceneCamera camera;
      SceneTruth truth;
      scene_random (seed, mode, &drill, &camera);
      g_autoptr (SceneImage) picture = scene_render (&drill, &camera, &truth);
      g_autoptr (WsImage) image = load_rendered (picture, WS_IMAGE_GREY);
      check_drill (seed, mode, &drill, image, camera.mm_per_px);
    }
}

/* A blade keeps its card as its front is ground back, and narrower. */
static void
blades_fit_their_cards (void **state)
{
  (void)state;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + N_SEEDS; seed++)
    for (SceneBladeMode mode = SCENE_BLADE_GOOD; mode < SCENE_BLADE_N_MODES;
         mode += trial_scenes (1, 2))
    {
      SceneBladePlan blade;
      SceneCamera camera;
      SceneBladePlanTruth truth;
      scene_random_blade_plan (seed, mode, &blade, &camera);
      g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, &truth);
      g_autoptr (WsImage) image = load_rendered (picture, WS_IMAGE_GREY);
      g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
      card->width_mm = blade.width;
      assert_false (is_mismatch ("blade-plan", image, card, camera.mm_per_px));
      card->width_mm = blade.width / 0.86;
      assert_false (is_mismatch ("blade-plan", image, card, camera.mm_per_px));
      card->width_mm = 1.3 * blade.width;
      assert_true (is_mismatch ("blade-plan", image, card, camera.mm_per_px));
    }
}

static void
points_from_the_end_fit_their_cards (void **state)
{
  (void)state;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + 2 * N_SEEDS; seed++)
  {
    SceneEnd end;
    scene_random_end (seed, &end);
    g_autoptr (SceneImage) picture = scene_render_end (&end);
    g_autoptr (WsImage) image = load_rendered (picture, WS_IMAGE_COLOUR);
    g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_TWIST_DRILL);
    card->diameter_mm = end.diameter;
    assert_false (is_mismatch ("drill-end", image, card, end.lamp.mm_per_px));
    card->diameter_mm = end.diameter / 0.975;
    assert_false (is_mismatch ("drill-end", image, card, end.lamp.mm_per_px));
    card->diameter_mm = 1.2 * end.diameter;
    assert_true (is_mismatch ("drill-end", image, card, end.lamp.mm_per_px));
  }
}

static void
faces_fit_their_cards (void **state)
{
  (void)state;
  for (guint64 seed = FIRST_SEED; seed < FIRST_SEED + 2 * N_SEEDS; seed++)
  {
    SceneFace face;
    scene_random_face (seed, &face);
    g_autoptr (SceneImage) picture = scene_render_face (&face);
    g_autoptr (WsImage) image = load_rendered (picture, WS_IMAGE_COLOUR);
    g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
    card->width_mm = face.width;
    assert_false (is_mismatch ("blade-face", image, card, face.lamp.mm_per_px));
    card->width_mm = 1.6 * face.width;
    assert_true (is_mismatch ("blade-face", image, card, face.lamp.mm_per_px));
  }
}

/* ---- The hand of a cutoff blade ----------------------------------------------------------- */

/* Two blades that lead on opposite sides, and a card that asks for one of them. */
static void
the_cards_hand_is_judged (void **state)
{
  (void)state;
  for (int lead = -1; lead <= 1; lead += 2)
  {
    SceneBladePlan blade;
    SceneCamera camera;
    SceneBladePlanTruth truth;
    scene_random_blade_plan (FIRST_SEED, SCENE_BLADE_GOOD, &blade, &camera);
    blade.rake_deg = 7.0 * lead;
    g_autoptr (SceneImage) picture = scene_render_blade_plan (&blade, &camera, &truth);
    g_autoptr (WsImage) image = load_rendered (picture, WS_IMAGE_GREY);
    for (WsHand hand = WS_HAND_UNKNOWN; hand <= WS_HAND_LEFT; hand++)
    {
      g_autoptr (WsToolCard) card = ws_tool_card_new (WS_KIND_CUTOFF_BLADE);
      const WsOptics optics = { .has_scale = TRUE, .mm_per_px = camera.mm_per_px };
      card->id = g_strdup ("QT-B-1");
      card->width_mm = blade.width;
      card->part_has_centre_hole = WS_ANSWER_YES;
      card->hand = hand;
      g_autoptr (WsResult) result = ws_measure (ws_view_find ("blade-plan"), image, card, &optics);
      assert_string_equal (result->hand, lead > 0 ? "right" : "left");
      const gboolean wrong = hand == (lead > 0 ? WS_HAND_LEFT : WS_HAND_RIGHT);
      assert_int_equal (result->verdict, wrong ? WS_VERDICT_REJECT : WS_VERDICT_ACCEPT);
      if (wrong)
        assert_contains (g_ptr_array_index (result->advice, 0), "to the other hand");
    }
  }
}

/* What part is cut off tells what side rake is right: without it nothing is accepted, and the
 * report says which line to add. */
static void
an_untold_part_is_asked_for (void **state)
{
  (void)state;
  g_autofree char *folder = g_dir_make_tmp ("whetsight-XXXXXX", NULL);
  g_autofree char *card = g_build_filename (folder, "a.tool", NULL);
  g_autofree char *picture = g_build_filename (WS_SOURCE_DIR, "images", "blade-good.png", NULL);
  const char *const options[] = { "--scale", "0.0074900794", "--tool", card, NULL };
  static const char *const parts[] = { "", "part_has_centre_hole = yes\n" };
  for (gsize i = 0; i < G_N_ELEMENTS (parts); i++)
  {
    g_autofree char *text =
      g_strconcat ("[tool]\nid = a\nkind = cutoff-blade\nwidth_mm = 3\n", parts[i], NULL);
    assert_true (g_file_set_contents (card, text, -1, NULL));
    g_autoptr (TrialRun) run =
      trial_measure_with (trial_program (), "blade-plan", picture, options);
    assert_int_equal (run->status, i == 0 ? 2 : 0);
    const json_t *missing = finding (run->record, "not-judged");
    assert_true ((missing != NULL) == (i == 0));
    if (i == 0)
      assert_contains (trial_text (missing, "text"), "part_has_centre_hole = yes or no");
  }
  g_remove (card);
  assert_int_equal (g_rmdir (folder), 0);
}

int
main (void)
{
  if (trial_program () == NULL)
  {
    print_message ("set WHETSIGHT to the program\n");
    return 1;
  }
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (another_tools_card_is_noticed),
    cmocka_unit_test (a_cone_is_not_rejected_as_a_drill),
    cmocka_unit_test (drills_fit_their_cards),
    cmocka_unit_test (blades_fit_their_cards),
    cmocka_unit_test (points_from_the_end_fit_their_cards),
    cmocka_unit_test (faces_fit_their_cards),
    cmocka_unit_test (the_cards_hand_is_judged),
    cmocka_unit_test (an_untold_part_is_asked_for),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
