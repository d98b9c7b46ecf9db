/* The near camera: its outlines against parallel ones, closed forms, and points of the solid
 * projected one by one. */
#include "scene_test.h"
#include "solid.h"

static const SceneView near_views[] = {
  { .distance = 100.0, .foot = { 0.0, -4.0 } },
  { .distance = 120.0, .foot = { 3.0, -9.0 } },
  { .turn_deg = 4.0, .tilt_deg = 1.0, .distance = 90.0, .foot = { -5.0, 3.0 } },
};

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

/* The pinhole written anew: axes of the picture, then similar triangles. */
static ScenePoint
pinhole (const SceneView *view, Vec3 p)
{
  const double turn = view->turn_deg * SCENE_DEG, tilt = view->tilt_deg * SCENE_DEG;
  const double x = p.x * cos (turn) - p.y * sin (turn);
  const double y = p.x * sin (turn) + p.y * cos (turn);
  const double up = p.z * cos (tilt) + y * sin (tilt);
  const double far = view->distance + y * cos (tilt) - p.z * sin (tilt);
  const ScenePoint q = { view->foot.x + (x - view->foot.x) * view->distance / far,
                         view->foot.y + (up - view->foot.y) * view->distance / far };
  return q;
}

static SceneDrill
unequal_drill (void)
{
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.half_angle_a = 60.5;
  drill.half_angle_b = 58.0;
  drill.offset = 0.1;
  return drill;
}

static void
far_away_it_is_parallel_projection (void **state)
{
  (void)state;
  const SceneDrill drill = unequal_drill ();
  const SceneView far = { .turn_deg = 2.0, .distance = 1e9, .foot = { 3.0, -5.0 } };
  SceneTruth t, u;
  ScenePolygon p = scene_drill_outline (&drill, 2.0, 0.0, -25.0, &t);
  ScenePolygon q = scene_drill_seen (&drill, &far, -25.0, &u);
  for (double v = -0.4; v > -24.0; v -= 0.0937)
    for (int side = -1; side <= 1; side += 2)
      assert_near (outline_at (&q, v, side), outline_at (&p, v, side), 1e-5);
  assert_near (t.point_angle_deg, u.point_angle_deg, 1e-9);
  scene_polygon_clear (&p);
  scene_polygon_clear (&q);
}

/* A line of sight touches a circle of radius R about the axis where it passes the plane of the
 * axis at R / sqrt (1 - (R / D)^2): similar right triangles with legs R and D (derived). */
static void
a_cylinder_looks_wider (void **state)
{
  (void)state;
  SceneDrill drill;
  scene_drill_init (&drill, 10.0);
  drill.clearance = 0.0;
  drill.land_deg = 110.0;
  const SceneView view = { .distance = 60.0, .foot = { 0.0, -20.0 } };
  ScenePolygon outline = scene_drill_seen (&drill, &view, -60.0, NULL);
  double most[2] = { 0.0, 0.0 };
  for (double v = -10.0; v > -59.0; v -= 0.237)
    for (int side = 0; side < 2; side++)
      most[side] = MAX (most[side], fabs (outline_at (&outline, v, 2 * side - 1)));
  const double expected = 5.0 / sqrt (1.0 - 25.0 / 3600.0);
  assert_near (most[0], expected, 1e-4);
  assert_near (most[1], expected, 1e-4);
  scene_polygon_clear (&outline);
}

/* Is any point of the line of sight through (u, v) on the axis' plane inside? */
static gboolean
sight_is_blocked (const Solid *solid, const SceneView *view, double u, double v)
{
  const double turn = view->turn_deg * SCENE_DEG, tilt = view->tilt_deg * SCENE_DEG;
  for (int i = -120; i <= 120; i++)
  {
    const double depth = 1.1 * solid->radius * i / 120.0;
    const double growth = (view->distance + depth) / view->distance;
    const double x = view->foot.x + (u - view->foot.x) * growth;
    const double up = view->foot.y + (v - view->foot.y) * growth;
    const double y = depth * cos (tilt) + up * sin (tilt);
    const Vec3 p = { x * cos (turn) + y * sin (turn), -x * sin (turn) + y * cos (turn),
                     up * cos (tilt) - depth * sin (tilt) };
    if (solid_contains (solid, p))
      return TRUE;
  }
  return FALSE;
}

static void
the_outline_agrees_with_marching_rays (void **state)
{
  (void)state;
  const double heights[] = { -0.45, -1.5, -2.4, -3.0, -4.0, -11.0, -17.3 };
  SceneDrill drill = unequal_drill ();
  for (gsize k = 0; k < 2 * G_N_ELEMENTS (near_views); k++)
  {
    const SceneView *view = &near_views[k / 2];
    drill.cone_distance = k % 2 == 0 ? 2.2 : 0.0;
    Solid solid;
    solid_init (&solid, &drill);
    ScenePolygon outline = scene_drill_seen (&drill, view, -25.0, NULL);
    for (gsize i = 0; i < G_N_ELEMENTS (heights); i++)
      for (int side = -1; side <= 1; side += 2)
      {
        const double u = outline_at (&outline, heights[i], side);
        assert_false (sight_is_blocked (&solid, view, u + side * 1e-5, heights[i]));
        assert_true (sight_is_blocked (&solid, view, u - side * 0.05, heights[i]));
      }
    scene_polygon_clear (&outline);
    solid_clear (&solid);
  }
}

