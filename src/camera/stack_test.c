#include "base/testing.h"

#include <whetsight/error.h>

#include "camera/stack.h"

#define SIDE 200
#define NOISE 500.0

/* A dark disc on a bright ground, its edge blurred, moved by `dx`; with normal noise. */
static WsImage *
disc (double dx, double noise, double brightness, guint32 seed)
{
  WsImage *image = ws_image_new (SIDE, SIDE, NULL);
  g_autoptr (GRand) rand = g_rand_new_with_seed (seed);
  for (guint i = 0; i < SIDE * SIDE; i++)
  {
    const guint x = i % SIDE, y = i / SIDE;
    const double r = hypot (x - SIDE / 2.0 - dx, y - SIDE / 2.0);
    const double light = 4000.0 + 44000.0 * 0.5 * erfc ((60.0 - r) / (1.2 * sqrt (2.0)));
    const double normal =
      sqrt (-2.0 * log (1.0 - g_rand_double (rand))) * cos (2.0 * G_PI * g_rand_double (rand));
    image->linear[i] = (guint16)lround (CLAMP (light * brightness + noise * normal, 0.0, 65535.0));
  }
  return image;
}

static double
noise_of (const WsImage *image, const WsImage *truth)
{
  double sum = 0.0;
  for (guint i = 0; i < SIDE * SIDE; i++)
  {
    const double error = (double)image->linear[i] - truth->linear[i];
    sum += error * error;
  }
  return sqrt (sum / (SIDE * SIDE));
}

static void
test_noise_falls (void **state)
{
  g_autoptr (WsImage) truth = disc (0.0, 0.0, 1.0, 1);
  g_autoptr (WsStack) stack = wsi_stack_new ();
  double single = 0.0;
  (void)state;
  for (guint i = 0; i < 16; i++)
  {
    g_autoptr (WsImage) frame = disc (0.0, NOISE, 1.0, 10 + i);
    single += noise_of (frame, truth) / 16.0;
    assert_true (wsi_stack_add (stack, &(WsFrame){ .image = frame }, NULL));
  }
  g_auto (WsFrame) mean = { 0 };
  assert_true (wsi_stack_mean (stack, &mean, NULL));
  const double fall = single / noise_of (mean.image, truth);
  print_message ("noise falls by %.3f, parts moved by %.4f px at most\n", fall,
                 wsi_stack_shift_px (stack));
  assert_true (fall >= 3.9 && fall <= 4.1);
}

static void
test_flash_is_left_out (void **state)
{
  g_autoptr (WsImage) truth = disc (0.0, 0.0, 1.0, 1);
  g_autoptr (WsStack) stack = wsi_stack_new ();
  const guint at = 20 * SIDE + 20;
  (void)state;
  for (guint i = 0; i < 16; i++)
  {
    g_autoptr (WsImage) frame = disc (0.0, NOISE, 1.0, 10 + i);
    if (i == 5)
      frame->linear[at] = 0;
    assert_true (wsi_stack_add (stack, &(WsFrame){ .image = frame }, NULL));
  }
  g_auto (WsFrame) mean = { 0 };
  assert_true (wsi_stack_mean (stack, &mean, NULL));
  assert_near (mean.image->linear[at], truth->linear[at], 5.0 * NOISE / 4.0);
}

/* Shift seen of frames moved by `px`, refused or not. */
static gboolean
moved (double px, double brightness, double *seen, GError **error)
{
  g_autoptr (WsStack) stack = wsi_stack_new ();
  g_autoptr (WsImage) first = disc (0.0, NOISE, 1.0, 3);
  g_autoptr (WsImage) second = disc (px, NOISE, brightness, 4);
  assert_true (wsi_stack_add (stack, &(WsFrame){ .image = first }, NULL));
  const gboolean taken = wsi_stack_add (stack, &(WsFrame){ .image = second }, error);
  *seen = wsi_stack_shift_px (stack);
  return taken;
}

static void
test_motion_is_refused (void **state)
{
  static const double shifts[] = { 0.2, 0.5, 2.0, 15.0 };
  double seen;
  (void)state;
  assert_true (moved (0.0, 1.0, &seen, NULL));
  assert_true (seen < 0.04);
  assert_true (moved (0.03, 1.0, &seen, NULL));
  assert_true (moved (0.0, 0.97, &seen, NULL)); /* a lamp that flickers */
  for (guint i = 0; i < G_N_ELEMENTS (shifts); i++)
  {
    g_autoptr (GError) error = NULL;
    assert_false (moved (shifts[i], 1.0, &seen, &error));
    assert_int_equal (error->code, WS_ERROR_DATA);
    assert_contains (error->message, "moved by about");
    if (shifts[i] < 1.0)
      assert_near (seen, shifts[i], 0.1);
  }
}

static void
test_sizes_must_agree (void **state)
{
  g_autoptr (GError) error = NULL;
  g_autoptr (WsStack) stack = wsi_stack_new ();
  g_autoptr (WsImage) first = ws_image_new (8, 8, NULL);
  g_autoptr (WsImage) second = ws_image_new (8, 9, NULL);
  (void)state;
  assert_true (wsi_stack_add (stack, &(WsFrame){ .image = first }, NULL));
  assert_false (wsi_stack_add (stack, &(WsFrame){ .image = second }, &error));
  assert_contains (error->message, "8 x 9 pixels, the first 8 x 8");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_noise_falls),
    cmocka_unit_test (test_flash_is_left_out),
    cmocka_unit_test (test_motion_is_refused),
    cmocka_unit_test (test_sizes_must_agree),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
