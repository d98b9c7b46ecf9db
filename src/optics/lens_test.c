#include <whetsight/optics.h>

#include "base/geometry.h"
#include "base/testing.h"
#include "optics/lens.h"

/* A near camera with barrel distortion, its plane leaning and turned by 29 degrees. */
static WsLens
near_lens (void)
{
  return (WsLens){ .model = WS_LENS_PINHOLE,
                   .width = 1600,
                   .height = 1200,
                   .parameters = { 0, 9725, 9718.5, 812.3, 590.2, 2.75, 24.3, 0.0012, -0.0007, -150,
                                   0.04, -0.03, 0.5, -4.2, -3.1, 131.6 } };
}

static WsLens
far_lens (void)
{
  return (WsLens){ .model = WS_LENS_TELECENTRIC,
                   .width = 1600,
                   .height = 1200,
                   .parameters = { 0.3, 0.0125, -0.002 } };
}

typedef struct
{
  WsPoint plane_mm, picture;
} Pair;

/* By projectPoints() of OpenCV 4.6.0 for near_lens(). */
static const Pair projected[] = {
  { { 0, 0 }, { 500.5591537287216, 360.2856071144945 } },
  { { 14.1, 0 }, { 1421.2535447707578, 862.110977034031 } },
  { { 0, 9.87 }, { 141.17640984132095, 1007.1250561966375 } },
  { { 7.3, 4.4 }, { 819.1018919297603, 904.1536559339829 } },
  { { -3.0, 6.0 }, { 83.69435918923136, 644.6275017991902 } },
};

/* The ideal picture is the plane but for a rigid motion and the scale: so distances tell. */
static void
plane_agrees_with_opencv (void **state)
{
  (void)state;
  const WsLens lens = near_lens ();
  const double scale = ws_lens_mm_per_px (&lens);
  for (gsize i = 0; i < G_N_ELEMENTS (projected); i++)
    for (gsize j = 0; j < i; j++)
    {
      const WsPoint a = ws_lens_to_ideal (&lens, projected[i].picture);
      const WsPoint b = ws_lens_to_ideal (&lens, projected[j].picture);
      const double mm = wsi_point_distance (projected[i].plane_mm, projected[j].plane_mm);
      assert_near (scale * wsi_point_distance (a, b), mm, 1e-8);
    }
}

static void
the_middle_keeps_place_and_direction (void **state)
{
  (void)state;
  const WsLens lens = near_lens ();
  const WsPoint middle = { 799.5, 599.5 };
  const WsPoint at = ws_lens_to_ideal (&lens, middle);
  const WsPoint right = ws_lens_to_ideal (&lens, wsi_point (800.5, 599.5));
  const WsPoint below = ws_lens_to_ideal (&lens, wsi_point (799.5, 600.5));
  assert_near (wsi_point_distance (at, middle), 0, 1e-8);
  /* The plane leans by 3 degrees: near to a pixel each way, and not mirrored. */
  assert_near (right.x - at.x, 1, 0.005);
  assert_near (below.y - at.y, 1, 0.005);
  assert_near (wsi_point_cross (wsi_point_sub (right, at), wsi_point_sub (below, at)), 1, 1e-5);
}

/* A board seen from behind counts its plane the other way round; the picture doesn't. */
static void
a_plane_seen_from_behind_is_not_mirrored (void **state)
{
  (void)state;
  WsLens lens = near_lens ();
  lens.parameters[WS_LENS_P_RX] = G_PI - 0.05;
  lens.parameters[WS_LENS_P_RY] = 0.02;
  lens.parameters[WS_LENS_P_RZ] = 0;
  const WsPoint at = ws_lens_to_ideal (&lens, wsi_point (799.5, 599.5));
  const WsPoint right = ws_lens_to_ideal (&lens, wsi_point (800.5, 599.5));
  const WsPoint below = ws_lens_to_ideal (&lens, wsi_point (799.5, 600.5));
  assert_near (right.x - at.x, 1, 0.005);
  assert_near (below.y - at.y, 1, 0.005);
}

static void
there_and_back (void **state)
{
  (void)state;
  const WsLens lenses[] = { near_lens (), far_lens () };
  for (gsize i = 0; i < G_N_ELEMENTS (lenses); i++)
    for (double x = -20; x < 1620; x += 163)
      for (double y = -20; y < 1220; y += 137)
      {
        const WsPoint ideal = ws_lens_to_ideal (&lenses[i], wsi_point (x, y));
        const WsPoint back = ws_lens_to_picture (&lenses[i], ideal);
        assert_near (back.x, x, 1e-6);
        assert_near (back.y, y, 1e-6);
      }
}

/* By hand: at the corner, one half diagonal out, the radial term is K1 itself. */
static void
telecentric_radial_term (void **state)
{
  (void)state;
  const WsLens lens = far_lens ();
  const WsPoint corner = ws_lens_to_ideal (&lens, wsi_point (0, 0));
  assert_near (corner.x, 799.5 * 0.002, 1e-9);
  assert_near (corner.y, 599.5 * 0.002, 1e-9);
  assert_near (ws_lens_mm_per_px (&lens), 0.0125, 1e-15);
}

static void
scale_carries_the_covariance (void **state)
{
  (void)state;
  WsLens lens = near_lens ();
  lens.parameters[WS_LENS_P_RX] = lens.parameters[WS_LENS_P_RY] = 0;
  const guint n = WS_LENS_P_N;
  /* Square on, scale is distance over focal length (but for the principal point's lens term). */
  lens.covariance[WS_LENS_P_TZ * n + WS_LENS_P_TZ] = 0.1 * 0.1;
  assert_near (ws_lens_u_mm_per_px (&lens) / ws_lens_mm_per_px (&lens), 0.1 / 131.6, 1e-6);
  /* Distance and focal length in full correlation cancel. */
  const double u = 0.1 / 131.6;
  for (guint i = WS_LENS_P_FX; i <= WS_LENS_P_FY; i++)
  {
    const double ui = u * lens.parameters[i];
    for (guint j = WS_LENS_P_FX; j <= WS_LENS_P_FY; j++)
      lens.covariance[i * n + j] = ui * u * lens.parameters[j];
    lens.covariance[i * n + WS_LENS_P_TZ] = lens.covariance[WS_LENS_P_TZ * n + i] = ui * 0.1;
  }
  assert_near (ws_lens_u_mm_per_px (&lens), 0, 1e-9);
}

static void
distance_and_foot (void **state)
{
  (void)state;
  WsLens lens = near_lens ();
  WsPoint foot;
  lens.parameters[WS_LENS_P_RX] = lens.parameters[WS_LENS_P_RY] = 0;
  assert_near (ws_lens_distance_mm (&lens, &foot), 131.6, 1e-9);
  /* Square on, the foot is the principal point. */
  const WsPoint seen = ws_lens_to_picture (&lens, foot);
  assert_near (seen.x, 812.3, 1e-6);
  assert_near (seen.y, 590.2, 1e-6);
  const WsLens far = far_lens ();
  assert_true (isinf (ws_lens_distance_mm (&far, &foot)));
  assert_true (isnan (foot.x));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (plane_agrees_with_opencv),
    cmocka_unit_test (the_middle_keeps_place_and_direction),
    cmocka_unit_test (a_plane_seen_from_behind_is_not_mirrored),
    cmocka_unit_test (there_and_back),
    cmocka_unit_test (telecentric_radial_term),
    cmocka_unit_test (scale_carries_the_covariance),
    cmocka_unit_test (distance_and_foot),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
