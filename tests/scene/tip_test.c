#include "scene_test.h"
#include "tip.h"

/* Seen along the axis in parallel projection, the true chisel edge parts the two flanks: light of
 * one region on either side, but of normals that differ. */
static void
the_chisel_edge_is_where_the_flanks_meet (void **state)
{
  (void)state;
  for (guint64 seed = 1; seed <= 6; seed++)
  {
    SceneDrill drill;
    SceneTip tip;
    SceneTipTruth truth;
    Solid solid;
    scene_random_tip (seed, &drill, &tip);
    drill.left_hand = FALSE;
    tip.distance_mm = tip.look_x_deg = tip.look_y_deg = tip.roll_deg = 0.0;
    scene_tip_truth (&drill, &truth);
    solid_init (&solid, &drill);
    const ShadeCamera camera = scene_tip_camera (&solid, &tip, FALSE);
    g_autoptr (ShadeModel) model = shade_model_new (&solid, -3.0 * drill.diameter);
    g_autofree ShadeFragment *seen = g_new (ShadeFragment, (gsize)tip.width * tip.height);
    shade_cast (model, &camera, (ScenePoint){ 0.0, 0.0 }, seen);
    /* Half way to either end, two px to either side of the chord. */
    const double turn = (180.0 - truth.chisel_edge_angle_deg) * SCENE_DEG;
    const double half = 0.25 * truth.chisel_edge_length_mm / tip.mm_per_px;
    for (int end = -1; end <= 1; end += 2)
    {
      float slope[2];
      for (int side = 0; side < 2; side++)
      {
        const double off = (side == 0 ? -4.0 : 4.0);
        const double x = tip.centre.x + end * half * cos (turn) + off * sin (turn);
        const double y = tip.centre.y - end * half * sin (turn) + off * cos (turn);
        const ShadeFragment *f = &seen[(gsize)lround (y) * tip.width + (gsize)lround (x)];
        assert_int_equal (f->region, SHADE_FLANK);
        slope[side] = f->normal[1];
      }
      assert_true (slope[0] * slope[1] < 0.0f);
    }
    solid_clear (&solid);
  }
}

static void
truth_is_what_the_drill_says (void **state)
{
  (void)state;
  for (guint64 seed = 1; seed <= 20; seed++)
  {
    SceneDrill drill;
    SceneTip tip;
    SceneTipTruth truth;
    scene_random_tip (seed, &drill, &tip);
    scene_tip_truth (&drill, &truth);
    assert_near (truth.web_thickness_mm, drill.web, 0.01 * drill.web);
    assert_true (truth.chisel_edge_angle_deg > 112.0 && truth.chisel_edge_angle_deg < 138.0);
    /* The chord spans the web, but for the bow of lips ground at other than the design's angle. */
    assert_near (truth.chisel_edge_length_mm * sin (truth.chisel_edge_angle_deg * SCENE_DEG),
                 drill.web, 0.01 * drill.web);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_chisel_edge_is_where_the_flanks_meet),
    cmocka_unit_test (truth_is_what_the_drill_says),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
