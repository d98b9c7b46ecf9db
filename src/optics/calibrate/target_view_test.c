#include "optics/testing.h"

#include "optics/calibrate/target.h"

#define SQUARE 45.0 /* px */

static const WsTargetBoard board = { 6, 5, 1.0, 0 };

/* The board's middle is at `middle`; turned clockwise. */
typedef struct
{
  WsPoint middle;
  double angle_deg;
  double blur_px;
} Place;

static const Place middle = { { 300.3, 224.8 }, 12, 1.0 };

/* Of a place in squares from the board's first inner corner. */
static WsPoint
place_of (const Place *place, double x, double y)
{
  const double c = cos (wsi_radians (place->angle_deg)), s = sin (wsi_radians (place->angle_deg));
  const double across = SQUARE * (x - 0.5 * (board.columns - 1)),
               down = SQUARE * (y - 0.5 * (board.rows - 1));
  return wsi_point (place->middle.x + c * across - s * down,
                    place->middle.y + s * across + c * down);
}

/* Dark where the square's column and row add up to an even number, the first inner one so. */
static WsImage *
take_board (const Place *place)
{
  SceneCamera camera = plain_camera (600, 450);
  camera.blur_px = place->blur_px;
  ScenePoint corners[7 * 6][4];
  ScenePolygon squares[7 * 6];
  gsize n = 0;
  for (int y = -1; y < 5; y++)
    for (int x = -1; x < 6; x++)
    {
      if ((x + y) % 2 != 0)
        continue;
      const WsPoint at[4] = { place_of (place, x, y), place_of (place, x + 1, y),
                              place_of (place, x + 1, y + 1), place_of (place, x, y + 1) };
      for (guint k = 0; k < 4; k++)
        corners[n][k] = (ScenePoint){ at[k].x, at[k].y };
      squares[n] = (ScenePolygon){ corners[n], 4, 1.0 };
      n++;
    }
  return take_polygons (squares, n, &camera);
}

static WsTargetView *
find (const WsImage *image)
{
  WsTargetView *view = wsi_target_view_new ();
  const WsTargetView *const views[1] = { view };
  assert_true (wsi_target_find (image, &board, view, NULL));
  if (view->rejected == NULL)
    assert_true (wsi_target_refine (image, &board, wsi_target_window (views, 1), view, NULL));
  return view;
}

static void
check_corners (const Place *place)
{
  g_autoptr (WsImage) image = take_board (place);
  g_autoptr (WsTargetView) view = find (image);
  if (view->rejected != NULL)
    fail_msg ("%s", view->rejected);
  for (guint i = 0; i < board.columns * board.rows; i++)
  {
    const WsPoint truth = place_of (place, i % board.columns, i / board.columns);
    assert_near (view->corners[i].x, truth.x, 0.02);
    assert_near (view->corners[i].y, truth.y, 0.02);
  }
  assert_near (view->square_px, SQUARE, 0.5);
}

static void
test_corners (void **state)
{
  (void)state;
  check_corners (&middle);
}

/* The same corner of the board comes first, however it lies. */
static void
test_order (void **state)
{
  (void)state;
  static const double angles[] = { 0, 95, 180, 200, 275 };
  for (guint i = 0; i < G_N_ELEMENTS (angles); i++)
  {
    const Place turned = { middle.middle, angles[i], middle.blur_px };
    check_corners (&turned);
  }
}

static void
assert_rejected (const WsImage *image, const WsTargetBoard *wanted, const char *why)
{
  g_autoptr (WsTargetView) view = wsi_target_view_new ();
  assert_true (wsi_target_find (image, wanted, view, NULL));
  assert_contains (view->rejected, why);
}

static void
test_cut_board (void **state)
{
  (void)state;
  const Place cut = { { 90, 224.8 }, 5, 1.0 };
  g_autoptr (WsImage) image = take_board (&cut);
  assert_rejected (image, &board, "cut by the frame");
}

static void
test_other_board (void **state)
{
  (void)state;
  const WsTargetBoard other = { 5, 4, 1.0, 0 };
  g_autoptr (WsImage) image = take_board (&middle);
  assert_rejected (image, &other, "6 x 5 inner corners is seen, not 5 x 4");
}

static void
test_no_board (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (600, 450, NULL);
  assert_rejected (image, &board, "no chessboard with 6 x 5");
}

static void
test_blurred_board (void **state)
{
  (void)state;
  const Place blurred = { middle.middle, 12, 6.0 };
  g_autoptr (WsImage) image = take_board (&blurred);
  assert_rejected (image, &board, "blurred");
}

static void
test_edge_width (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = take_board (&middle);
  g_autoptr (WsTargetView) view = find (image);
  /* 10 to 90 % of a Gaussian edge are 2.563 standard deviations; the slant and the pixel add. */
  assert_near (view->edge_px, 2.9, 0.6);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_corners),    cmocka_unit_test (test_order),
    cmocka_unit_test (test_cut_board),  cmocka_unit_test (test_other_board),
    cmocka_unit_test (test_no_board),   cmocka_unit_test (test_blurred_board),
    cmocka_unit_test (test_edge_width),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
