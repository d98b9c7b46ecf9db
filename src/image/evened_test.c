#include "image/evened.h"

#include "base/testing.h"

#include <math.h>

#define WIDTH 700
#define HEIGHT 600
#define SEED 7

/* Light of the panel, and of the lamp by rows. */
typedef struct
{
  double flicker, period; /* px */
  double fall;            /* toward the corners */
  double tubes;           /* rise and fall along the diagonal, with the same period */
  double level;
} Light;

/* A bar that begins at half height. */
static gboolean
is_tool (guint x, guint y)
{
  return y > HEIGHT / 2 && x > 0.35 * WIDTH && x < 0.65 * WIDTH;
}

static WsImage *
panel (const Light *light)
{
  g_autoptr (GRand) random = g_rand_new_with_seed (SEED);
  WsImage *image = ws_image_new (WIDTH, HEIGHT, NULL);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
    {
      double noise = 0;
      for (guint i = 0; i < 4; i++)
        noise += g_rand_double (random) - 0.5;
      const double r = hypot (x - 0.5 * WIDTH, y - 0.5 * HEIGHT) / (0.5 * WIDTH);
      const double ground = light->level * (1 - light->fall * r * r) *
                            (1 + light->tubes * sin (2 * G_PI * (x + y) / light->period)) *
                            (1 + light->flicker * sin (2 * G_PI * y / light->period));
      const double here = (is_tool (x, y) ? 0.05 : 1) * ground;
      image->linear[(gsize)y * WIDTH + x] =
        (guint16)CLAMP (here + 4 * noise * sqrt (here), 0, 65535);
    }
  return image;
}

static WsImage *
turned (const WsImage *image)
{
  WsImage *out = ws_image_new (image->height, image->width, NULL);
  for (guint y = 0; y < out->height; y++)
    for (guint x = 0; x < out->width; x++)
      out->linear[(gsize)y * out->width + x] = image->linear[(gsize)x * image->width + y];
  return out;
}

/* Standard deviation of the mean light of rows over it, at the left, where nothing but ground is.
 */
static double
unevenness (const WsImage *image)
{
  double sum = 0, squares = 0;
  for (guint y = 0; y < image->height; y++)
  {
    double row = 0;
    for (guint x = 0; x < 100; x++)
      row += image->linear[(gsize)y * image->width + x] / 100.0;
    sum += row;
    squares += row * row;
  }
  const double n = image->height, mean = sum / n;
  return sqrt (MAX (squares / n - mean * mean, 0)) / mean;
}

static void
a_flicker_is_divided_out (void **state)
{
  static const Light lights[] = {
    { .flicker = 0.4, .period = 40, .level = 36000 },
    { .flicker = 0.1, .period = 37, .level = 36000 },
    { .flicker = 0.06, .period = 150, .level = 30000 },
    { .flicker = 0.3, .period = 90, .level = 36000, .fall = 0.001 },
  };
  double clipped;
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (lights); i++)
  {
    g_autoptr (WsImage) image = panel (&lights[i]);
    g_autoptr (WsImage) evened = wsi_image_evened (image, &clipped);
    assert_non_null (evened);
    assert_true (unevenness (image) > 0.6 * lights[i].flicker);
    assert_true (unevenness (evened) < 0.004);
    assert_near (clipped, 0, 0);
    assert_int_equal (evened->tone, image->tone);
    g_autoptr (WsImage) other = turned (image);
    g_autoptr (WsImage) other_evened = wsi_image_evened (other, &clipped);
    assert_non_null (other_evened);
    g_autoptr (WsImage) back = turned (other_evened);
    assert_memory_equal (back->linear, evened->linear, sizeof (guint16) * WIDTH * HEIGHT);
  }
}

/* The tool is as dark as it was beside its ground, on both sides of its end. */
static void
what_the_lamp_did_to_the_tool_is_undone_too (void **state)
{
  double clipped;
  (void)state;
  g_autoptr (WsImage) image = panel (&(Light){ .flicker = 0.4, .period = 50, .level = 36000 });
  g_autoptr (WsImage) even = panel (&(Light){ .period = 50, .level = 36000 });
  g_autoptr (WsImage) evened = wsi_image_evened (image, &clipped);
  assert_non_null (evened);
  const gsize ground = (gsize)(HEIGHT - 100) * WIDTH + 50;
  double by = 0;
  for (gsize x = 0; x < 100; x++)
    by += (double)evened->linear[ground + x] / even->linear[ground + x] / 100;
  for (guint y = 100; y < HEIGHT; y += 100)
  {
    double sum = 0, expected = 0;
    for (guint x = WIDTH / 2 - 90; x < WIDTH / 2 + 90; x++)
    {
      sum += evened->linear[(gsize)y * WIDTH + x];
      expected += by * even->linear[(gsize)y * WIDTH + x];
    }
    assert_near (sum / expected, 1, 0.01);
  }
}

static void
a_panel_s_own_light_is_left_alone (void **state)
{
  static const Light lights[] = {
    { .level = 36000, .period = 50 },
    { .level = 36000, .period = 50, .fall = 0.4 },
    { .level = 36000, .period = 90, .tubes = 0.3 },
    { .level = 36000, .period = 50, .flicker = 0.005 },
  };
  double clipped;
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (lights); i++)
  {
    g_autoptr (WsImage) image = panel (&lights[i]);
    assert_null (wsi_image_evened (image, &clipped));
  }
  g_autoptr (WsImage) black = ws_image_new (WIDTH, HEIGHT, NULL);
  assert_null (wsi_image_evened (black, &clipped));
  g_autoptr (WsImage) small = ws_image_new (1, 1, NULL);
  assert_null (wsi_image_evened (small, &clipped));
}

/* A bright bar before a dark ground, whose light and shade lie along it. */
static void
what_shines_is_no_lamp (void **state)
{
  double clipped;
  (void)state;
  g_autoptr (WsImage) image = panel (&(Light){ .flicker = 0.3, .period = 50, .level = 36000 });
  g_autoptr (WsImage) evened = wsi_image_evened (image, &clipped);
  assert_non_null (evened);
  for (guint y = 0; y < HEIGHT; y++)
    for (guint x = 0; x < WIDTH; x++)
      if (x < 20 || x >= WIDTH - 20 || y < 100 || y >= HEIGHT - 100)
        image->linear[(gsize)y * WIDTH + x] = 1500;
  assert_null (wsi_image_evened (image, &clipped));
}

/* Of light above full scale nobody knows how it flickers. */
static void
what_is_clipped_is_told (void **state)
{
  double clipped;
  (void)state;
  g_autoptr (WsImage) image = panel (&(Light){ .flicker = 0.3, .period = 60, .level = 54000 });
  g_autoptr (WsImage) evened = wsi_image_evened (image, &clipped);
  assert_non_null (evened);
  /* 0.3 sin (p) > 65535 / 54000 - 1. */
  assert_near (clipped, acos ((65535.0 / 54000 - 1) / 0.3) / G_PI, 0.04);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (a_flicker_is_divided_out),
    cmocka_unit_test (what_the_lamp_did_to_the_tool_is_undone_too),
    cmocka_unit_test (a_panel_s_own_light_is_left_alone),
    cmocka_unit_test (what_shines_is_no_lamp),
    cmocka_unit_test (what_is_clipped_is_told),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
