#include "tool/form/stretch.h"

#include "base/geometry.h"
#include "edge/testing.h"

#define N 200

/* A point a px along x, off by `form` of its part of the length, -1 .. 1, and by noise. */
static double
u_of (double (*form) (double), double noise, guint seed, double *u)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (seed);
  WsPoint points[N];
  for (guint i = 0; i < N; i++)
    points[i] = wsi_point (i, form (2.0 * i / (N - 1) - 1) + noise * random_normal (random));
  WsChainPiece piece = { .kind = WS_CHAIN_LINE };
  assert_true (wsi_chain_fit (points, 0, N, &piece));
  *u = MAX (piece.line.u_angle, piece.line.scatter * sqrt (12.0 / N) / N);
  return wsi_form_stretch_u (points, &piece, *u);
}

static double
straight (double s)
{
  (void)s;
  return 0;
}

/* 3 px from the chord to the middle. */
static double
bowed (double s)
{
  return 3 * (1 - s * s);
}

static void
a_straight_edge_has_one_direction (void **state)
{
  (void)state;
  guint told = 0;
  for (guint seed = 0; seed < 200; seed++)
  {
    double u;
    const double by_stretch = u_of (straight, 0.05, seed, &u);
    assert_true (by_stretch < 3 * u);
    told += by_stretch > 0;
  }
  assert_true (told <= 200 / 5);
}

/* A parabola's line over the parts a .. b of -1 .. 1 has the slope at its middle, -6 (a + b) / 2 px
 * a half: of stretches whose middles lie at -1/6, 1/6, -1/3, 0 and 1/3 the turn is 6 times that
 * over 100 px. */
static void
a_bowed_edge_turns_with_the_stretch (void **state)
{
  (void)state;
  double u;
  const double spread = 6.0 / 100 * sqrt ((2.0 / 36 + 2.0 / 9) / 5);
  assert_near (u_of (bowed, 0.02, 1, &u), spread, 0.02 * spread);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_straight_edge_has_one_direction),
    cmocka_unit_test (a_bowed_edge_turns_with_the_stretch),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
