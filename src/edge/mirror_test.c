#include "edge/mirror.h"

#include "base/geometry.h"
#include "edge/testing.h"

#define LENGTH 600.0
#define SPACING 0.9

/* Half the width of a fluted body: scallops, and the step from margin to relieved land. */
static double
half_width (double z)
{
  const double turn = fmod (fabs (z) / 240.0, 1.0);
  const double scallop = turn > 0.55 ? 55.0 * sin (G_PI * (turn - 0.55) / 0.45) : 0.0;
  return 180.0 - scallop - 4.0 / (1.0 + exp (-(turn - 0.2) * 240.0 / 1.5));
}

typedef struct
{
  double noise; /* px */
  double chip;  /* depth of a notch on one side over a tenth of the length, px */
} Damage;

/* Outline points on both sides, SPACING apart along the axis, at heights of their own. */
static GArray *
make_body (const WsAxis *axis, Damage damage, GRand *random)
{
  GArray *points = g_array_new (FALSE, FALSE, sizeof (WsEdgePoint));
  for (int side = -1; side <= 1; side += 2)
    for (double z = side < 0 ? 0.0 : 0.31; z > -LENGTH; z -= SPACING)
    {
      double u = side * half_width (z);
      if (side > 0 && z < -0.4 * LENGTH && z > -0.5 * LENGTH)
        u -= damage.chip;
      if (damage.noise > 0)
        u += damage.noise * random_normal (random);
      const WsPoint p = wsi_axis_to_picture (axis, wsi_point (u, z));
      const WsEdgePoint point = { .x = p.x, .y = p.y };
      g_array_append_val (points, point);
    }
  return points;
}

static WsAxis
make_axis (double angle_deg)
{
  const double angle = wsi_radians (angle_deg);
  return (WsAxis){ { 700.3, 512.8 }, { cos (angle), sin (angle) } };
}

/* Turned by two degrees and moved by some pixels. */
static WsAxis
disturb (const WsAxis *axis)
{
  const double angle = atan2 (axis->direction.y, axis->direction.x) + wsi_radians (2.0);
  return (WsAxis){ { axis->origin.x + 4.0, axis->origin.y - 5.0 }, { cos (angle), sin (angle) } };
}

static WsMirror
fit (const GArray *points, const WsAxis *axis)
{
  const WsAxis start = disturb (axis);
  WsMirror mirror;
  assert_true (wsi_mirror_fit ((const WsEdgePoint *)(void *)points->data, points->len, &start,
                               20.0 - LENGTH, -20.0, SPACING, &mirror));
  return mirror;
}

static double
angle_error_deg (const WsMirror *mirror, const WsAxis *axis)
{
  return wsi_degrees (asin (wsi_point_cross (axis->direction, mirror->axis.direction)));
}

/* Distance of the true axis' point at half the body's length from the axis found. */
static double
offset_error (const WsMirror *mirror, const WsAxis *axis)
{
  const WsPoint middle = wsi_axis_to_picture (axis, wsi_point (0.0, -0.5 * LENGTH));
  return wsi_axis_to_tool (&mirror->axis, middle).x;
}

static void
frames_invert_each_other (void **state)
{
  (void)state;
  const WsAxis axis = make_axis (-71.0);
  const WsPoint p = wsi_point (-12.25, 400.5);
  const WsPoint q = wsi_axis_to_picture (&axis, wsi_axis_to_tool (&axis, p));
  assert_near (q.x, p.x, 1e-9);
  assert_near (q.y, p.y, 1e-9);
  /* Point up: u to the right, z upward. */
  const WsAxis up = { { 10.0, 20.0 }, { 0.0, -1.0 } };
  const WsPoint tool = wsi_axis_to_tool (&up, wsi_point (13.0, 15.0));
  assert_near (tool.x, 3.0, 1e-12);
  assert_near (tool.y, 5.0, 1e-12);
}

static void
the_axis_of_a_scalloped_body_is_found (void **state)
{
  (void)state;
  for (double angle = -180.0; angle < 180.0; angle += 23.0)
  {
    const WsAxis axis = make_axis (angle);
    g_autoptr (GArray) points = make_body (&axis, (Damage){ 0 }, NULL);
    const WsMirror mirror = fit (points, &axis);
    assert_near (angle_error_deg (&mirror, &axis), 0.0, 1e-3);
    assert_near (offset_error (&mirror, &axis), 0.0, 5e-3);
    assert_true (mirror.kept > 0.9);
    assert_true (mirror.rms_px < 0.05);
    assert_near (mirror.length_px, LENGTH - 40.0, 15.0);
  }
}

