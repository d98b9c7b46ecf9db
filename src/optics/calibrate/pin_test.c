#include "optics/calibrate/pin.h"

#include "optics/lens.h"
#include "optics/testing.h"

static const WsOptics bare = WS_OPTICS_UNKNOWN;

static SceneCamera
camera_of (guint64 seed)
{
  SceneCamera camera = plain_camera (800, 600);
  camera.read = 0.005;
  camera.seed = seed;
  return camera;
}

/* Crossing the picture at any angle, across its corner too. */
static void
width_at_any_angle (void **state)
{
  (void)state;
  const double angles[] = { 0, 0.4, 17, 45, 45.1, 88, 90, 131, 135, 160 };
  for (guint i = 0; i < G_N_ELEMENTS (angles); i++)
  {
    const SceneCamera camera = camera_of (i + 1);
    const PinShape shape = { { 390.3, 310.7 }, angles[i], 3000, 200.37 };
    g_autoptr (WsImage) image = take_pin (&shape, &camera);
    WsPin pin;
    assert_true (wsi_pin_measure (image, &bare, &pin));
    assert_near (pin.width_px, 200.37, 2 * pin.u_width_px);
    assert_true (pin.u_width_px < 0.01);
    assert_near (fabs (sin (atan2 (pin.direction.y, pin.direction.x) - wsi_radians (angles[i]))), 0,
                 2e-5);
    assert_false (pin.is_clipped);
  }
}

/* Its end in the picture, and entering from each border. */
static void
end_is_seen (void **state)
{
  (void)state;
  for (guint i = 0; i < 4; i++)
  {
    const SceneCamera camera = camera_of (i + 11);
    const double angle = 90.0 * i + 6;
    const WsPoint out = wsi_point (cos (wsi_radians (angle)), sin (wsi_radians (angle)));
    const PinShape shape = { wsi_point_along (wsi_point (400, 300), 900, out), angle, 2000, 180.2 };
    g_autoptr (WsImage) image = take_pin (&shape, &camera);
    WsPin pin;
    assert_true (wsi_pin_measure (image, &bare, &pin));
    assert_near (pin.width_px, 180.2, 2 * pin.u_width_px);
    assert_true (pin.length_px > 250 && pin.length_px < 520);
  }
}

static void
dust_does_not_count (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (21);
  ScenePoint corners[4], speck[4];
  const PinShape shape = { { 400, 300 }, 20, 3000, 220 };
  const PinShape dust = {
    { 400 + 110 * sin (wsi_radians (-20)), 300 + 110 * cos (wsi_radians (20)) }, 33, 30, 12
  };
  pin_corners (&shape, corners);
  pin_corners (&dust, speck);
  const ScenePolygon polygons[2] = { { corners, 4, 1.0 }, { speck, 4, 1.0 } };
  g_autoptr (WsImage) image = take_polygons (polygons, 2, &camera);
  WsPin pin;
  assert_true (wsi_pin_measure (image, &bare, &pin));
  assert_near (pin.width_px, 220, 2 * pin.u_width_px);
}

/* Over-exposed: measured, said, and too narrow by edges.md's s Phi^-1 (c / 2) or more. */
static void
clipped_light_is_said (void **state)
{
  (void)state;
  SceneCamera camera = camera_of (31);
  camera.back = 1.8;
  const PinShape shape = { { 400, 300 }, 70, 3000, 200 };
  g_autoptr (WsImage) image = take_pin (&shape, &camera);
  WsPin pin;
  assert_true (wsi_pin_measure (image, &bare, &pin));
  assert_true (pin.is_clipped);
  assert_true (pin.width_px < 199.4 && pin.width_px > 196);
}

