#include "tool/flank/drawn.h"

#include "base/geometry.h"
#include "base/testing.h"

#define WIDTH 40
#define HEIGHT 5

/* From `light` on, a bit lighter every so many pixels; 0: all alike. */
static WsDrawn
look (guint every, guint16 light)
{
  g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
  WsDrawn drawn = { 0 };
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
      image->linear[y * WIDTH + x] = (guint16)(light + (every > 0 ? x / every : 0));
  for (gint y = -1; y <= HEIGHT; y++)
    for (gint x = -1; x <= WIDTH; x++)
      wsi_drawn_look (&drawn, image, wsi_point (x, y));
  return drawn;
}

static void
test_even_pixels_are_drawn (void **state)
{
  (void)state;
  const WsDrawn flat = look (0, 20000), noisy = look (1, 20000), steps = look (10, 20000),
                mixed = look (2, 20000);
  assert_int_equal (flat.n, (WIDTH - 1) * HEIGHT);
  assert_true (wsi_is_drawn (&flat));
  assert_false (wsi_is_drawn (&noisy));
  assert_true (wsi_is_drawn (&steps));
  assert_false (wsi_is_drawn (&mixed));
}

static void
test_light_at_its_limit_tells_nothing (void **state)
{
  (void)state;
  const WsDrawn clipped = look (0, WS_IMAGE_FULL_SCALE);
  assert_int_equal (clipped.n, 0);
  assert_false (wsi_is_drawn (&clipped));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_even_pixels_are_drawn),
    cmocka_unit_test (test_light_at_its_limit_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
