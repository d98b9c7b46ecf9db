#include "edge/proud.h"

#include "base/geometry.h"
#include "edge/testing.h"

#include <string.h>

#define N 170
#define NOISE 0.04

typedef struct
{
  WsPoint points[N];
  guint8 used[N];
  WsLineFit fit;
  WsProud proud;
  double angle, offset; /* errors, rad and px */
} Edge;

/* A bowed edge with noise; outward is up. */
static void
make_edge (Edge *edge, GRand *random, double bow)
{
  for (guint i = 0; i < N; i++)
  {
    const double s = 2 * i / (N - 1.0) - 1;
    edge->points[i] = wsi_point (i, NOISE * random_normal (random) + bow * 0.5 * (3 * s * s - 1));
  }
}

/* Teeth of about `height` from one place to another, each `length` points long. */
static void
raise_teeth (Edge *edge, GRand *random, guint from, guint to, double height, guint length)
{
  double tooth = 0;
  for (guint i = from; i < to; i++)
  {
    if ((i - from) % length == 0)
      tooth = height * g_rand_double_range (random, 0.2, 1);
    edge->points[i].y += tooth;
  }
}

/* Laid over smoothly: rises and falls over the whole of it. */
static void
raise_roll (Edge *edge, guint from, guint to, double height)
{
  for (guint i = from; i < to; i++)
    edge->points[i].y += height * 0.5 * (1 - cos (2 * G_PI * (i - from) / (to - from)));
}

static gboolean
fit_edge (Edge *edge, const WsBow *bow)
{
  if (!wsi_line_fit_under (edge->points, N, wsi_point (0, 1), bow, edge->used, &edge->fit,
                           &edge->proud))
    return FALSE;
  edge->angle = asin (edge->fit.direction.y * (edge->fit.direction.x < 0 ? -1 : 1));
  edge->offset = fabs (wsi_line_distance (&edge->fit, wsi_point (0.5 * (N - 1), 0)));
  return TRUE;
}

static double
u_angle (const Edge *edge)
{
  return hypot (edge->fit.u_angle, edge->proud.u_angle);
}

static void
a_clean_edge_gets_the_plain_line (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  for (guint round = 0; round < 60; round++)
  {
    Edge edge;
    WsLineFit plain;
    guint8 used[N];
    make_edge (&edge, random, round % 2 == 0 ? 0 : 0.15);
    assert_true (fit_edge (&edge, NULL));
    assert_true (wsi_line_fit (edge.points, N, used, &plain));
    assert_memory_equal (&plain, &edge.fit, sizeof plain);
    assert_memory_equal (used, edge.used, N);
    assert_near (edge.proud.height, 0, 0);
    assert_false (edge.proud.unclear);
    /* What is doubted of it is no tenth of its noise. */
    assert_true (edge.proud.u_angle < 0.3 * plain.u_angle);
  }
}

static void
chips_are_not_what_stands_proud (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (4);
  for (guint round = 0; round < 30; round++)
  {
    Edge edge;
    make_edge (&edge, random, 0.1);
    raise_teeth (&edge, random, 50, 50 + round, -4, 6);
    assert_true (fit_edge (&edge, NULL));
    assert_near (edge.proud.height, 0, 0);
    assert_true (fabs (edge.angle) < 3 * u_angle (&edge) + 1e-4);
  }
}

/* Torn, from the end or in the middle, over up to six tenths of the edge. */
static void
a_torn_edge_is_measured_from_its_clean_side (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (5);
  guint found = 0, outside = 0;
  for (guint round = 0; round < 100; round++)
  {
    Edge edge;
    const guint length = N / 10 + round % 5 * N / 9, from = round % 3 * (N - length) / 2;
    const WsBow bow = { 0.1, 0.06 };
    make_edge (&edge, random, 0.1);
    raise_teeth (&edge, random, from, from + length, 0.7 + round % 4, 3 + round % 7 * 4);
    assert_true (fit_edge (&edge, &bow));
    found += edge.proud.height > 0.5;
    outside += !edge.proud.unclear && fabs (edge.angle) > 2 * u_angle (&edge) + 5e-4;
    outside += !edge.proud.unclear && edge.offset > 0.2;
    if (edge.proud.height > 0.5)
      assert_true (edge.proud.where.x >= from - 3.0 && edge.proud.where.x <= from + length + 3.0);
  }
  assert_true (found >= 90);
  assert_true (outside <= 1);
}

static void
a_rolled_edge_is_told_by_the_bow_of_the_other_lip (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (6);
  guint outside = 0;
  for (guint round = 0; round < 60; round++)
  {
    Edge edge;
    const guint length = N / 4 + round % 3 * N / 8, from = round % 4 * (N - length) / 3;
    const WsBow bow = { -0.08, 0.06 };
    make_edge (&edge, random, -0.08);
    raise_roll (&edge, from, from + length, 0.4 + 0.3 * (round % 5));
    assert_true (fit_edge (&edge, &bow));
    outside += !edge.proud.unclear && fabs (edge.angle) > 2 * u_angle (&edge) + 5e-4;
  }
  assert_true (outside <= 1);
}

/* Too little is left of the edge: no number without a warning. */
static void
where_too_much_is_hidden_the_line_is_unclear (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (7);
  guint unclear = 0;
  for (guint round = 0; round < 30; round++)
  {
    Edge edge;
    make_edge (&edge, random, 0);
    raise_teeth (&edge, random, N / 9, N, 5, 5);
    if (fit_edge (&edge, NULL) && !edge.proud.unclear)
      assert_true (fabs (edge.angle) < 3 * u_angle (&edge) + 1e-3 || edge.fit.n_used < 0.6 * N);
    else
      unclear++;
  }
  assert_true (unclear >= 1);
}

static void
outward_is_the_other_way_for_an_edge_seen_from_below (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (8);
  Edge edge;
  make_edge (&edge, random, 0);
  raise_teeth (&edge, random, 60, 100, 2, 5);
  assert_true (wsi_line_fit_under (edge.points, N, wsi_point (0, -1), NULL, edge.used, &edge.fit,
                                   &edge.proud));
  assert_near (edge.proud.height, 0, 0);
}

static void
too_few_points_get_the_plain_line (void **state)
{
  (void)state;
  Edge edge;
  memset (&edge, 0, sizeof edge);
  for (guint i = 0; i < 30; i++)
    edge.points[i] = wsi_point (i, 0);
  assert_true (wsi_line_fit_under (edge.points, 30, wsi_point (0, 1), NULL, edge.used, &edge.fit,
                                   &edge.proud));
  assert_false (
    wsi_line_fit_under (edge.points, 5, wsi_point (0, 1), NULL, edge.used, &edge.fit, &edge.proud));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_clean_edge_gets_the_plain_line),
    cmocka_unit_test (chips_are_not_what_stands_proud),
    cmocka_unit_test (a_torn_edge_is_measured_from_its_clean_side),
    cmocka_unit_test (a_rolled_edge_is_told_by_the_bow_of_the_other_lip),
    cmocka_unit_test (where_too_much_is_hidden_the_line_is_unclear),
    cmocka_unit_test (outward_is_the_other_way_for_an_edge_seen_from_below),
    cmocka_unit_test (too_few_points_get_the_plain_line),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
