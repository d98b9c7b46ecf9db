#include "base/testing.h"

#include "image/smoothed.h"

#include <math.h>

#define WIDTH 320
#define HEIGHT 240
#define LIGHT 40000.0

/* Normal enough: the sum of four. */
static double
noise_of (GRand *rand)
{
  double sum = 0;
  for (guint i = 0; i < 4; i++)
    sum += g_rand_double_range (rand, -1, 1);
  return sum * sqrt (0.75);
}

/* Light that falls off slowly, with noise of `deviation`, each value the mean of itself and of
 * `over` neighbours on either side, in steps of `step`. */
static WsImage *
ground (double deviation, guint over, double step)
{
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (7);
  double row[WIDTH];
  for (guint y = 0; y < HEIGHT; y++)
  {
    for (guint x = 0; x < WIDTH; x++)
      row[x] = deviation * noise_of (rand);
    for (guint x = 0; x < WIDTH; x++)
    {
      double sum = 0;
      guint n = 0;
      for (guint k = x > over ? x - over : 0; k <= MIN (x + over, WIDTH - 1); k++, n++)
        sum += row[k];
      const double light = LIGHT + 10.0 * x + 5.0 * y + sum / n;
      image->linear[(gsize)y * WIDTH + x] = (guint16)(step * round (light / step));
    }
  }
  return image;
}

static double
between (double deviation, guint over, double step)
{
  g_autoptr (WsImage) image = ground (deviation, over, step);
  return wsi_image_noise_between (image);
}

static void
test_a_sensors_noise_is_white (void **state)
{
  (void)state;
  assert_near (between (400, 0, 1), 1.0, 0.02);
  assert_near (between (400, 0, 250), 1.0, 0.02);
}

/* The second difference of means of three, a - b - d + e over 3, has a variance of 4 / 9; farther
 * apart one of 6 / 3. */
static void
test_a_mean_of_neighbours_is_not (void **state)
{
  (void)state;
  assert_near (between (400, 1, 1), sqrt (2.0 / 9.0), 0.03);
  assert_true (between (400, 3, 1) < 0.4);
}

/* Codes coarser than what is left hide it. */
static void
test_no_noise_tells_nothing (void **state)
{
  (void)state;
  assert_true (isnan (between (20, 2, 250)));
  assert_true (isnan (between (0, 0, 250)));
}

static void
test_a_small_picture_tells_nothing (void **state)
{
  (void)state;
  g_autoptr (WsImage) image = ws_image_new (8, 8, NULL);
  assert_true (isnan (wsi_image_noise_between (image)));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_a_sensors_noise_is_white),
    cmocka_unit_test (test_a_mean_of_neighbours_is_not),
    cmocka_unit_test (test_no_noise_tells_nothing),
    cmocka_unit_test (test_a_small_picture_tells_nothing),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
