#include "tool/drill/end/picture.h"

#include "base/testing.h"

#include "base/geometry.h"

#define WIDTH 160
#define HEIGHT 60

static const WsOptics bare = WS_OPTICS_UNKNOWN;

/* An upright edge at x = `at`, light to the left, as wide as pixels and a good lens make it. */
static WsImage *
edge_at (double at, double light, double dark)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const double share = 0.5 * erfc ((x - at) / (0.8 * G_SQRT2));
      image->linear[y * WIDTH + x] =
        (guint16)(WS_IMAGE_FULL_SCALE * (dark + share * (light - dark)));
    }
  return image;
}

static double
fall_of (const WsImage *image, WsPoint from, WsPoint direction, double *drop)
{
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture picture = { &sampler, &bare, { 1, 1, 1 } };
  return wsi_end_steepest_fall (&picture, from, direction, wsi_point (0, 1), 60, 4, 2, drop);
}

/* In linear light: lightness alone would put the middle of so deep a step half a pixel off. */
static void
a_clear_edge_lies_half_way (void **state)
{
  (void)state;
  for (double at = 70; at < 72; at += 0.13)
  {
    g_autoptr (WsImage) image = edge_at (at, 0.7, 0.05);
    double drop;
    assert_near (fall_of (image, wsi_point (40, 30), wsi_point (1, 0), &drop), at - 40, 0.03);
    /* CIE 1976: 87.0 and 26.7, less what the edge's width takes. */
    assert_near (drop, 55, 6);
  }
}

/* Where luminance hardly changes the steepest place is all there is, between samples, too. */
static void
a_faint_edge_lies_where_it_is_steepest (void **state)
{
  (void)state;
  for (double at = 70; at < 72; at += 0.13)
  {
    g_autoptr (WsImage) image = edge_at (at, 0.6, 0.53);
    double drop;
    assert_near (fall_of (image, wsi_point (40, 30), wsi_point (1, 0), &drop), at - 40, 0.15);
    assert_near (drop, 4, 0.8);
  }
}

static void
there_may_be_no_fall (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = edge_at (70, 0.7, 0.05);
  double drop;
  /* The other way light rises. */
  fall_of (image, wsi_point (100, 30), wsi_point (-1, 0), &drop);
  assert_true (drop < 0.5);
  assert_true (isnan (fall_of (image, wsi_point (-30, 30), wsi_point (1, 0), &drop)));
}

/* Of an edge whose middle lies two px before the end of the search the fall's means hold the
 * beginning alone. */
static void
edges_beyond_the_search_are_none (void **state)
{
  (void)state;
  double drop;
  g_autoptr (WsImage) image = edge_at (70, 0.6, 0.05);
  assert_true (isnan (fall_of (image, wsi_point (70 - 58, 30), wsi_point (1, 0), &drop)));
  assert_true (drop > 1);
}

static void
colour_counts_as_light (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = edge_at (70, 0.5, 0.5);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  const WsEndPicture grey = { &sampler, &bare, { 1, 1, 1 } },
                     bluish = { &sampler, &bare, { 0.9, 1, 1.2 } };
  const double plain = wsi_end_lightness (&grey, wsi_point (30, 30));
  assert_near (plain, 76.1, 0.1); /* CIE 1976: 116 (1 / 2)^(1/3) - 16 */
  const WsLab lab = wsi_end_lab (&bluish, (WsLight){ 0.5, 0.5, 0.5 });
  assert_true (wsi_end_lightness (&bluish, wsi_point (30, 30)) > lab.L + 3);
  assert_true (isnan (wsi_end_lightness (&grey, wsi_point (-1, 30))));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_clear_edge_lies_half_way),
    cmocka_unit_test (a_faint_edge_lies_where_it_is_steepest),
    cmocka_unit_test (there_may_be_no_fall),
    cmocka_unit_test (edges_beyond_the_search_are_none),
    cmocka_unit_test (colour_counts_as_light),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
