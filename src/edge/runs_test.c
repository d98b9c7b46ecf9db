#include "base/testing.h"

#include "base/geometry.h"
#include "edge/runs.h"

#define N 300

/* An L of 150 px each way, far from the origin. */
static void
put_l (WsEdgePoint points[N])
{
  for (guint i = 0; i < N; i++)
    points[i] = (WsEdgePoint){ .x = 5000.0 + MIN (i, 150), .y = 7000.0 + (i > 150 ? i - 150 : 0) };
}

/* By the definition: distances of an evenly spaced square's corners from its line, which through
 * (0,0), (1,1), (2,0) is y = 1/3: 1/9 + 4/9 + 1/9. */
static void
test_misfit (void **state)
{
  (void)state;
  const WsEdgePoint points[3] = { { .x = 0, .y = 0 }, { .x = 1, .y = 1 }, { .x = 2, .y = 0 } };
  guint n;
  g_autofree WsRunSums *sums = wsi_runs_new (points, 3, 1, &n);
  assert_int_equal (n, 3);
  assert_near (wsi_runs_misfit (sums, 0, 3), 2.0 / 3, 1e-12);
  assert_near (wsi_runs_misfit (sums, 0, 2), 0, 1e-12);
}

static void
test_cuts_at_the_corner (void **state)
{
  (void)state;
  WsEdgePoint points[N];
  put_l (points);
  g_autoptr (GArray) runs = wsi_runs_cut (points, N, 3, 3, 10);
  assert_int_equal (runs->len, 2);
  const WsRun *a = &g_array_index (runs, WsRun, 0), *b = &g_array_index (runs, WsRun, 1);
  assert_int_equal (a->from, 0);
  assert_true (a->to >= 49 && a->to <= 51);
  assert_int_equal (b->from, a->to);
  assert_int_equal (b->to, 100);
  assert_near (a->direction.x, 1, 1e-6);
  assert_near (b->direction.y, 1, 1e-6);
  assert_near (b->centre.x, 5150, 1e-6);
}

/* A parabola leaves nothing; a cubic what is left of Legendre's third term, whose mean square is
 * 1/7 over many points. */
static void
test_a_bow_leaves_nothing (void **state)
{
  (void)state;
  WsEdgePoint bow[N], cubic[N];
  for (guint i = 0; i < N; i++)
  {
    const double t = 2.0 * i / (N - 1) - 1;
    bow[i] = (WsEdgePoint){ .x = 5000.0 + i, .y = 7000.0 + 3 * t * t };
    cubic[i] = (WsEdgePoint){ .x = i, .y = 0.5 * (5 * t * t * t - 3 * t) };
  }
  assert_near (wsi_runs_bow_misfit (bow, N), 0, 1e-6);
  assert_near (wsi_runs_bow_misfit (cubic, N) / N, 1.0 / 7, 0.005);
}

/* A price above what the corner costs makes one stretch of it all. */
static void
test_a_price_too_high (void **state)
{
  (void)state;
  WsEdgePoint points[N];
  put_l (points);
  g_autoptr (GArray) runs = wsi_runs_cut (points, N, 3, 3, 1e9);
  assert_int_equal (runs->len, 1);
  g_autoptr (GArray) none = wsi_runs_cut (points, 4, 3, 3, 10);
  assert_int_equal (none->len, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_misfit),
    cmocka_unit_test (test_cuts_at_the_corner),
    cmocka_unit_test (test_a_bow_leaves_nothing),
    cmocka_unit_test (test_a_price_too_high),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
