#include "edge/scan.h"

#include "base/testing.h"
#include "maths/stats.h"

#define W 80
#define H 7
#define BLUR 1.3

/* A column edge at `place` between a tool of level `tool` and ground, blurred; from `band` px
 * inside on the tool has another level. */
static WsImage *
make_edge (double place, double tool, double ground, double band, double other)
{
  WsImage *image = ws_image_new (W, H, NULL);
  for (guint x = 0; x < W; x++)
  {
    double light = tool + (ground - tool) * wsi_normal_cdf ((x - place) / BLUR);
    light += (other - tool) * wsi_normal_cdf ((place - band - x) / BLUR);
    for (guint y = 0; y < H; y++)
      image->linear[y * W + x] = (guint16)(light * WS_IMAGE_FULL_SCALE);
  }
  return image;
}

static void
an_edge_is_found_between_pixels (void **state)
{
  (void)state;
  for (double place = 39.6; place < 40.6; place += 0.13)
  {
    g_autoptr (WsImage) image = make_edge (place, 0.04, 0.7, 30, 0.04);
    const WsCrack crack = { (int)floor (place), 3, 1, 0 };
    WsScanFitter fitter;
    WsProfile profile;
    wsi_scan_fitter_init (&fitter, image, FALSE);
    assert_true (wsi_scan_fit (&fitter, &crack, 1.5, TRUE, &profile));
    assert_near (crack.x + profile.place, place, 0.003);
    assert_near (profile.blur, BLUR, 0.01);
    assert_near (fabs (profile.step), 0.66, 0.005);
    assert_true (wsi_scan_fit_point (&fitter, &crack, BLUR, &profile));
    assert_near (crack.x + profile.place, place, 0.003);
  }
}

/* Another level 5 blurs inside: where levels vary only the rim counts, and the mask may be off. */
static void
levels_that_vary_are_left_inside (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_edge (40.3, 0.3, 0.7, 6.5, 0.8);
  WsScanFitter fitter;
  WsProfile profile;
  wsi_scan_fitter_init (&fitter, image, TRUE);
  for (int off = -2; off <= 2; off++)
  {
    const WsCrack crack = { 40 + off, 3, 1, 0 };
    assert_true (wsi_scan_fit_point (&fitter, &crack, BLUR, &profile));
    assert_near (crack.x + profile.place, 40.3, 0.1);
  }
}

static void
tool_and_ground_alike_have_no_edge (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_edge (40.3, 0.69, 0.7, 30, 0.69);
  const WsCrack crack = { 40, 3, 1, 0 };
  WsScanFitter fitter;
  WsProfile profile;
  wsi_scan_fitter_init (&fitter, image, TRUE);
  assert_false (wsi_scan_fit_point (&fitter, &crack, BLUR, &profile));
}

/* A notch narrower than its blur: the boundary between pixels, with a residual as great as the
 * step. */
static void
what_is_no_step_keeps_its_boundary (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (W, H, NULL);
  for (guint i = 0; i < W * H; i++)
    image->linear[i] = (guint16)(i % W % 2 == 0 ? 60000 : 2000);
  const WsCrack crack = { 41, 3, 1, 0 };
  WsScanFitter fitter;
  WsProfile profile;
  wsi_scan_fitter_init (&fitter, image, FALSE);
  assert_true (wsi_scan_fit_point (&fitter, &crack, BLUR, &profile));
  assert_true (profile.rms > 0.3 * fabs (profile.step));
}

/* Along the crack's direction, and nothing on a step without noise, or at the picture's border. */
static void
weights_move_a_place_by_its_noise (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = make_edge (40.3, 0.04, 0.7, 30, 0.04);
  const WsCrack crack = { 40, 3, 1, 0 }, at_border = { 1, 3, 1, 0 }, outside = { -1, 3, 1, 0 };
  WsScanFitter fitter;
  wsi_scan_fitter_init (&fitter, image, FALSE);
  assert_near (wsi_scan_weighed_move (&fitter, &crack, BLUR, 0.25), 0, 1e-3);
  assert_near (wsi_scan_weighed_move (&fitter, &at_border, BLUR, 0.25), 0, 0);
  assert_near (wsi_scan_weighed_move (&fitter, &outside, BLUR, 0.25), 0, 0);
  /* Light lifted where the ground's noise is seems to draw the edge outward or in; it counts less.
   */
  image->linear[3 * W + 42] = (guint16)(image->linear[3 * W + 42] - 2000);
  WsProfile plain;
  assert_true (wsi_scan_fit (&fitter, &crack, BLUR, FALSE, &plain));
  const double off = crack.x + plain.place - 40.3;
  const double move = wsi_scan_weighed_move (&fitter, &crack, BLUR, 0.25);
  assert_true (off > 0.01);
  assert_true (move < -0.2 * off && move > -off);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (an_edge_is_found_between_pixels),
    cmocka_unit_test (levels_that_vary_are_left_inside),
    cmocka_unit_test (tool_and_ground_alike_have_no_edge),
    cmocka_unit_test (what_is_no_step_keeps_its_boundary),
    cmocka_unit_test (weights_move_a_place_by_its_noise),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
