#include "edge/line.h"

#include "base/geometry.h"
#include "edge/testing.h"

#define N 600
#define LENGTH 500.0

/* N points along the direction `angle`, `off` of each across it. */
static void
make_line (double angle, const double *off, WsPoint *points)
{
  const WsPoint along = wsi_point (cos (angle), sin (angle));
  const WsPoint across = wsi_point (-along.y, along.x);
  for (guint i = 0; i < N; i++)
  {
    const double t = LENGTH * (i / (N - 1.0) - 0.5);
    points[i] =
      wsi_point_along (wsi_point_along (wsi_point (812.3, 455.1), t, along), off[i], across);
  }
}

/* Direction against the one made, rad; lines have no sense of direction. */
static double
angle_error (const WsLineFit *fit, double angle)
{
  return asin (wsi_point_cross (wsi_point (cos (angle), sin (angle)), fit->direction));
}

static WsLineFit
fit_or_fail (const WsPoint *points, guint8 *used)
{
  WsLineFit fit;
  assert_true (wsi_line_fit (points, N, used, &fit));
  assert_int_equal (fit.n, N);
  return fit;
}

static void
an_exact_line_is_found_exactly (void **state)
{
  (void)state;
  const double off[N] = { 0 };
  WsPoint points[N];
  guint8 used[N];
  for (double angle = -3.0; angle < 3.2; angle += 0.37)
  {
    make_line (angle, off, points);
    const WsLineFit fit = fit_or_fail (points, used);
    assert_near (angle_error (&fit, angle), 0.0, 1e-12);
    assert_near (wsi_line_distance (&fit, points[0]), 0.0, 1e-9);
    assert_near (wsi_line_distance (&fit, points[N - 1]), 0.0, 1e-9);
    assert_near (fit.t_high - fit.t_low, LENGTH, 1e-9);
    assert_near (fit.bow, 0.0, 1e-9);
    assert_int_equal (fit.n_used, N);
    assert_true (fit.u_angle < 1e-12 && fit.u_offset < 1e-9);
  }
}

/* Chips over 30 % of the edge, all on one side as chips are, the rest with noise of 0.02 px. */
static void
chips_over_a_third_of_the_edge_do_not_turn_it (void **state)
{
  (void)state;
  const struct
  {
    double from, to, depth;
  } chips[] = { { 0.02, 0.12, 6.0 }, { 0.55, 0.65, 9.0 }, { 0.8, 0.9, 3.0 } };
  double off[N], squares = 0.0;
  guint8 used[N];
  WsPoint points[N];
  g_autoptr (GRand) random = g_rand_new_with_seed (11);
  for (guint round = 0; round < 20; round++)
  {
    for (guint i = 0; i < N; i++)
    {
      const double s = i / (N - 1.0);
      off[i] = 0.02 * random_normal (random);
      for (gsize k = 0; k < G_N_ELEMENTS (chips); k++)
        if (s > chips[k].from && s < chips[k].to)
          off[i] -= chips[k].depth * sin (G_PI * (s - chips[k].from) / 0.1);
    }
    const double angle = -G_PI + 0.31 * round;
    make_line (angle, off, points);
    const WsLineFit fit = fit_or_fail (points, used);
    const double error = wsi_degrees (angle_error (&fit, angle));
    squares += error * error / 20;
    assert_true (fit.n_used > 0.65 * N && fit.n_used < 0.75 * N);
    assert_true (used[(guint)(0.6 * N)] == 0 && used[(guint)(0.3 * N)] == 1);
  }
  print_message ("RMS %.6f deg\n", sqrt (squares));
  assert_true (sqrt (squares) <= 0.001);
}

/* A bow is measured, and the straight part stays the line of least squares through all, which
 * by symmetry has the chord's direction; also with the bow's middle chipped away. */
static void
a_bow_does_not_turn_the_line (void **state)
{
  (void)state;
  double off[N];
  WsPoint points[N];
  guint8 used[N];
  for (guint chipped = 0; chipped < 2; chipped++)
  {
    for (guint i = 0; i < N; i++)
    {
      const double s = 2.0 * i / (N - 1.0) - 1.0;
      off[i] = 0.3 * 0.5 * (3.0 * s * s - 1.0);
      if (chipped && s > 0.2 && s < 0.6)
        off[i] -= 7.0;
    }
    make_line (0.7, off, points);
    const WsLineFit fit = fit_or_fail (points, used);
    assert_near (wsi_degrees (angle_error (&fit, 0.7)), 0.0, 2e-4);
    assert_near (fabs (fit.bow), 0.3, 1e-3);
    assert_near (wsi_line_bowed_distance (&fit, points[0]), 0.0, 2e-3);
    assert_near (fabs (wsi_line_distance (&fit, points[0])), 0.3, 2e-3);
  }
}

/* Noise correlated over some 20 points, as roughness is.  The stated uncertainty has the right
 * size on average; from ten blocks a single one is itself uncertain by a quarter, so that 2 u
 * covers 88 % of such errors rather than 95 %. */