/* How far inside the outline the outermost of the fluted surface's points stays, by height;
 * negative when one lies outside. */
static void
surface_gaps (const Solid *solid, const SceneView *view, const ScenePolygon *outline,
              double gaps[2][8])
{
  for (int k = 0; k < 16; k++)
    gaps[k / 8][k % 8] = G_MAXDOUBLE;
  for (double z = -8.0; z > -16.5; z -= 0.05)
    for (gsize i = 0; i < solid->n_section; i += 4)
    {
      const ScenePoint at = solid_turn (solid, solid->section[i], z);
      const Vec3 p = { at.x, at.y, z };
      const ScenePoint q = pinhole (view, p);
      const int band = (int)floor (-q.y - 8.0);
      if (band < 0 || band > 7 || hypot (at.x, at.y) < 0.95 * solid->radius)
        continue;
      const int side = q.x < 0.0 ? 0 : 1;
      const double gap = fabs (outline_at (outline, q.y, 2 * side - 1)) - fabs (q.x);
      gaps[side][band] = MIN (gaps[side][band], gap);
    }
}

static void
no_point_of_the_body_lies_outside (void **state)
{
  (void)state;
  const SceneDrill drill = unequal_drill ();
  Solid solid;
  solid_init (&solid, &drill);
  for (gsize k = 0; k < G_N_ELEMENTS (near_views); k++)
  {
    ScenePolygon whole = scene_drill_seen (&drill, &near_views[k], -25.0, NULL);
    /* The point's own points are no part of this, and many. */
    ScenePolygon outline = { g_new (ScenePoint, whole.n), 0, 1.0 };
    for (gsize i = 0; i < whole.n; i++)
      if (whole.points[i].y < -7.0 && whole.points[i].y > -18.0)
        outline.points[outline.n++] = whole.points[i];
    double gaps[2][8];
    surface_gaps (&solid, &near_views[k], &outline, gaps);
    for (int i = 0; i < 16; i++)
    {
      assert_true (gaps[i / 8][i % 8] > -2e-5);
      assert_true (gaps[i / 8][i % 8] < 1e-3);
    }
    scene_polygon_clear (&outline);
    scene_polygon_clear (&whole);
  }
  solid_clear (&solid);
}

/* Lip b lies behind the plane of the axis, lip a before it: seen by a near camera above the
 * foot they run apart in height. */
static void
lips_are_seen_where_their_points_are (void **state)
{
  (void)state;
  const SceneDrill drill = unequal_drill ();
  Solid solid;
  solid_init (&solid, &drill);
  for (gsize k = 0; k < 2; k++)
  {
    ScenePolygon outline = scene_drill_seen (&drill, &near_views[k], -10.0, NULL);
    for (int lip = 0; lip < N_LIPS; lip++)
      for (double t = 0.24; t < 0.93; t += 0.03)
      {
        const ScenePoint q =
          pinhole (&near_views[k], solid_lip_point (&solid, lip, t * solid.radius));
        assert_near (outline_at (&outline, q.y, lip == LIP_B ? 1 : -1), q.x, 5e-5);
      }
    scene_polygon_clear (&outline);
  }
  solid_clear (&solid);
}

static void
a_left_hand_drill_is_the_mirror_picture (void **state)
{
  (void)state;
  SceneDrill right, left;
  scene_drill_init (&right, 10.0);
  left = right;
  left.left_hand = TRUE;
  SceneView view = near_views[1];
  ScenePolygon p = scene_drill_seen (&right, &view, -20.0, NULL);
  view.foot.x = -view.foot.x;
  ScenePolygon q = scene_drill_seen (&left, &view, -20.0, NULL);
  for (double v = -0.4; v > -19.0; v -= 0.13)
    assert_near (outline_at (&p, v, 1), -outline_at (&q, v, -1), 1e-5);
  scene_polygon_clear (&p);
  scene_polygon_clear (&q);
}

/* --- Lens and film ----------------------------------------------------------- */

static SceneCamera
near_camera (void)
{
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.distance_mm = 150.0;
  camera.centre_x = 12.0;
  camera.centre_y = -7.0;
  camera.k1 = -1.5;
  camera.k2 = 20.0;
  return camera;
}

