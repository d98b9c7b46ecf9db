#include "base/testing.h"
#include "tool/drill/relief/plane.h"

#define WIDTH 7
#define HEIGHT 5

static double
twisted (double x, double y)
{
  return 20 + 3 * x + 5 * y - 0.5 * x * y;
}

/* Of every slope and of a twist, which bilinear interpolation gives back as they are. */
static WsReliefPlane *
twisted_plane (void)
{
  WsReliefPlane *plane = g_new0 (WsReliefPlane, 1);
  *plane = (WsReliefPlane){ WIDTH, HEIGHT, 2.5, g_new (float, WIDTH *HEIGHT) };
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
      plane->light[y * WIDTH + x] = (float)twisted (x, y);
  return plane;
}

static void
light_is_bilinear (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = twisted_plane ();
  for (double y = 0; y < HEIGHT - 1; y += 0.3)
    for (double x = 0; x < WIDTH - 1; x += 0.3)
      assert_near (wsi_relief_light (plane, x, y), twisted (x, y), 1e-5);
}

static void
outside_is_no_light (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = twisted_plane ();
  assert_true (isnan (wsi_relief_light (plane, -0.01, 1)));
  assert_true (isnan (wsi_relief_light (plane, 1, -0.01)));
  assert_true (isnan (wsi_relief_light (plane, WIDTH - 1, 1)));
  assert_true (isnan (wsi_relief_light (plane, 1, HEIGHT - 1)));
  assert_true (isnan (wsi_relief_light (plane, NAN, 1)));
}

/* The first cell's middle lies at 0.5 cells from the picture's border, which is at -0.5 px. */
static void
cells_lie_where_their_pixels_do (void **state)
{
  (void)state;
  g_autoptr (WsReliefPlane) plane = twisted_plane ();
  const WsPoint first = wsi_relief_place (plane, 0, 0);
  assert_near (first.x, 0.75, 1e-12);
  assert_near (first.y, 0.75, 1e-12);
  const WsPoint back = wsi_relief_cell (plane, wsi_relief_place (plane, 3.2, 1.7));
  assert_near (back.x, 3.2, 1e-12);
  assert_near (back.y, 1.7, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (light_is_bilinear),
    cmocka_unit_test (outside_is_no_light),
    cmocka_unit_test (cells_lie_where_their_pixels_do),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