static void
what_is_no_pin_is_refused (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (41);
  WsPin pin;
  g_autoptr (WsImage) empty = take_polygons (NULL, 0, &camera);
  assert_false (wsi_pin_measure (empty, &bare, &pin));
  assert_true (pin.trouble == WS_RETAKE_NO_TOOL || pin.trouble == WS_RETAKE_LOW_CONTRAST);

  ScenePoint wedge[4] = { { -200, 200 }, { 1000, 100 }, { 1000, 500 }, { -200, 400 } };
  const ScenePolygon taper = { wedge, 4, 1.0 };
  g_autoptr (WsImage) cone = take_polygons (&taper, 1, &camera);
  assert_false (wsi_pin_measure (cone, &bare, &pin));
  assert_int_equal (pin.trouble, WS_RETAKE_WRONG_VIEW);

  g_autoptr (WsImage) disc = take_ring (wsi_point (400, 300), 150, 0, &camera);
  assert_false (wsi_pin_measure (disc, &bare, &pin));
}

/* Edge shift and radial term are undone when the lens is known, and U follows its covariance. */
static void
through_a_lens (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (51);
  const PinShape shape = { { 420, 280 }, 50, 3000, 240 };
  g_autoptr (WsImage) image = take_pin (&shape, &camera);
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = 800, .height = 600 };
  lens.parameters[WS_LENS_EDGE_SHIFT] = 0.3;
  lens.parameters[WS_LENS_T_SCALE] = 0.01;
  lens.covariance[0] = 0.01 * 0.01;
  lens.covariance[4] = 1e-6 * 1e-6;
  WsPin pin, plain;
  const WsOptics optics = ws_optics_of_lens (&lens);
  assert_true (wsi_pin_measure (image, &optics, &pin));
  assert_near (pin.width_px, 240.6, 0.01);
  double u;
  assert_near (wsi_pin_diameter_mm (&pin, &optics, &u), 2.406, 1e-4);
  assert_near (u, hypot (hypot (0.01 * 2 * 0.01, 1e-6 * 240.6), 0.01 * pin.u_width_px), 1e-8);

  /* The kept samples tell what another lens would have shown. */
  lens.parameters[WS_LENS_T_K1] = 0.02;
  assert_true (wsi_pin_measure (image, &bare, &plain));
  const WsOptics bent = ws_optics_of_lens (&lens);
  WsPin again;
  assert_true (wsi_pin_measure (image, &bent, &again));
  assert_near (wsi_pin_width_through (&plain, &lens), again.width_px, 0.02);
  assert_near (wsi_pin_width_through (&again, &lens), again.width_px, 0.02);
  assert_true (again.width_px > pin.width_px + 0.5);
}

/* A pinhole sees a cylinder wider than it is. */
static void
pinhole_sees_past_the_middle (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (61);
  const PinShape shape = { { 400, 300 }, 0, 3000, 300 };
  g_autoptr (WsImage) image = take_pin (&shape, &camera);
  const WsLens lens = {
    .model = WS_LENS_PINHOLE,
    .width = 800,
    .height = 600,
    .parameters = { 0, 3000, 3000, 399.5, 299.5, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 100 },
  };
  const WsOptics optics = ws_optics_of_lens (&lens);
  WsPin pin;
  double u;
  assert_true (wsi_pin_measure (image, &optics, &pin));
  const double D = wsi_pin_diameter_mm (&pin, &optics, &u);
  assert_near (D / sqrt (1 - D * D / (4 * 100 * 100)), 10, 2e-4);
}

/* Without a lens the scale's uncertainty is all that is known of it. */
static void
a_bare_scale_gives_its_uncertainty (void **state)
{
  (void)state;
  const WsPin pin = { .width_px = 240, .u_width_px = 0.003 };
  WsOptics optics = WS_OPTICS_UNKNOWN;
  optics.has_scale = TRUE;
  optics.mm_per_px = 0.01;
  optics.u_mm_per_px = 2e-6;
  double u;
  assert_near (wsi_pin_diameter_mm (&pin, &optics, &u), 2.4, 1e-12);
  assert_near (u, hypot (0.003 * 0.01, 240 * 2e-6), 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (width_at_any_angle),
    cmocka_unit_test (end_is_seen),
    cmocka_unit_test (dust_does_not_count),
    cmocka_unit_test (clipped_light_is_said),
    cmocka_unit_test (what_is_no_pin_is_refused),
    cmocka_unit_test (through_a_lens),
    cmocka_unit_test (pinhole_sees_past_the_middle),
    cmocka_unit_test (a_bare_scale_gives_its_uncertainty),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
