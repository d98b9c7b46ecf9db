#include "edge/find/coarse.h"

#include "base/geometry.h"
#include "base/testing.h"

#include <string.h>

#define WIDTH 480
#define HEIGHT 400

typedef WsLight (*Paint) (double x, double y);

static const WsLight ground = { 0.10, 0.10, 0.10 }, steel = { 0.5, 0.5, 0.5 };

static WsImage *
picture (Paint paint)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  image->rgb = g_malloc (3 * WIDTH * HEIGHT);
  image->has_colour = TRUE;
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      const WsLight light = paint (x, y);
      guint8 *at = image->rgb + 3 * (y * WIDTH + x);
      at[0] = (guint8)lrint (255 * wsi_colour_to_code (light.r));
      at[1] = (guint8)lrint (255 * wsi_colour_to_code (light.g));
      at[2] = (guint8)lrint (255 * wsi_colour_to_code (light.b));
    }
  return image;
}

static WsLight
bare (double x, double y)
{
  (void)x;
  (void)y;
  return ground;
}

static WsLight
disc (double x, double y)
{
  return hypot (x - 230, y - 190) < 100 ? steel : ground;
}

/* From the frame: the disc's light, and a smaller thing that lies free. */
static WsLight
bar (double x, double y)
{
  const gboolean on_bar = x > 150 && x < 330 && y > 120;
  return on_bar || hypot (x - 60, y - 60) < 20 ? steel : ground;
}

/* As bright as the ground, but blue. */
static WsLight
blue_disc (double x, double y)
{
  return hypot (x - 230, y - 190) < 100 ? (WsLight){ 0.03, 0.1, 0.35 } : ground;
}

static WsCoarse *
found (Paint paint, gboolean touching)
{
  g_autoptr (WsImage) image = picture (paint);
  WsSampler sampler;
  wsi_sampler_init (&sampler, image);
  return wsi_coarse_find (&sampler, touching);
}

static void
things_are_told_by_whether_they_touch_the_frame (void **state)
{
  (void)state;
  assert_null (found (bare, FALSE));
  assert_null (found (bare, TRUE));
  assert_null (found (disc, TRUE));
  g_autoptr (WsCoarse) free_one = found (disc, FALSE);
  assert_non_null (free_one);
  const double cell = (double)free_one->factor * free_one->factor;
  assert_near (free_one->area * cell, G_PI * 100 * 100, 1500);
  assert_true (wsi_coarse_is_tool (free_one, wsi_point (230, 190)));
  assert_true (wsi_coarse_is_tool (free_one, wsi_point (230, 96)));
  assert_false (wsi_coarse_is_tool (free_one, wsi_point (230, 80)));
  assert_false (free_one->several);
  assert_near (free_one->ground.g, ground.g, 0.005);

  g_autoptr (WsCoarse) held = found (bar, TRUE);
  assert_non_null (held);
  assert_true (wsi_coarse_is_tool (held, wsi_point (240, 300)));
  assert_false (wsi_coarse_is_tool (held, wsi_point (60, 60)));
  assert_int_equal (held->touching[0], 0);
  assert_near (held->touching[2] * held->factor, 180, 8);
}

static void
colour_alone_tells_a_tool (void **state)
{
  (void)state;
  g_autoptr (WsCoarse) coarse = found (blue_disc, FALSE);
  assert_non_null (coarse);
  assert_true (wsi_coarse_is_tool (coarse, wsi_point (230, 190)));
  assert_false (wsi_coarse_is_tool (coarse, wsi_point (20, 20)));
}

/* A ramp from ground to steel in linear light, half-way at x = 150.25. */
static WsLight
slope (double x, double y)
{
  (void)y;
  const double light = ground.g + (steel.g - ground.g) * CLAMP ((x - 150.25) / 4 + 0.5, 0, 1);
  return (WsLight){ light, light, light };
}

static void
crossings_are_half_way (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = picture (slope);
  WsSampler sampler;
  double contrast, width;
  wsi_sampler_init (&sampler, image);
  const double at = wsi_coarse_crossing (&sampler, wsi_point (110, 200), wsi_point (1, 0), 80, 5,
                                         &contrast, &width);
  assert_near (at, 40.25, 0.15);
  assert_near (contrast, wsi_colour_lab (steel).L - wsi_colour_lab (ground).L, 0.7);
  assert_true (isnan (wsi_coarse_crossing (&sampler, wsi_point (20, 200), wsi_point (1, 0), 60, 5,
                                           &contrast, &width)));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (things_are_told_by_whether_they_touch_the_frame),
    cmocka_unit_test (colour_alone_tells_a_tool),
    cmocka_unit_test (crossings_are_half_way),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