static void
a_chip_on_one_side_does_not_turn_it (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (1);
  for (double angle = -170.0; angle < 180.0; angle += 50.0)
  {
    const WsAxis axis = make_axis (angle);
    g_autoptr (GArray) points = make_body (&axis, (Damage){ 0.02, 9.0 }, random);
    const WsMirror mirror = fit (points, &axis);
    assert_near (angle_error_deg (&mirror, &axis), 0.0, 1e-3);
    assert_near (offset_error (&mirror, &axis), 0.0, 5e-3);
    assert_true (mirror.kept > 0.75 && mirror.kept < 0.92);
  }
}

static void
what_the_axis_leaves_out_pulls_at_it (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  const WsAxis axis = make_axis (20.0);
  g_autoptr (GArray) sound = make_body (&axis, (Damage){ 0.02, 0.0 }, random);
  g_autoptr (GArray) chipped = make_body (&axis, (Damage){ 0.02, 9.0 }, random);
  const WsMirror none = fit (sound, &axis), some = fit (chipped, &axis);
  assert_true (fabs (none.pull_angle) < 1e-5 && fabs (none.pull_offset) < 0.01);
  assert_true (none.spread_px < 0.2);
  /* A chip of 9 px moves its mid-points by 4.5, of which 4 px count, over a tenth of the heights.
   */
  assert_true (fabs (some.pull_offset) > 0.2 && fabs (some.pull_offset) < 0.6);
  assert_true (some.spread_px > 0.5 && some.spread_px < 4.0);
}

static void
stated_uncertainty_is_that_of_the_scatter (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (2);
  const guint rounds = 500;
  const WsAxis axis = make_axis (33.0);
  double squares = 0.0, stated = 0.0;
  for (guint round = 0; round < rounds; round++)
  {
    g_autoptr (GArray) points = make_body (&axis, (Damage){ 0.1, 0.0 }, random);
    const WsMirror mirror = fit (points, &axis);
    const double error = wsi_radians (angle_error_deg (&mirror, &axis));
    squares += error * error;
    stated += mirror.u_angle * mirror.u_angle;
  }
  print_message ("stated / found %.3f, found %.5f deg\n", sqrt (stated / squares),
                 wsi_degrees (sqrt (squares / rounds)));
  assert_true (stated / squares > 0.8 * 0.8 && stated / squares < 1.4 * 1.4);
}

static void
defect_tells_a_true_axis_from_a_false_one (void **state)
{
  (void)state;
  const WsAxis axis = make_axis (100.0);
  const WsAxis other = disturb (&axis);
  g_autoptr (GArray) points = make_body (&axis, (Damage){ 0 }, NULL);
  const WsEdgePoint *p = (const WsEdgePoint *)(void *)points->data;
  assert_true (wsi_mirror_defect (p, points->len, &axis, -500.0, -20.0, SPACING) < 0.05);
  assert_true (wsi_mirror_defect (p, points->len, &other, -500.0, -20.0, SPACING) > 1.0);
  assert_true (isinf (wsi_mirror_defect (p, points->len, &axis, 50.0, 500.0, SPACING)));
}

static void
one_side_alone_has_no_axis (void **state)
{
  (void)state;
  const WsAxis axis = make_axis (10.0);
  g_autoptr (GArray) points = make_body (&axis, (Damage){ 0 }, NULL);
  WsMirror mirror;
  assert_false (wsi_mirror_fit ((const WsEdgePoint *)(void *)points->data, points->len / 2, &axis,
                                20.0 - LENGTH, -20.0, SPACING, &mirror));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (frames_invert_each_other),
    cmocka_unit_test (the_axis_of_a_scalloped_body_is_found),
    cmocka_unit_test (a_chip_on_one_side_does_not_turn_it),
    cmocka_unit_test (what_the_axis_leaves_out_pulls_at_it),
    cmocka_unit_test (stated_uncertainty_is_that_of_the_scatter),
    cmocka_unit_test (defect_tells_a_true_axis_from_a_false_one),
    cmocka_unit_test (one_side_alone_has_no_axis),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
