#include "optics/calibrate/board.h"

#include "base/geometry.h"
#include "base/testing.h"
#include "optics/lens.h"

#define COLUMNS 11
#define ROWS 8
#define N (COLUMNS * ROWS)

static WsLens
far_lens (void)
{
  return (WsLens){ .model = WS_LENS_TELECENTRIC,
                   .width = 1600,
                   .height = 1200,
                   .parameters = { 0.3, 0.0125, -0.002 } };
}

/* A near camera with barrel distortion, its plane leaning and turned. */
static WsLens
near_lens (void)
{
  return (WsLens){ .model = WS_LENS_PINHOLE,
                   .width = 1600,
                   .height = 1200,
                   .parameters = { 0, 9725, 9718.5, 812.3, 590.2, 2.75, 24.3, 0.0012, -0.0007, -150,
                                   0.04, -0.03, 0.5, -4.2, -3.1, 131.6 } };
}

/* A board in the measuring plane, squares of `square_mm`, as the lens shows it; `lift` stretches it
 * down the rows, as a tilt does. */
static void
take_board (const WsLens *lens, double square_mm, double angle, double lift, gboolean mirrored,
            WsPoint corners[N])
{
  const double px = square_mm / ws_lens_mm_per_px (lens);
  for (guint i = 0; i < N; i++)
  {
    const double x = px * (i % COLUMNS - 5.0) * (mirrored ? -1 : 1);
    const double y = px * (1 + lift) * (i / COLUMNS - 3.5);
    const WsPoint ideal =
      wsi_point (801 + x * cos (angle) - y * sin (angle), 597 + x * sin (angle) + y * cos (angle));
    corners[i] = ws_lens_to_picture (lens, ideal);
  }
}

static void
finds_the_square (void **state)
{
  (void)state;
  const WsLens lenses[] = { far_lens (), near_lens () };
  for (gsize i = 0; i < G_N_ELEMENTS (lenses); i++)
    for (guint turn = 0; turn < 8; turn++)
    {
      WsPoint corners[N];
      WsBoardScale scale;
      const WsOptics optics = ws_optics_of_lens (&lenses[i]);
      const WsBoardSeen seen = { corners, COLUMNS, ROWS };
      take_board (&lenses[i], 1.27, 0.8 * turn, 0, turn % 2, corners);
      assert_true (wsi_board_scale (&seen, &optics, &scale));
      assert_near (scale.square_mm, 1.27, 1e-8);
      assert_near (scale.rms, 0, 1e-6);
      assert_near (scale.u_mm, 0, 1e-7);
    }
}

/* By hand: u of the scale alone is passed on in proportion. */
static void
carries_the_scales_uncertainty (void **state)
{
  (void)state;
  WsPoint corners[N];
  WsBoardScale scale;
  WsLens lens = far_lens ();
  lens.covariance[WS_LENS_T_SCALE * (WS_LENS_T_N + 1)] = 1e-6 * 1e-6;
  take_board (&lens, 1.27, 0.2, 0, FALSE, corners);
  const WsOptics optics = ws_optics_of_lens (&lens);
  const WsBoardSeen seen = { corners, COLUMNS, ROWS };
  assert_true (wsi_board_scale (&seen, &optics, &scale));
  assert_near (scale.u_mm, 1.27 * 1e-6 / 0.0125, 1e-9);
  /* What the calibration left over, at both ends of the board's 12.2 squares. */
  lens.residual_px = 0.1;
  assert_true (wsi_board_scale (&seen, &optics, &scale));
  assert_near (scale.u_mm, hypot (1.27 * 1e-6 / 0.0125, 0.2 * 0.0125 / hypot (10, 7)), 1e-9);
}

/* Over many boards with scattered corners the error is what u says. */
static void
scatter_is_told (void **state)
{
  (void)state;
  enum
  {
    TRIALS = 400
  };
  double squares = 0, u = 0;
  const WsLens lens = far_lens ();
  const WsOptics optics = ws_optics_of_lens (&lens);
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  for (guint trial = 0; trial < TRIALS; trial++)
  {
    WsPoint corners[N];
    WsBoardScale scale;
    const WsBoardSeen seen = { corners, COLUMNS, ROWS };
    take_board (&lens, 1.27, 0.1, 0, FALSE, corners);
    for (guint i = 0; i < N; i++)
    {
      corners[i].x += g_rand_double_range (random, -0.3, 0.3);
      corners[i].y += g_rand_double_range (random, -0.3, 0.3);
    }
    assert_true (wsi_board_scale (&seen, &optics, &scale));
    squares += (scale.square_mm - 1.27) * (scale.square_mm - 1.27) / TRIALS;
    u += scale.u_mm / TRIALS;
  }
  assert_near (sqrt (squares) / u, 1, 0.1);
}

static void
a_tilted_board_shows (void **state)
{
  (void)state;
  WsPoint corners[N];
  WsBoardScale scale;
  const WsLens lens = far_lens ();
  const WsOptics optics = ws_optics_of_lens (&lens);
  const WsBoardSeen seen = { corners, COLUMNS, ROWS };
  take_board (&lens, 1.27, 0.1, -0.02, FALSE, corners);
  assert_true (wsi_board_scale (&seen, &optics, &scale));
  assert_true (scale.rms > 0.02 && scale.rms < 0.05);
}

static void
no_board (void **state)
{
  (void)state;
  WsPoint corners[N];
  WsBoardScale scale;
  const WsLens lens = far_lens ();
  const WsOptics optics = ws_optics_of_lens (&lens);
  const WsBoardSeen seen = { corners, COLUMNS, ROWS };
  for (guint i = 0; i < N; i++)
    corners[i] = wsi_point (100, 100);
  assert_false (wsi_board_scale (&seen, &optics, &scale));
  corners[3] = wsi_point (NAN, NAN);
  assert_false (wsi_board_scale (&seen, &optics, &scale));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (finds_the_square), cmocka_unit_test (carries_the_scales_uncertainty),
    cmocka_unit_test (scatter_is_told),  cmocka_unit_test (a_tilted_board_shows),
    cmocka_unit_test (no_board),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
