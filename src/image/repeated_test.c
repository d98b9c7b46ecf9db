#include "image/repeated.h"

#include "base/testing.h"

#include <math.h>

#define WIDTH 500
#define HEIGHT 400
#define SEED 11

/* A panel with a dark bar across it, whose noise is `noise` codes of 8 bits. */
static WsImage *
panel (double noise)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      double sum = 0;
      for (guint i = 0; i < 12; i++)
        sum += g_rand_double (random) - 0.5;
      const double code = (x + 0.1 * y > 220 && x + 0.1 * y < 300 ? 12 : 190) + noise * sum;
      image->linear[(gsize)y * WIDTH + x] = (guint16)(257 * CLAMP (round (code), 0, 255));
    }
  return image;
}

/* Made so many times as large by the nearest pixel. */
static WsImage *
enlarged (const WsImage *image, double across, double down)
{
  WsImage *out =
    ws_image_new ((guint)round (image->width * across), (guint)round (image->height * down), NULL);
  for (guint y = 0; y < out->height; y++)
    for (guint x = 0; x < out->width; x++)
    {
      const guint i = MIN ((guint)((x + 0.5) / across), image->width - 1);
      const guint j = MIN ((guint)((y + 0.5) / down), image->height - 1);
      out->linear[(gsize)y * out->width + x] = image->linear[(gsize)j * image->width + i];
    }
  return out;
}

static void
pictures_made_larger_without_smoothing_are_told (void **state)
{
  static const double scales[][2] = { { 1.02, 1.02 }, { 1.1, 1.1 }, { 1.73, 1.73 }, { 2, 2 },
                                      { 3.4, 3.4 },   { 1, 1.05 },  { 1.3, 1 } };
  (void)state;
  g_autoptr (WsImage) plain = panel (1.0);
  for (gsize i = 0; i < G_N_ELEMENTS (scales); i++)
  {
    g_autoptr (WsImage) image = enlarged (plain, scales[i][0], scales[i][1]);
    assert_near (wsi_image_repeated (image), MAX (scales[i][0], scales[i][1]), 0.01);
  }
}

static void
plain_and_smaller_pictures_are_not (void **state)
{
  (void)state;
  g_autoptr (WsImage) plain = panel (1.0);
  assert_near (wsi_image_repeated (plain), 1, 0);
  g_autoptr (WsImage) smaller = enlarged (plain, 0.6, 0.6);
  assert_near (wsi_image_repeated (smaller), 1, 0);
}

/* Lines of an even picture are alike anyway, and so are a few of any that were mended. */
static void
what_has_no_noise_or_no_order_tells_nothing (void **state)
{
  (void)state;
  g_autoptr (WsImage) even = panel (0);
  g_autoptr (WsImage) larger = enlarged (even, 1.5, 1.5);
  assert_near (wsi_image_repeated (even), 1, 0);
  assert_near (wsi_image_repeated (larger), 1, 0);
  g_autoptr (WsImage) mended = panel (1.0);
  for (guint y = 100; y < 110; y++)
    for (guint x = 0; x < WIDTH; x++)
      mended->linear[(gsize)y * WIDTH + x] = mended->linear[(gsize)99 * WIDTH + x];
  assert_near (wsi_image_repeated (mended), 1, 0);
  g_autoptr (WsImage) noisy = panel (1.0);
  g_autoptr (WsImage) lossy = enlarged (noisy, 1.5, 1.5);
  lossy->lossy = TRUE;
  assert_near (wsi_image_repeated (lossy), 1, 0);
  g_autoptr (WsImage) small = ws_image_new (1, 1, NULL);
  assert_near (wsi_image_repeated (small), 1, 0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (pictures_made_larger_without_smoothing_are_told),
    cmocka_unit_test (plain_and_smaller_pictures_are_not),
    cmocka_unit_test (what_has_no_noise_or_no_order_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
