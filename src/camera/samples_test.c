#include "base/testing.h"

#include <whetsight/error.h>

#include "camera/samples.h"

static void
convert (const WsSamples *samples, WsFrame *frame)
{
  g_autoptr (GError) error = NULL;
  if (!wsi_samples_to_frame (samples, frame, &error))
    fail_msg ("%s", error->message);
}

/* Linear light of an sRGB code, IEC 61966-2-1. */
static double
light_of (double code)
{
  return 65535.0 * (code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4));
}

static void
check_light (const guint16 *light, double red, double green, double blue)
{
  assert_near (light[0], light_of (red / 255.0), 660.0); /* a code of luma */
  assert_near (light[1], light_of (green / 255.0), 660.0);
  assert_near (light[2], light_of (blue / 255.0), 660.0);
}

/* Rec. ITU-R BT.601's colour bars of full range and of limited range: pure red, and grey. */
static void
test_yuyv (void **state)
{
  static const guint8 full[] = { 76, 85, 128, 255, 76, 85, 128, 128 };
  static const guint8 limited[] = { 81, 90, 81, 240, 145, 54, 145, 34 };
  WsSamples samples = { .bytes = full,
                        .stride = 4,
                        .width = 2,
                        .height = 1,
                        .bits = 8,
                        .layout = WS_SAMPLES_YUYV,
                        .srgb = TRUE,
                        .colour = TRUE };
  (void)state;
  {
    g_auto (WsFrame) frame = { 0 };
    convert (&samples, &frame);
    assert_true (frame.image->has_colour);
    check_light (frame.colour, 255, 0, 0);
  }
  samples.bytes = limited;
  samples.stride = 8;
  samples.width = 4;
  samples.black = 16;
  samples.white = 235;
  g_auto (WsFrame) frame = { 0 };
  convert (&samples, &frame);
  check_light (frame.colour, 255, 0, 0);
  check_light (frame.colour + 6, 0, 255, 0);

  /* Grey has the luma alone, and no colour. */
  samples.colour = FALSE;
  g_auto (WsFrame) grey = { 0 };
  convert (&samples, &grey);
  assert_false (grey.image->has_colour);
  assert_near (grey.image->linear[0], light_of ((81 - 16) / 219.0), 2.0);
}

static void
test_rgb_and_bgr (void **state)
{
  static const guint8 bytes[] = { 200, 100, 50, 0, 0, 255 };
  WsSamples samples = { .bytes = bytes,
                        .stride = 6,
                        .width = 2,
                        .height = 1,
                        .bits = 8,
                        .layout = WS_SAMPLES_RGB,
                        .colour = TRUE };
  (void)state;
  g_auto (WsFrame) frame = { 0 };
  convert (&samples, &frame);
  assert_int_equal (frame.colour[0], 200 * 257);
  assert_int_equal (frame.colour[2], 50 * 257);
  /* Rec. ITU-R BT.709-6, 3.2. */
  assert_near (frame.image->linear[0], 257 * (0.2126 * 200 + 0.7152 * 100 + 0.0722 * 50), 2.0);
  assert_true (frame.saturated);
  samples.layout = WS_SAMPLES_BGR;
  convert (&samples, &frame);
  assert_int_equal (frame.colour[0], 50 * 257);
  assert_int_equal (frame.colour[3], 255 * 257);
}

/* ---- Bayer --------------------------------------------------------------------------------- */

#define SIDE 32

/* A coloured ground whose light rises along a slant: no part of it bends, so nothing is lost. */
static double
slope (guint x, guint y, guint channel)
{
  static const double of[3] = { 0.30, 0.55, 0.20 };
  return of[channel] * 65535.0 * (0.5 + 0.01 * x + 0.005 * y);
}

/* A blurred edge at a slant, grey. */
static double
edge (guint x, guint y, guint channel)
{
  (void)channel;
  return 65535.0 * (0.1 + 0.7 * 0.5 * erfc ((16.3 + 0.31 * y - x) / (1.1 * sqrt (2.0))));
}

/* What is between, from the sensor's pixels, RMS over all away from the border. */
static double
rms_of (double (*light) (guint, guint, guint), guint red_x, guint red_y)
{
  guint16 raw[SIDE * SIDE];
  double sum = 0.0;
  guint n = 0;
  for (guint i = 0; i < SIDE * SIDE; i++)
  {
    const guint x = i % SIDE, y = i / SIDE;
    const gboolean red = x % 2 == red_x && y % 2 == red_y;
    const gboolean blue = x % 2 != red_x && y % 2 != red_y;
    raw[i] = (guint16)lround (light (x, y, red ? 0 : blue ? 2 : 1));
  }
  const WsSamples samples = { .bytes = raw,
                              .stride = 2 * SIDE,
                              .width = SIDE,
                              .height = SIDE,
                              .bits = 16,
                              .layout = WS_SAMPLES_BAYER,
                              .red_x = red_x,
                              .red_y = red_y,
                              .colour = TRUE };
  g_auto (WsFrame) frame = { 0 };
  convert (&samples, &frame);
  assert_true (frame.image->has_colour);
  for (guint i = 0; i < SIDE * SIDE; i++)
    for (guint channel = 0; channel < 3; channel++)
    {
      const guint x = i % SIDE, y = i / SIDE;
      if (MIN (x, y) < 2 || MAX (x, y) >= SIDE - 2)
        continue;
      const double error = frame.colour[3 * i + channel] - light (x, y, channel);
      sum += error * error;
      n++;
    }
  return sqrt (sum / n);
}

static void
test_bayer_in_all_orders (void **state)
{
  (void)state;
  for (guint order = 0; order < 4; order++)
  {
    assert_true (rms_of (slope, order % 2, order / 2) < 1.0);
    const double rms = rms_of (edge, order % 2, order / 2);
    print_message ("order %u: a grey edge to %.4f of its step\n", order, rms / (0.7 * 65535.0));
    assert_true (rms < 0.01 * 0.7 * 65535.0);
  }
}

static void
test_bayer_wants_pixels (void **state)
{
  static const guint8 bytes[9] = { 0 };
  const WsSamples samples = {
    .bytes = bytes, .stride = 3, .width = 3, .height = 3, .bits = 8, .layout = WS_SAMPLES_BAYER
  };
  g_auto (WsFrame) frame = { 0 };
  g_autoptr (GError) error = NULL;
  (void)state;
  assert_false (wsi_samples_to_frame (&samples, &frame, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  assert_contains (error->message, "too few");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_yuyv),
    cmocka_unit_test (test_rgb_and_bgr),
    cmocka_unit_test (test_bayer_in_all_orders),
    cmocka_unit_test (test_bayer_wants_pixels),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