static void
stated_uncertainty_holds_for_correlated_noise (void **state)
{
  (void)state;
  const guint rounds = 1000;
  const double memory = 0.9;
  double off[N];
  WsPoint points[N];
  guint8 used[N];
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  guint covered = 0;
  double squares = 0.0, stated = 0.0;
  for (guint round = 0; round < rounds; round++)
  {
    double noise = random_normal (random);
    for (guint i = 0; i < N; i++)
    {
      noise = memory * noise + sqrt (1.0 - memory * memory) * random_normal (random);
      off[i] = 0.05 * noise;
    }
    make_line (0.4, off, points);
    const WsLineFit fit = fit_or_fail (points, used);
    const double error = angle_error (&fit, 0.4);
    covered += fabs (error) <= 2.0 * fit.u_angle;
    squares += error * error;
    stated += fit.u_angle * fit.u_angle;
  }
  const double share = (double)covered / rounds;
  print_message ("covered %.3f, stated / found %.3f\n", share, sqrt (stated / squares));
  assert_true (share > 0.86 && share < 0.97);
  assert_near (sqrt (stated / squares), 1.0, 0.1);
}

/* A zigzag of three equal runs. */
static void
an_edge_that_is_no_line_is_refused (void **state)
{
  (void)state;
  double off[N];
  WsPoint points[N];
  guint8 used[N];
  WsLineFit fit;
  for (guint i = 0; i < N; i++)
    off[i] = fabs (fmod (0.6 * i, 240.0) - 120.0);
  make_line (0.2, off, points);
  assert_false (wsi_line_fit (points, N, used, &fit));
  assert_false (wsi_line_fit (points, WS_LINE_MIN_POINTS - 1, used, &fit));
  for (guint i = 0; i < N; i++)
    points[i] = wsi_point (4.0, 4.0);
  assert_false (wsi_line_fit (points, N, used, &fit));
}

static void
lines_meet_where_they_cross (void **state)
{
  (void)state;
  const WsLineFit a = { .centre = { 0, 3 }, .direction = { 1, 0 } };
  WsLineFit b = { .centre = { 7, -2 }, .direction = { 0.6, 0.8 } };
  WsPoint where;
  assert_true (wsi_line_meet (&a, &b, &where));
  assert_near (where.x, 10.75, 1e-12);
  assert_near (where.y, 3.0, 1e-12);
  b.direction = wsi_point (-1, 0);
  assert_false (wsi_line_meet (&a, &b, &where));
  assert_near (wsi_line_distance (&a, wsi_point (100, 5)), 2.0, 1e-12);
}

/* Pearson's points (Phil. Mag. 2, 1901), as listed with York's weights in the test-suite of a
 * national metrology institute's uncertainty calculator; the unweighted orthogonal fit
 * y = 5.784044 - 0.545561 x, RMS distance 0.248711, recomputed with a general-purpose library. */
static void
pearsons_points_give_his_line (void **state)
{
  (void)state;
  static const WsPoint points[] = { { 0, 5.9 },   { 0.9, 5.4 }, { 1.8, 4.4 }, { 2.6, 4.6 },
                                    { 3.3, 3.5 }, { 4.4, 3.7 }, { 5.2, 2.8 }, { 6.1, 2.8 },
                                    { 6.5, 2.4 }, { 7.4, 1.5 } };
  const guint n = G_N_ELEMENTS (points);
  WsLineFit fit = { .n = n };
  assert_true (wsi_line_fit_total (points, n, &fit));
  const double slope = fit.direction.y / fit.direction.x;
  assert_near (slope, -0.545561, 5e-7);
  assert_near (fit.centre.y - slope * fit.centre.x, 5.784044, 5e-7);
  double squares = 0;
  for (guint i = 0; i < n; i++)
    squares += pow (wsi_line_distance (&fit, points[i]), 2);
  assert_near (sqrt (squares / n), 0.248711, 5e-7);

  const WsPoint same[] = { { 3, 4 }, { 3, 4 } };
  assert_false (wsi_line_fit_total (same, 2, &fit));
}

/* The band within which points may agree follows from the length of these points alone. */
static void
what_lies_behind_the_points_does_not_count (void **state)
{
  (void)state;
  double off[N] = { 0 };
  for (guint i = N / 3; i < N / 2; i++)
    off[i] = 40;
  WsPoint points[N + 4];
  guint8 used[N];
  make_line (0.4, off, points);
  for (guint i = N; i < N + 4; i++)
    points[i] = wsi_point (NAN, NAN);
  const WsLineFit fit = fit_or_fail (points, used);
  assert_near (angle_error (&fit, 0.4), 0, 1e-9);
  assert_int_equal (fit.n_used, N - (N / 2 - N / 3));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (an_exact_line_is_found_exactly),
    cmocka_unit_test (chips_over_a_third_of_the_edge_do_not_turn_it),
    cmocka_unit_test (a_bow_does_not_turn_the_line),
    cmocka_unit_test (stated_uncertainty_holds_for_correlated_noise),
    cmocka_unit_test (an_edge_that_is_no_line_is_refused),
    cmocka_unit_test (lines_meet_where_they_cross),
    cmocka_unit_test (pearsons_points_give_his_line),
    cmocka_unit_test (what_lies_behind_the_points_does_not_count),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
