#include "colour/veil.h"

#include "base/testing.h"

#include <math.h>

#define WIDTH 200
#define HEIGHT 100

static const WsLight steel = { 0.4, 0.4, 0.4 };

/* Steel over half of a ground, a part of which is as dark as `dark`; `veil` over all of it. */
static double
most (double ground, double dark, double part, double veil)
{
  g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
  image->rgb = g_malloc (3 * WIDTH * HEIGHT);
  for (gsize i = 0; i < WIDTH * HEIGHT; i++)
  {
    const double light = i >= WIDTH * HEIGHT / 2               ? steel.g
                         : (double)i < part * (WIDTH * HEIGHT) ? dark
                                                               : ground;
    memset (image->rgb + 3 * i, (int)lrint (255 * wsi_colour_to_code (light + veil)), 3);
  }
  const WsLight seen = { steel.r + veil, steel.g + veil, steel.b + veil };
  return wsi_veil_most (image, seen);
}

static void
no_veil_is_stronger_than_what_is_dark (void **state)
{
  (void)state;
  assert_near (most (0.35, 0.35, 0, 0.3), 0.65 / 0.7, 0.02);
  assert_near (most (0.2, 0.2, 0, 0.3), 0.5 / 0.7, 0.02);
}

static void
where_something_is_dark_there_is_none (void **state)
{
  (void)state;
  assert_near (most (0.05, 0.05, 0, 0), 0, 0);
  assert_near (most (0.6, 0.05, 0.02, 0), 0, 0);
  /* But for a few pixels, which may be dead. */
  assert_near (most (0.35, -0.3, 0.002, 0.3), 0.65 / 0.7, 0.02);
}

static void
without_colour_nothing_is_asked (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (WIDTH, HEIGHT, NULL);
  assert_near (wsi_veil_most (image, steel), 0, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (no_veil_is_stronger_than_what_is_dark),
    cmocka_unit_test (where_something_is_dark_there_is_none),
    cmocka_unit_test (without_colour_nothing_is_asked),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
