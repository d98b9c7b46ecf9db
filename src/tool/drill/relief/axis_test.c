#include "base/geometry.h"
#include "base/testing.h"
#include "tool/drill/relief/axis.h"

#define WIDTH 400
#define HEIGHT 300
#define TOP 120.0

/* Ground of lightness 50 and a body of 40 whose side runs from (60, HEIGHT) up to TOP, turned by
 * `roll` degrees clockwise; above it the outline falls back.  Over the topmost `heel` px the side
 * bends inward like a heel. */
static WsReliefPlane *
body (double roll, double heel, gboolean mirrored)
{
  WsReliefPlane *plane = g_new0 (WsReliefPlane, 1);
  *plane = (WsReliefPlane){ WIDTH, HEIGHT, 1, g_new (float, WIDTH *HEIGHT) };
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double above = MAX (TOP - y, 0), near_heel = MAX (TOP + heel - y, 0);
      const double side = 60 + tan (wsi_radians (roll)) * (HEIGHT - (double)y) + 1.5 * above +
                          (heel > 0 ? 3 * near_heel * near_heel / (heel * heel) : 0);
      const guint seen = mirrored ? WIDTH - 1 - x : x;
      /* A step as lenses make it, and the body's brightening behind it. */
      const double in = 1 / (1 + exp (-(x - side) / 0.6));
      plane->light[(gsize)y * WIDTH + seen] =
        (float)(50 - 10 * in + 0.02 * in * (x - side) + 0.3 * sin (12.9 * x + 78.2 * y));
    }
  return plane;
}

static double
roll_of (const WsReliefAxis *axis)
{
  return wsi_degrees (atan2 (axis->up.x, -axis->up.y));
}

static void
the_side_gives_the_direction (void **state)
{
  (void)state;
  for (double roll = -12; roll < 13; roll += 4)
    for (int mirrored = 0; mirrored < 2; mirrored++)
    {
      g_autoptr (WsReliefPlane) plane = body (roll, 0, mirrored);
      WsReliefAxis axis;
      assert_true (wsi_relief_axis_find (plane, mirrored ? -1 : 1, &axis));
      assert_near (roll_of (&axis), mirrored ? -roll : roll, 0.05);
      assert_near (axis.inward.x * (mirrored ? -1 : 1), cos (wsi_radians (roll)), 1e-3);
      assert_true (axis.u < wsi_radians (0.15));
    }
}

/* The heel's bend would turn the line by half a degree. */
static void
the_heel_is_cut_off (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = body (0, 60, FALSE);
  WsReliefAxis axis;
  assert_true (wsi_relief_axis_find (plane, 1, &axis));
  assert_near (roll_of (&axis), 0, 0.15);
  assert_true (axis.length < HEIGHT - TOP - 20);
}

/* A side whose outline is a curve inward by `at (y)` px from where it is straight. */
static WsReliefPlane *
bowed (double (*at) (double y), double roll)
{
  const guint height = 500;
  WsReliefPlane *plane = g_new0 (WsReliefPlane, 1);
  *plane = (WsReliefPlane){ WIDTH, height, 1, g_new (float, (gsize)WIDTH *height) };
  for (guint y = 0; y < height; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double side = 60 + tan (wsi_radians (roll)) * (height - (double)y) + at (y) +
                          1.5 * MAX (TOP - (double)y, 0);
      const double in = 1 / (1 + exp (-(x - side) / 0.6));
      plane->light[(gsize)y * WIDTH + x] = (float)(50 - 10 * in + 0.3 * sin (12.9 * x + 78.2 * y));
    }
  return plane;
}

/* What a streak of light makes of the side's lower end. */
static double
low_end (double y)
{
  const double below = MAX (y - 380, 0);
  return 1.1e-4 * below * below;
}

/* Of a land whose heel is in view all the way. */
static double
helix (double y)
{
  const double off = y - 310;
  return 1.6e-4 * off * off;
}

/* Cutting the heel off takes nothing from a bow that isn't its own. */
static void
a_bow_of_light_is_borne_with (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = bowed (low_end, 4);
  WsReliefAxis axis;
  assert_true (wsi_relief_axis_find (plane, 1, &axis));
  assert_true (axis.length > 300);
  assert_true (axis.u > wsi_radians (0.05));
  assert_near (roll_of (&axis), 4, 2 * wsi_degrees (axis.u));
}

