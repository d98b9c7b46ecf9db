/*
 * The chart is decoded again: it must be a picture that shows every arrow where it belongs.
 */
#include "report/chart/residuals.h"

#include <whetsight/image.h>

#include "base/testing.h"

#define WIDTH 1600
#define HEIGHT 1200

static WsImage *
decode (const WsResidualChart *chart)
{
  g_autoptr (GBytes) png = wsi_report_residuals (chart, NULL);
  assert_non_null (png);
  gsize n;
  const guint8 *bytes = g_bytes_get_data (png, &n);
  WsImage *image = ws_image_decode (bytes, n, "chart", NULL, WS_IMAGE_COLOUR, NULL);
  assert_non_null (image);
  return image;
}

/* Pixels of a strong blue or red around a place of the field: field width 1200 from x = 40,
 * y = 128. */
static guint
coloured (const WsImage *image, WsPoint where, gboolean red)
{
  const int x0 = 40 + (int)(where.x * 0.75), y0 = 128 + (int)(where.y * 0.75);
  guint found = 0;
  for (int y = MAX (y0 - 8, 0); y < y0 + 8; y++)
    for (int x = MAX (x0 - 8, 0); x < x0 + 8; x++)
    {
      const guint8 *p = image->rgb + 3 * ((gsize)y * image->width + (gsize)x);
      found += red ? p[0] > 180 && p[2] < 60 : p[2] > 140 && p[0] < 60;
    }
  return found;
}

static void
arrows_lie_where_they_belong (void **state)
{
  (void)state;
  const WsResidual residuals[] = {
    { { 200, 200 }, { 0.02, 0 }, FALSE },
    { { 1400, 1000 }, { 0, -0.01 }, FALSE },
    { { 800, 600 }, { 3, 3 }, TRUE },
  };
  const WsPoint lines[] = { { 0, 0 }, { 1600, 1200 } };
  const WsResidualChart chart = { .title = "Residuals",
                                  .subtitle = "three of them",
                                  .width = WIDTH,
                                  .height = HEIGHT,
                                  .mm_per_px = 0.01,
                                  .residuals = residuals,
                                  .n_residuals = 3,
                                  .lines = lines,
                                  .n_lines = 1 };
  g_autoptr (WsImage) image = decode (&chart);
  assert_int_equal (image->width, 1280);
  assert_true (coloured (image, residuals[0].where, FALSE) > 20);
  assert_true (coloured (image, residuals[1].where, FALSE) > 20);
  assert_true (coloured (image, residuals[2].where, TRUE) > 20);
  assert_int_equal (coloured (image, (WsPoint){ 1400, 200 }, FALSE), 0);
  /* The key explains a cross only where there is one: 36 and 40 px below the field. */
  const WsPoint key = { 8, (900 + 36 + 40) / 0.75 };
  assert_true (coloured (image, key, TRUE) > 20);
  WsResidualChart sound = chart;
  sound.n_residuals = 2;
  g_autoptr (WsImage) without = decode (&sound);
  assert_int_equal (coloured (without, key, TRUE), 0);
}

/* Arrows point the way the residual does: to the right, and up where y gets less.  The greater is
 * the longer, as many times as it is greater. */
static void
arrows_point_where_things_are_off_to (void **state)
{
  (void)state;
  const WsResidual residuals[] = { { { 400, 600 }, { 0.02, 0 }, FALSE },
                                   { { 1200, 600 }, { 0, -0.01 }, FALSE } };
  const WsResidualChart chart = { .title = "",
                                  .subtitle = "",
                                  .width = WIDTH,
                                  .height = HEIGHT,
                                  .residuals = residuals,
                                  .n_residuals = 2 };
  g_autoptr (WsImage) image = decode (&chart);
  /* Nine in ten are no longer than 60 px of the sheet: 63 and 32 px, 84 and 42 of the field. */
  assert_true (coloured (image, (WsPoint){ 400 + 60, 600 }, FALSE) > 20);
  assert_int_equal (coloured (image, (WsPoint){ 400 + 110, 600 }, FALSE), 0);
  assert_int_equal (coloured (image, (WsPoint){ 400 - 30, 600 }, FALSE), 0);
  assert_true (coloured (image, (WsPoint){ 1200, 600 - 28 }, FALSE) > 20);
  assert_int_equal (coloured (image, (WsPoint){ 1200, 600 - 66 }, FALSE), 0);
  assert_int_equal (coloured (image, (WsPoint){ 1200, 600 + 28 }, FALSE), 0);
}

/* Nothing to scale by: none, or all of them zero. */
static void
nothing_to_show_does_no_harm (void **state)
{
  (void)state;
  const WsResidual zero = { { 10, 10 }, { 0, 0 }, FALSE };
  WsResidualChart chart = { .title = "", .subtitle = "", .width = 1, .height = 1 };
  g_autoptr (WsImage) empty = decode (&chart);
  chart.width = WIDTH;
  chart.height = HEIGHT;
  chart.residuals = &zero;
  chart.n_residuals = 1;
  g_autoptr (WsImage) still = decode (&chart);
  /* The field as wide as the sheet's margins let it, between head and foot. */
  assert_int_equal (empty->height, 128 + 1200 + 112);
  assert_int_equal (still->height, 128 + 900 + 112);
  assert_true (coloured (still, zero.where, FALSE) > 5);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (arrows_lie_where_they_belong),
    cmocka_unit_test (arrows_point_where_things_are_off_to),
    cmocka_unit_test (nothing_to_show_does_no_harm),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