/* D. C. Brown 1966: seen = ideal (1 + k1 r^2 + k2 r^4) from the principal point. */
static void
distortion_is_radial (void **state)
{
  (void)state;
  const SceneCamera camera = near_camera ();
  const SceneBoard board = {
    .columns = 1, .rows = 1, .square = 1.0, .x = 9.0, .y = -6.0, .z = 3.0
  };
  g_autofree ScenePoint *corner = scene_board_corners (&board, &camera);
  const double x = 9.0 / 147.0, y = -6.0 / 147.0, r2 = x * x + y * y;
  const double growth = 1.0 - 1.5 * r2 + 20.0 * r2 * r2;
  assert_near (corner->x, 799.5 + 12.0 + 7500.0 * x * growth, 1e-9);
  assert_near (corner->y, 599.5 - 7.0 + 7500.0 * y * growth, 1e-9);
}

/* A telecentric lens: ideal = middle + (seen - middle) (1 + k1 r^2), r in half diagonals. */
static void
telecentric_distortion_is_the_inverse (void **state)
{
  (void)state;
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.k1 = 0.01;
  const SceneBoard board = {
    .columns = 1, .rows = 1, .square = 1.0, .x = 11.0, .y = -5.0, .z = 30
  };
  g_autofree ScenePoint *corner = scene_board_corners (&board, &camera);
  const double x = corner->x - 799.5, y = corner->y - 599.5;
  const double growth = 1.0 + 0.01 * (x * x + y * y) / (799.5 * 799.5 + 599.5 * 599.5);
  assert_near (x * growth, 550.0, 1e-9);
  assert_near (y * growth, -250.0, 1e-9);
}

static void
a_turned_board_is_foreshortened (void **state)
{
  (void)state;
  SceneCamera camera = near_camera ();
  camera.k1 = camera.k2 = camera.centre_x = camera.centre_y = 0.0;
  const SceneBoard board = { .columns = 3, .rows = 3, .square = 2.0, .ry_deg = 30.0 };
  g_autofree ScenePoint *corner = scene_board_corners (&board, &camera);
  /* Right-hand about the axis that points down: the right side turns away from the camera. */
  const double x = 2.0 * cos (30.0 * SCENE_DEG), far = 150.0 - 2.0 * sin (30.0 * SCENE_DEG);
  assert_near (corner[5].x - 799.5, 7500.0 * x / far, 1e-9);
  assert_near (corner[3].x - 799.5, -7500.0 * x / (300.0 - far), 1e-9);
  assert_near (corner[7].y - 599.5, 100.0, 1e-9);
}

static void
bloom_moves_edges_inward (void **state)
{
  (void)state;
  SceneCamera camera;
  scene_camera_init (&camera);
  camera.shrink_px = 0.5;
  const ScenePoint square[] = { { 1.0, 1.0 }, { 1.0, -1.0 }, { -1.0, -1.0 }, { -1.0, 1.0 } };
  for (int turned = 0; turned < 2; turned++)
  {
    ScenePolygon polygon = { g_memdup2 (square, sizeof square), 4, 1.0 };
    if (turned)
    {
      polygon.points[1] = square[3];
      polygon.points[3] = square[1];
    }
    scene_camera_project (&camera, &polygon);
    for (int i = 0; i < 4; i++)
    {
      assert_near (fabs (polygon.points[i].x - camera.origin_x), 49.5, 1e-9);
      assert_near (fabs (polygon.points[i].y - camera.origin_y), 49.5, 1e-9);
    }
    scene_polygon_clear (&polygon);
  }
}

static void
a_near_scene_is_in_the_picture (void **state)
{
  (void)state;
  for (guint64 seed = 0; seed < 40; seed++)
  {
    SceneDrill drill;
    SceneCamera camera;
    scene_random_near (seed, SCENE_GOOD, &drill, &camera);
    assert_true (camera.distance_mm >= 100.0 && camera.distance_mm <= 300.0);
    assert_true (drill.diameter >= 3.0 && drill.diameter <= 13.0);
    ScenePolygon tip = { g_new0 (ScenePoint, 1), 1, 1.0 };
    scene_camera_project (&camera, &tip);
    assert_true (tip.points[0].x > 5.0 && tip.points[0].x < camera.width - 5.0);
    assert_true (tip.points[0].y > 5.0 && tip.points[0].y < camera.height - 5.0);
    scene_polygon_clear (&tip);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (far_away_it_is_parallel_projection),
    cmocka_unit_test (a_cylinder_looks_wider),
    cmocka_unit_test (the_outline_agrees_with_marching_rays),
    cmocka_unit_test (no_point_of_the_body_lies_outside),
    cmocka_unit_test (lips_are_seen_where_their_points_are),
    cmocka_unit_test (a_left_hand_drill_is_the_mirror_picture),
    cmocka_unit_test (distortion_is_radial),
    cmocka_unit_test (telecentric_distortion_is_the_inverse),
    cmocka_unit_test (a_turned_board_is_foreshortened),
    cmocka_unit_test (bloom_moves_edges_inward),
    cmocka_unit_test (a_near_scene_is_in_the_picture),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