static void
a_helix_is_no_side (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = bowed (helix, 4);
  WsReliefAxis axis;
  assert_false (wsi_relief_axis_find (plane, 1, &axis));
}

static void
plain_ground_has_no_side (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = body (0, 0, FALSE);
  WsReliefAxis axis;
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
    plane->light[i] = (float)(50 + 0.01 * (i % WIDTH));
  assert_false (wsi_relief_axis_find (plane, 1, &axis));
  assert_false (wsi_relief_axis_find (plane, -1, &axis));
}

/* Light that falls off to the border departs at one place in all rows, but is no step. */
static void
uneven_light_has_no_side (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = body (0, 0, FALSE);
  WsReliefAxis axis;
  for (guint i = 0; i < WIDTH * HEIGHT; i++)
  {
    const double off = i % WIDTH - 0.5 * WIDTH;
    plane->light[i] = (float)(50 - 8e-4 * off * off + 0.1 * sin (12.9 * i));
  }
  assert_false (wsi_relief_axis_find (plane, 1, &axis));
  assert_false (wsi_relief_axis_find (plane, -1, &axis));
}

/* A lamp beside the border makes the ground fall off there; the body's side is where it was. */
static void
a_side_shows_behind_a_second_lamps_light (void **state)
{
  (void)state;
  for (int mirrored = 0; mirrored < 2; mirrored++)
  {
    g_autoptr (WsReliefPlane) plane = body (5, 0, mirrored);
    for (guint y = 0; y < HEIGHT; y++)
      for (guint x = 0; x < WIDTH; x++)
      {
        const double far = (mirrored ? WIDTH - 1 - x : x) + 0.1 * y;
        plane->light[(gsize)y * WIDTH + x] += (float)(4 * exp (-far / 60));
      }
    WsReliefAxis axis;
    assert_true (wsi_relief_axis_find (plane, mirrored ? -1 : 1, &axis));
    assert_near (roll_of (&axis), mirrored ? -5 : 5, 0.2);
  }
}

/* A slanted outline is no side of an upright body. */
static void
a_slanted_side_is_none (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = body (32, 0, FALSE);
  WsReliefAxis axis;
  assert_false (wsi_relief_axis_find (plane, 1, &axis));
}

/* The body's outline turns into the flank's, which is shorter: the lower run counts. */
static void
the_run_that_another_turns_into_counts (void **state)
{
  (void)state;
  const double knee = 330;
  const guint height = 500;
  for (int mirrored = 0; mirrored < 2; mirrored++)
  {
    g_autoptr (WsReliefPlane) plane = g_new0 (WsReliefPlane, 1);
    *plane = (WsReliefPlane){ WIDTH, height, 1, g_new (float, (gsize)WIDTH *height) };
    for (guint y = 0; y < height; y++)
      for (guint x = 0; x < WIDTH; x++)
      {
        const double roll = wsi_radians (y < knee ? -16 : 3);
        const double in = 1 / (1 + exp (-(x - 120.0 - tan (roll) * (knee - y)) / 0.6));
        plane->light[(gsize)y * WIDTH + (mirrored ? WIDTH - 1 - x : x)] =
          (float)(50 - 10 * in + 0.3 * sin (12.9 * x + 78.2 * y));
      }
    WsReliefAxis axis;
    assert_true (wsi_relief_axis_find (plane, mirrored ? -1 : 1, &axis));
    assert_near (roll_of (&axis), mirrored ? -3 : 3, 0.15);
    assert_true (axis.foot.y > knee);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_side_gives_the_direction),
    cmocka_unit_test (the_heel_is_cut_off),
    cmocka_unit_test (a_bow_of_light_is_borne_with),
    cmocka_unit_test (a_helix_is_no_side),
    cmocka_unit_test (plain_ground_has_no_side),
    cmocka_unit_test (uneven_light_has_no_side),
    cmocka_unit_test (a_side_shows_behind_a_second_lamps_light),
    cmocka_unit_test (a_slanted_side_is_none),
    cmocka_unit_test (the_run_that_another_turns_into_counts),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
