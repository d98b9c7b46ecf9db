#include "scene_test.h"
#include "solid.h"

static const SolidView square = { 0 };

/* x of the outline at height v on one side (-1 left, 1 right). */
static double
outline_at (const ScenePolygon *outline, double v, int side)
{
  double best = -G_MAXDOUBLE;
  for (gsize i = 0; i + 1 < outline->n; i++)
  {
    const ScenePoint p = outline->points[i], q = outline->points[i + 1];
    if ((p.y < v) != (q.y < v))
      best = MAX (best, side * (p.x + (q.x - p.x) * (v - p.y) / (q.y - p.y)));
  }
  return side * best;
}

static void
a_body_is_mirror_symmetric (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.half_angle_a = 62.0;
  drill.offset = 0.3;
  const double turns[] = { 0.0, 23.0 };
  for (int k = 0; k < 2; k++)
  {
    ScenePolygon outline = scene_drill_outline (&drill, turns[k], 0.0, -40.0, NULL);
    for (double v = -7.0; v > -39.0; v -= 0.0371)
      assert_near (outline_at (&outline, v, -1), -outline_at (&outline, v, 1), 5e-6);
    scene_polygon_clear (&outline);
  }
}

static void
a_lip_ground_at_the_design_angle_is_straight (void **state)
{
  (void)state;
  const double angles[] = { 45.0, 59.0, 67.5 };
  for (gsize i = 0; i < G_N_ELEMENTS (angles); i++)
  {
    SceneDrill drill;
    scene_drill_init (&drill, 10.0);
    drill.cone_distance = 0.0;
    drill.design_half_angle = drill.half_angle_a = drill.half_angle_b = angles[i];
    Solid solid;
    solid_init (&solid, &drill);
    const LipLine line = solid_lip_line (&solid, LIP_B, &square);
    assert_true (line.bow < 1e-6 * solid.radius);
    assert_near (line.half_angle / SCENE_DEG, angles[i], 1e-6);
    for (double s = 0.3; s < 4.9; s += 0.2)
      assert_near (solid_lip_point (&solid, LIP_B, s).y, solid.half_web, 1e-6);
    solid_clear (&solid);
  }
}

static void
a_lip_ground_at_another_angle_is_bowed (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.cone_distance = 0.0;
  drill.half_angle_a = drill.half_angle_b = 66.0;
  SceneTruth truth;
  ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -10.0, &truth);
  assert_true (truth.lip_bow_mm > 1e-4 * drill.diameter);
  assert_near (truth.point_angle_deg, 132.0, 1e-5);
  scene_polygon_clear (&outline);
}

/* Is any point of the line of sight at (u, v) inside?  By marching along it. */
static gboolean
sight_is_blocked (const Solid *solid, const SolidView *view, double u, double v)
{
  const double R = solid->radius;
  for (int i = -300; i <= 300; i++)
  {
    const double depth = 1.05 * R * i / 300.0;
    /* Along the sight, out of the picture: q is the depth axis, e the upright one. */
    const double q = depth * cos (view->tilt) + v * sin (view->tilt);
    const Vec3 p = { u * cos (view->turn) + q * sin (view->turn),
                     -u * sin (view->turn) + q * cos (view->turn),
                     v * cos (view->tilt) - depth * sin (view->tilt) };
    if (solid_contains (solid, p))
      return TRUE;
  }
  return FALSE;
}

static void
check_against_marching (const SceneDrill *drill, double turn, double tilt, double gap)
{
  const double heights[] = { -0.45, -0.8, -1.5, -2.4, -3.0, -4.0, -11.0, -17.3, -24.0 };
  Solid solid;
  solid_init (&solid, drill);
  const SolidView view = { .turn = turn * SCENE_DEG, .tilt = tilt * SCENE_DEG };
  ScenePolygon outline = scene_drill_outline (drill, turn, tilt, -25.0, NULL);
  for (gsize i = 0; i < G_N_ELEMENTS (heights); i++)
    for (int side = -1; side <= 1; side += 2)
    {
      const double u = outline_at (&outline, heights[i], side);
      assert_false (sight_is_blocked (&solid, &view, u + side * 1e-5, heights[i]));
      assert_true (sight_is_blocked (&solid, &view, u - side * gap, heights[i]));
    }
  scene_polygon_clear (&outline);
  solid_clear (&solid);
}

static void
the_outline_agrees_with_marching_rays (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.half_angle_a = 60.5;
  drill.half_angle_b = 58.0;
  drill.offset = 0.1;
  for (int plane = 0; plane < 2; plane++)
  {
    drill.cone_distance = plane ? 0.0 : 2.2;
    check_against_marching (&drill, 0.0, 0.0, 0.02);
    check_against_marching (&drill, 25.0, 0.0, 0.05);
    check_against_marching (&drill, 2.0, 3.0, 0.05);
  }
}

/* The silhouette's point must be the lips themselves, or its truth would be another edge's. */
static void
the_lips_are_on_the_outline (void **state)
{
  (void)state;
  for (guint64 seed = 0; seed < 12; seed++)
  {
    SceneDrill drill;
    SceneCamera camera;
    scene_random (seed, (SceneMode)(seed % 4), &drill, &camera);
    drill.left_hand = FALSE;
    Solid solid;
    solid_init (&solid, &drill);
    ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -drill.diameter, NULL);
    for (int lip = 0; lip < N_LIPS; lip++)
    {
      const double start = solid_lip_start (&solid, lip);
      assert_true (start < 0.235 * solid.radius);
      for (double t = 0.24; t < 0.93; t += 0.03)
      {
        const Vec3 p = solid_lip_point (&solid, lip, t * solid.radius);
        const int side = lip == LIP_B ? 1 : -1;
        assert_near (outline_at (&outline, p.z, side), p.x, 5e-6 * solid.radius);
      }
    }
    scene_polygon_clear (&outline);
    solid_clear (&solid);
  }
}

