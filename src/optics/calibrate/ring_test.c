#include "optics/calibrate/ring.h"

#include "optics/lens.h"
#include "optics/testing.h"

static const WsOptics bare = WS_OPTICS_UNKNOWN;
static const WsPoint centre = { 401.3, 297.8 };

static SceneCamera
camera_of (guint64 seed)
{
  SceneCamera camera = plain_camera (800, 600);
  camera.read = 0.005;
  camera.seed = seed;
  return camera;
}

static void
both_circles_of_a_ring (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (1);
  g_autoptr (WsImage) image = take_ring (centre, 250.4, 190.7, &camera);
  WsRing ring;
  assert_true (wsi_ring_measure (image, &bare, &ring));
  assert_true (ring.has_hole);
  assert_near (ring.outer.diameter_px, 500.8, 2 * ring.outer.u_diameter_px);
  assert_near (ring.inner.diameter_px, 381.4, 2 * ring.inner.u_diameter_px);
  assert_true (ring.outer.u_diameter_px < 0.02 && ring.inner.u_diameter_px < 0.02);
  assert_near (ring.outer.centre.x, centre.x, 0.005);
  assert_near (ring.inner.centre.y, centre.y, 0.005);
}

static void
a_disc_has_no_hole (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (2);
  g_autoptr (WsImage) image = take_ring (centre, 120.6, 0, &camera);
  WsRing ring;
  assert_true (wsi_ring_measure (image, &bare, &ring));
  assert_false (ring.has_hole);
  assert_near (ring.outer.diameter_px, 241.2, 2 * ring.outer.u_diameter_px);
}

/* Crumbs on both borders, and a speck in the middle of the hole. */
static void
dust_does_not_count (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (3);
  ScenePoint outer[CIRCLE_CORNERS], inner[CIRCLE_CORNERS], specks[3][4];
  circle_corners (centre, 250, outer);
  circle_corners (centre, 190, inner);
  const PinShape dust[3] = { { { centre.x + 250, centre.y }, 70, 12, 8 },
                             { { centre.x - 134, centre.y - 134 }, 20, 14, 9 },
                             { { centre.x + 3, centre.y }, 10, 14, 14 } };
  for (guint i = 0; i < 3; i++)
    pin_corners (&dust[i], specks[i]);
  const ScenePolygon polygons[5] = { { outer, CIRCLE_CORNERS, 1.0 },
                                     { inner, CIRCLE_CORNERS, -1.0 },
                                     { specks[0], 4, 1.0 },
                                     { specks[1], 4, 1.0 },
                                     { specks[2], 4, 1.0 } };
  g_autoptr (WsImage) image = take_polygons (polygons, 5, &camera);
  WsRing ring;
  assert_true (wsi_ring_measure (image, &bare, &ring));
  assert_true (ring.has_hole);
  assert_near (ring.outer.diameter_px, 500, 0.02);
  assert_near (ring.inner.diameter_px, 380, 0.02);
  assert_true (ring.outer.left_out > 0 && ring.outer.left_out < 0.1);
}

/* An ellipse's least-squares circle has its mean radius; the form goes into u. */
static void
form_is_told (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (4);
  ScenePoint border[CIRCLE_CORNERS];
  for (guint i = 0; i < CIRCLE_CORNERS; i++)
  {
    const double a = 2 * G_PI * i / CIRCLE_CORNERS, r = 220 + 0.8 * cos (2 * a);
    border[i] = (ScenePoint){ centre.x + r * cos (a), centre.y + r * sin (a) };
  }
  const ScenePolygon polygon = { border, CIRCLE_CORNERS, 1.0 };
  g_autoptr (WsImage) image = take_polygons (&polygon, 1, &camera);
  WsRing ring;
  assert_true (wsi_ring_measure (image, &bare, &ring));
  assert_near (ring.outer.diameter_px, 440, 0.02);
  assert_near (ring.outer.roundness_px, 1.6, 0.1);
  assert_near (ring.outer.residual_px, 0.8 / G_SQRT2, 0.02);
  assert_near (ring.outer.u_diameter_px, 2 * 0.8 / G_SQRT2 / 4, 0.02);
}

static void
what_is_no_ring_is_refused (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (5);
  WsRing ring;
  g_autoptr (WsImage) cut = take_ring (wsi_point (200, 300), 250, 190, &camera);
  assert_false (wsi_ring_measure (cut, &bare, &ring));
  assert_int_equal (ring.trouble, WS_RETAKE_CUT_BY_FRAME);

  const PinShape plate = { { 400, 300 }, 10, 300, 300 };
  g_autoptr (WsImage) square = take_pin (&plate, &camera);
  assert_false (wsi_ring_measure (square, &bare, &ring));

  g_autoptr (WsImage) tiny = take_ring (centre, 30, 0, &camera);
  assert_false (wsi_ring_measure (tiny, &bare, &ring));
}

/* A dark edge that looks too small: the ring's outside grows, its hole shrinks. */
static void
through_a_lens (void **state)
{
  (void)state;
  const SceneCamera camera = camera_of (6);
  g_autoptr (WsImage) image = take_ring (centre, 250, 190, &camera);
  WsLens lens = { .model = WS_LENS_TELECENTRIC, .width = 800, .height = 600 };
  lens.parameters[WS_LENS_EDGE_SHIFT] = 0.4;
  lens.parameters[WS_LENS_T_SCALE] = 0.02;
  lens.covariance[0] = 0.05 * 0.05;
  const WsOptics optics = ws_optics_of_lens (&lens);
  WsRing ring;
  double u_outer, u_inner;
  assert_true (wsi_ring_measure (image, &optics, &ring));
  assert_near (wsi_ring_diameter_mm (&ring.outer, &optics, &u_outer), 500.8 * 0.02, 2e-4);
  assert_near (wsi_ring_diameter_mm (&ring.inner, &optics, &u_inner), 379.2 * 0.02, 2e-4);
  assert_near (u_outer, 0.02 * 2 * 0.05, 1e-4);
  assert_near (u_inner, 0.02 * 2 * 0.05, 1e-4);

  lens.parameters[WS_LENS_T_K1] = 0.01;
  const WsOptics bent = ws_optics_of_lens (&lens);
  WsRing again;
  assert_true (wsi_ring_measure (image, &bent, &again));
  assert_near (wsi_ring_diameter_through (&ring.outer, &lens), again.outer.diameter_px, 0.02);
  assert_near (wsi_ring_diameter_through (&ring.inner, &lens), again.inner.diameter_px, 0.02);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (both_circles_of_a_ring),     cmocka_unit_test (a_disc_has_no_hole),
    cmocka_unit_test (dust_does_not_count),        cmocka_unit_test (form_is_told),
    cmocka_unit_test (what_is_no_ring_is_refused), cmocka_unit_test (through_a_lens),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
