#include "edge/find/rectangle.h"

#include "base/testing.h"

#include <math.h>

#define W 200
#define H 160

typedef gboolean (*Shape) (double x, double y);

static gboolean
bar (double x, double y)
{
  return fabs (x) <= 55 && fabs (y) <= 20;
}

static gboolean
disc (double x, double y)
{
  return hypot (x, y) <= 40;
}

/* A point of 118 degrees: it leaves two corners empty. */
static gboolean
drill (double x, double y)
{
  return fabs (y) <= 25 && x >= -60 && x <= 60 - fabs (y) * 0.6;
}

/* Two bars at right angles fill no rectangle. */
static gboolean
angle (double x, double y)
{
  return (fabs (x + 40) <= 12 && fabs (y) <= 50) || (fabs (x) <= 50 && fabs (y - 38) <= 12);
}

static gboolean
is_rectangle_at (Shape shape, double turn, double x0, double y0)
{
  g_autofree float *light = g_new (float, W *H);
  for (guint y = 0; y < H; y++)
    for (guint x = 0; x < W; x++)
    {
      const double dx = x - x0, dy = y - y0, c = cos (turn), s = sin (turn);
      light[y * W + x] = shape (c * dx + s * dy, c * dy - s * dx) ? 0.02f : 0.4f;
    }
  g_autoptr (WsThings) things = wsi_things_find (light, W, H, NAN);
  assert_int_equal (things->things->len, 1);
  return wsi_things_is_rectangle (things, 1);
}

static gboolean
is_rectangle (Shape shape, double turn)
{
  return is_rectangle_at (shape, turn, W / 2.0, H / 2.0);
}

static void
a_bar_is_one_turned_any_way (void **state)
{
  (void)state;
  for (double turn = 0; turn < 3; turn += 0.29)
    assert_true (is_rectangle (bar, turn));
}

static void
other_shapes_are_none (void **state)
{
  (void)state;
  assert_false (is_rectangle (disc, 0));
  for (double turn = 0; turn < 3; turn += 0.29)
  {
    assert_false (is_rectangle (drill, turn));
    assert_false (is_rectangle (angle, turn));
  }
}

/* There is nothing beyond the border to look at. */
static void
a_bar_at_the_border_is_one (void **state)
{
  (void)state;
  assert_true (is_rectangle_at (bar, 0, 55, H / 2.0));
  assert_true (is_rectangle_at (bar, 0, W - 1 - 55, H / 2.0));
  assert_true (is_rectangle_at (bar, 0, W / 2.0, 20));
  assert_true (is_rectangle_at (bar, 0, W / 2.0, H - 1 - 20));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_bar_is_one_turned_any_way),
    cmocka_unit_test (other_shapes_are_none),
    cmocka_unit_test (a_bar_at_the_border_is_one),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