/* The lines of both lips, made anew from the truth, must meet where it says. */
static void
truth_is_consistent (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 8.0);
  drill.half_angle_a = 61.0;
  drill.half_angle_b = 57.5;
  drill.height = 0.07;
  SceneTruth t;
  ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -10.0, &t);
  assert_near (t.half_angle_a_deg, 61.0, 1e-5);
  assert_near (t.half_angle_b_deg, 57.5, 1e-5);
  assert_near (t.lip_height_difference_mm, 0.07, 1e-6);
  assert_near (t.half_angle_difference_deg, 3.5, 1e-5);
  const double a = t.half_angle_a_deg * SCENE_DEG, b = t.half_angle_b_deg * SCENE_DEG;
  /* Walk from corner a along lip a, then down lip b: ends at corner b. */
  const double x = -4.0 + t.lip_length_a_mm * sin (a) + t.lip_length_b_mm * sin (b);
  const double z =
    t.lip_height_difference_mm + t.lip_length_a_mm * cos (a) - t.lip_length_b_mm * cos (b);
  assert_near (x, 4.0, 1e-9);
  assert_near (z, 0.0, 1e-9);
  assert_near (-4.0 + t.lip_length_a_mm * sin (a), t.point_offset_mm, 1e-9);
  scene_polygon_clear (&outline);
}

static void
an_offset_is_toward_lip_b (void **state)
{
  (void)state;
  for (int hand = 0; hand < 2; hand++)
  {
    SceneDrill drill;
    scene_drill_init (&drill, 8.0);
    drill.left_hand = hand == 1;
    drill.offset = 0.2;
    SceneTruth t;
    ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -10.0, &t);
    assert_near (t.point_offset_mm, 0.2, 1e-5);
    assert_true (t.lip_length_a_mm > t.lip_length_b_mm);
    /* In the picture too: at mid-height of the point more of it lies on the right. */
    const double middle = outline_at (&outline, -1.2, -1) + outline_at (&outline, -1.2, 1);
    assert_near (0.5 * middle, 0.2, 0.01);
    scene_polygon_clear (&outline);
  }
}

static void
a_left_hand_drill_is_the_mirror_picture (void **state)
{
  (void)state;
  SceneDrill right;
  scene_drill_init (&right, 10.0);
  right.half_angle_a = 61.0;
  right.height = 0.05;
  SceneDrill left = right;
  left.left_hand = TRUE;
  left.half_angle_a = right.half_angle_b;
  left.half_angle_b = right.half_angle_a;
  left.height = -right.height;
  ScenePolygon p = scene_drill_outline (&right, 0.0, 0.0, -20.0, NULL);
  ScenePolygon q = scene_drill_outline (&left, 0.0, 0.0, -20.0, NULL);
  for (double v = -0.4; v > -19.0; v -= 0.13)
    assert_near (outline_at (&p, v, 1), -outline_at (&q, v, -1), 1e-5);
  scene_polygon_clear (&p);
  scene_polygon_clear (&q);
}

static void
a_worn_corner_is_an_arc (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.corner_b = 0.6;
  SceneTruth t;
  ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -20.0, &t);
  /* The arc touches both sides of a corner of 180 - 59 degrees. */
  const double expected = 0.6 * (1.0 / sin (0.5 * 121.0 * SCENE_DEG) - 1.0);
  assert_near (t.corner_wear_b_mm, expected, 2e-4);
  assert_true (t.corner_wear_a_mm < t.corner_wear_b_mm);
  scene_polygon_clear (&outline);
}

static void
a_chip_is_as_deep_as_asked (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.chip_a.depth = 0.2;
  drill.chip_a.width = 0.7;
  drill.chip_a.place = 0.6;
  SceneTruth t;
  ScenePolygon outline = scene_drill_outline (&drill, 0.0, 0.0, -20.0, &t);
  assert_near (t.chip_depth_a_mm, 0.2, 0.004);
  assert_near (t.chip_depth_b_mm, 0.0, 0.0);
  /* On the left, at 0.6 of the radius, material is missing. */
  const double z = -3.0 / tan (59.0 * SCENE_DEG) - 0.08;
  assert_true (outline_at (&outline, z, -1) > -3.0);
  assert_true (outline_at (&outline, z, 1) > 3.0);
  scene_polygon_clear (&outline);
}

static void
turned_lips_look_blunter (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.cone_distance = 0.0;
  Solid solid;
  solid_init (&solid, &drill);
  const SolidView turned = { .turn = 3.0 * SCENE_DEG };
  const LipLine line = solid_lip_line (&solid, LIP_B, &turned);
  /* A line in the plane across the sight, seen from d off: tan k' = tan k cos d. */
  assert_near (tan (line.half_angle), tan (59.0 * SCENE_DEG) * cos (turned.turn), 1e-6);
  solid_clear (&solid);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_body_is_mirror_symmetric),
    cmocka_unit_test (a_lip_ground_at_the_design_angle_is_straight),
    cmocka_unit_test (a_lip_ground_at_another_angle_is_bowed),
    cmocka_unit_test (the_outline_agrees_with_marching_rays),
    cmocka_unit_test (the_lips_are_on_the_outline),
    cmocka_unit_test (truth_is_consistent),
    cmocka_unit_test (an_offset_is_toward_lip_b),
    cmocka_unit_test (a_left_hand_drill_is_the_mirror_picture),
    cmocka_unit_test (a_worn_corner_is_an_arc),
    cmocka_unit_test (a_chip_is_as_deep_as_asked),
    cmocka_unit_test (turned_lips_look_blunter),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
