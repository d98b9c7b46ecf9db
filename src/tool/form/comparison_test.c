#include "tool/form/comparison.h"

#include "base/testing.h"

#include <math.h>

#define POINTS 4000
#define NOISE 0.1
#define SEED 3

/* Points 1 px apart along two segments, off by noise that `alike` neighbours have in common. */
static GArray *
points_with (guint alike)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  GArray *points = g_array_new (FALSE, TRUE, sizeof (WsFormPoint));
  double off = 0;
  for (guint i = 0; i < POINTS; i++)
  {
    if (i % alike == 0)
    {
      off = 0;
      for (guint k = 0; k < 12; k++)
        off += NOISE * (g_rand_double (random) - 0.5);
    }
    const WsFormPoint p = { .along = i, .length = 1, .deviation = off, .number = i < 2000 ? 1 : 2 };
    g_array_append_val (points, p);
  }
  return points;
}

/* Means along a straight profile of `length` px.  Free with g_free(). */
static double *
map_of (GArray *points, double length, double guard)
{
  const WsContourSegment straight = { .to = { length, 0 } };
  g_autoptr (GArray) segments = g_array_new (FALSE, FALSE, sizeof straight);
  g_array_append_val (segments, straight);
  const WsContour nominal = { .segments = segments };
  const WsFormFit fit = { .points = points, .scale = 1 };
  const WsOutline outline = { .blur_px = 0 };
  const WsFormComparison work = { .fit = &fit,
                                  .outline = &outline,
                                  .task = { .nominal = &nominal, .guard = guard } };
  g_autofree guint *counts = g_new0 (guint, POINTS + 1);
  return wsi_form_smooth (&work, FALSE, counts);
}

/* A window has 7 px, which hold as many points. */
static double
seen (GArray *points)
{
  const WsFormFit fit = { .points = points };
  const WsOutline outline = { .blur_px = 0 };
  g_autofree double *map = map_of (points, points->len, 0);
  return wsi_form_window_u (&fit, map, wsi_form_window_px (&outline));
}

static void
independent_points_average_out (void **state)
{
  (void)state;
  g_autoptr (GArray) points = points_with (1);
  assert_near (seen (points) / (NOISE / sqrt (7.0)), 1, 0.1);
}

/* A window lies in one block, or parts of a and 1 - a in two: its variance is the mean of their
 * squares, 0.73 where it may begin anywhere. */
static void
neighbours_that_are_alike_do_not (void **state)
{
  (void)state;
  g_autoptr (GArray) points = points_with (8);
  assert_true (seen (points) > 0.7 * NOISE);
  assert_true (seen (points) < NOISE);
}

static void
a_step_somewhere_changes_nothing (void **state)
{
  (void)state;
  g_autoptr (GArray) points = points_with (1);
  for (guint i = 500; i < 600; i++)
    g_array_index (points, WsFormPoint, i).deviation += 3;
  assert_near (seen (points) / (NOISE / sqrt (7.0)), 1, 0.1);
}

static void
few_points_tell_nothing (void **state)
{
  (void)state;
  g_autoptr (GArray) points = points_with (1);
  g_array_set_size (points, 40);
  assert_near (seen (points), 0, 0);
}

/* What hides the end of a profile leaves its fillet on what is seen before it. */
static void
what_lies_beside_a_hidden_end_is_left_out (void **state)
{
  enum
  {
    GUARD = 5
  };
  (void)state;
  g_autoptr (GArray) points = points_with (1);
  g_autofree double *whole = map_of (points, POINTS, GUARD);
  g_autofree double *hidden = map_of (points, POINTS + 100, GUARD);
  assert_true (isfinite (whole[POINTS - 1]));
  assert_true (isnan (hidden[POINTS - 1]) && isnan (hidden[POINTS - GUARD]));
  assert_true (isfinite (hidden[POINTS - GUARD - 1]));
}

/* How far a mean over the step of such a misfit may be moved; `off`: where it lies. */
static double
veil_of (double misfit, double off)
{
  g_autoptr (GArray) points = points_with (1);
  for (guint i = 0; i < points->len; i++)
  {
    WsFormPoint *p = &g_array_index (points, WsFormPoint, i);
    const gboolean is_veiled = i > 480 && i < 520;
    p->deviation = is_veiled ? off : 0;
    p->misfit = is_veiled ? misfit : 0.004;
  }
  const WsFormFit fit = { .points = points, .scale = 1 };
  const WsOutline outline = { .noise = 0.004 };
  const WsFormComparison work = { .fit = &fit, .outline = &outline };
  g_autofree double *map = map_of (points, points->len, 0);
  g_autofree double *veils = wsi_form_veils (&work, map);
  assert_near (veils[400], 0, 0);
  return veils[500];
}

/* A film of oil on rendered tools moved means by up to 6 px of their misfits. */
static void
what_lies_beside_an_edge_may_have_moved_it (void **state)
{
  (void)state;
  assert_near (veil_of (0.005, 0.1), 0, 0);
  assert_true (veil_of (0.03, 0.2) > 6 * 0.03);
  assert_true (veil_of (0.1, 0.5) > 6 * 0.1);
  /* The mean lies where its segment does. */
  assert_true (veil_of (0.1, 0.01) < 0.02);
}

/* A chip stays one. */
static void
what_is_broken_out_is_not_what_lies_beside (void **state)
{
  (void)state;
  assert_true (veil_of (0.3, -2) < 0.5);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (independent_points_average_out),
    cmocka_unit_test (neighbours_that_are_alike_do_not),
    cmocka_unit_test (a_step_somewhere_changes_nothing),
    cmocka_unit_test (few_points_tell_nothing),
    cmocka_unit_test (what_lies_beside_a_hidden_end_is_left_out),
    cmocka_unit_test (what_lies_beside_an_edge_may_have_moved_it),
    cmocka_unit_test (what_is_broken_out_is_not_what_lies_beside),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
