#include "tool/drill/end/guess.h"

#include "tool/drill/end/painted_for_tests.h"

static const WsOptics bare = WS_OPTICS_UNKNOWN;

/* The grid over a picture, about (x, y). */
static WsEndGrid *
grid_of (const WsImage *image, WsPoint at, double radius)
{
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  WsEndGrid *grid = g_new (WsEndGrid, 1);
  wsi_end_grid_fill (&picture, at, radius, grid);
  return grid;
}

/* Smooth light, so that the mean over a cell is that at its middle. */
static void
the_grid_shows_the_picture (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (400, 300, NULL);
  for (guint y = 0; y < 300; y++)
    for (guint x = 0; x < 400; x++)
      image->linear[y * 400 + x] = (guint16)(20000 + 60 * x + 20 * y);
  g_autofree WsEndGrid *grid = grid_of (image, wsi_point (200, 150), 90);
  assert_near (grid->pitch, 225.0 / WS_END_GRID, 1e-9);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  for (guint y = 1; y < WS_END_GRID; y += 17)
    for (guint x = 1; x < WS_END_GRID; x += 17)
    {
      const WsPoint at =
        wsi_point (grid->origin.x + x * grid->pitch, grid->origin.y + y * grid->pitch);
      const guint i = y * WS_END_GRID + x;
      assert_near (grid->light[i], wsi_end_lightness (&picture, at), 0.05);
      assert_true (grid->gx[i] > 0.01F && grid->gy[i] > 0.003F && grid->gx[i] > grid->gy[i]);
    }
  assert_near (grid->origin.x + 0.5 * (WS_END_GRID - 1) * grid->pitch, 200, 1e-9);
  assert_near (grid->origin.y + 0.5 * (WS_END_GRID - 1) * grid->pitch, 150, 1e-9);
}

/* From up to a sixth of the radius off, to a cell. */
static void
symmetry_tells_the_axis_and_darkening_the_lips (void **state)
{
  (void)state;
  for (guint k = 0; k < 4; k++)
  {
    Painted painted = PAINTED_POINT;
    painted.roll_deg = 10 + 37 * k;
    painted.left_hand = k % 2;
    g_autoptr (WsImage) image = paint (&painted);
    const WsPoint off = wsi_point (15.0 * k - 20, 12 - 7.0 * k);
    g_autofree WsEndGrid *grid = grid_of (
      image, wsi_point (painted.centre.x + off.x, painted.centre.y + off.y), painted.radius);
    const WsPoint centre = wsi_end_grid_centre (grid);
    assert_true (wsi_point_distance (centre, painted.centre) < grid->pitch);

    const gint side = painted.left_hand ? 1 : -1;
    const WsEndGuess right = wsi_end_guess_lips (grid, centre, painted.radius, side),
                     wrong = wsi_end_guess_lips (grid, centre, painted.radius, -side);
    assert_true (right.score > 1.5 && right.score > wrong.score);
    assert_near (sin (right.angle - wsi_radians (painted.roll_deg)), 0, 0.03);
    assert_near (right.rho, side * 0.5 * painted.web, 2 * grid->pitch);
    const WsPoint e = wsi_point (cos (right.angle), sin (right.angle));
    assert_true (wsi_end_lip_darkening (grid, centre, painted.radius, e, right.rho, 1) > 1);
    assert_true (wsi_end_lip_darkening (grid, centre, painted.radius, e, right.rho, -1) > 1);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (the_grid_shows_the_picture),
    cmocka_unit_test (symmetry_tells_the_axis_and_darkening_the_lips),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
