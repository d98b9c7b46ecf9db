/*
 * What hangs at a corner, by its light: flakes thicker and thinner than the blur, a drop, dust that
 * doesn't hang there, and nothing.
 */
#include "edge/flake.h"

#include "edge/testing.h"

#define SIZE 240
#define BLUR 1.2
#define INTERIOR (80 * G_PI / 180)

typedef struct
{
  double length, thickness; /* of a flake straight out, px */
  double drop;              /* radius of one at the corner, px */
  double dust;              /* how far off a grain lies, px */
} Hanging;

static ScenePolygon
circle (ScenePoint at, double radius)
{
  ScenePolygon polygon = { g_new (ScenePoint, 60), 60, 1.0 };
  for (guint i = 0; i < 60; i++)
    polygon.points[i] =
      (ScenePoint){ at.x + radius * cos (i * G_PI / 30), at.y + radius * sin (i * G_PI / 30) };
  return polygon;
}

/* A corner that points up, a little off the pixels' middle, and what hangs there. */
static gboolean
look_at (const Hanging *hanging, WsFlake *flake)
{
  const ScenePoint tip = { 120.3, 90.4 };
  const double half = 0.5 * INTERIOR, far = 400;
  ScenePolygon polygons[2] = { { g_new (ScenePoint, 3), 3, 1.0 }, { NULL, 0, 1.0 } };
  guint n = 1;
  polygons[0].points[0] = tip;
  polygons[0].points[1] = (ScenePoint){ tip.x + far * sin (half), tip.y + far * cos (half) };
  polygons[0].points[2] = (ScenePoint){ tip.x - far * sin (half), tip.y + far * cos (half) };
  if (hanging->length > 0)
  {
    const double w = 0.5 * hanging->thickness;
    const ScenePoint strip[4] = { { tip.x - w, tip.y + 3 },
                                  { tip.x + w, tip.y + 3 },
                                  { tip.x + w, tip.y - hanging->length },
                                  { tip.x - w, tip.y - hanging->length } };
    polygons[n++] = (ScenePolygon){ g_memdup2 (strip, sizeof strip), 4, 1.0 };
  }
  else if (hanging->drop > 0)
    polygons[n++] = circle ((ScenePoint){ tip.x, tip.y - 0.5 * hanging->drop }, hanging->drop);
  else if (hanging->dust > 0)
    polygons[n++] = circle ((ScenePoint){ tip.x, tip.y - hanging->dust }, 2.5);
  SceneCamera camera = plain_camera (SIZE, SIZE);
  camera.blur_px = BLUR;
  camera.shot = 0.006;
  camera.seed = 7;
  g_autoptr (SceneImage) scene = scene_render_polygons (polygons, n, &camera);
  g_autoptr (WsImage) image = ws_image_new (SIZE, SIZE, NULL);
  memcpy (image->linear, scene->data, sizeof (guint16) * SIZE * SIZE);
  const WsFlakeSight sight = { .place = wsi_point (tip.x, tip.y),
                               .away = { wsi_point (-sin (half), cos (half)),
                                         wsi_point (sin (half), cos (half)) },
                               .length = { 120, 120 },
                               .reach = 4,
                               .blur = BLUR,
                               .most = 40 };
  for (guint i = 0; i < n; i++)
    scene_polygon_clear (&polygons[i]);
  return wsi_flake_read (image, &sight, flake);
}

static void
a_clean_corner_has_none (void **state)
{
  (void)state;
  WsFlake flake;
  assert_true (look_at (&(Hanging){ 0 }, &flake));
  assert_true (flake.height == 0);
  assert_true (flake.least > BLUR && flake.least < 4 * BLUR);
}

static void
flakes_are_measured_however_thin (void **state)
{
  (void)state;
  static const double thick[] = { 0.6, 1.5, 3.0 };
  for (gsize i = 0; i < G_N_ELEMENTS (thick); i++)
    for (double length = 6; length < 25; length += 6)
    {
      WsFlake flake;
      assert_true (look_at (&(Hanging){ length, thick[i], 0, 0 }, &flake));
      assert_int_equal (flake.shape, WS_BURR_WIRE);
      assert_true (fabs (flake.height - length) <= 2 * flake.u_height);
      assert_true (fabs (flake.height - length) < 0.6);
      assert_true (fabs (flake.thickness - thick[i]) < 0.25 * thick[i] + 0.1);
    }
}

static void
a_drop_is_no_wire_edge (void **state)
{
  (void)state;
  for (double radius = 4; radius < 10; radius += 2)
  {
    WsFlake flake;
    assert_true (look_at (&(Hanging){ 0, 0, radius, 0 }, &flake));
    assert_true (flake.height > 0);
    assert_int_equal (flake.shape, WS_BURR_ROUND);
  }
}

static void
dust_beside_it_does_not_hang_there (void **state)
{
  (void)state;
  WsFlake flake;
  assert_true (look_at (&(Hanging){ 0, 0, 0, 16 }, &flake));
  assert_true (flake.height == 0);
}

/* A hair reaches farther than any wire edge. */
static void
a_hair_is_no_wire_edge (void **state)
{
  (void)state;
  WsFlake flake;
  assert_true (look_at (&(Hanging){ 80, 2, 0, 0 }, &flake));
  assert_int_equal (flake.shape, WS_BURR_ROUND);
}

static void
a_corner_at_the_border_tells_nothing (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (SIZE, SIZE, NULL);
  const WsFlakeSight sight = { .place = wsi_point (3, 3),
                               .away = { wsi_point (1, 0), wsi_point (0, 1) },
                               .length = { 120, 120 },
                               .reach = 4,
                               .blur = BLUR,
                               .most = 40 };
  WsFlake flake;
  assert_false (wsi_flake_read (image, &sight, &flake));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_clean_corner_has_none),
    cmocka_unit_test (flakes_are_measured_however_thin),
    cmocka_unit_test (a_drop_is_no_wire_edge),
    cmocka_unit_test (dust_beside_it_does_not_hang_there),
    cmocka_unit_test (a_hair_is_no_wire_edge),
    cmocka_unit_test (a_corner_at_the_border_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
