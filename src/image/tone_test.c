#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "image/tone.h"

static const WsToneCurve srgb = { .tone = WS_TONE_SRGB };

/* Gold values of colorspacious (sRGB1 -> sRGB1-linear), to 15 digits. */
static void
srgb_meets_published_values (void **state)
{
  (void)state;
  static const double pairs[][2] = {
    { 0.1, 0.010022825574869 },    { 0.2, 0.0331047665708851 },   { 0.3, 0.0732389558784054 },
    { 0.04, 0.00309597523219814 }, { 0.02, 0.00154798761609907 }, { 0.01, 0.000773993808049536 },
  };
  for (size_t i = 0; i < G_N_ELEMENTS (pairs); i++)
    assert_true (fabs (wsi_srgb_to_linear (pairs[i][0]) - pairs[i][1]) < 1e-14);
}

/* colour-science, test_srgb: eotf_inverse_sRGB (0.18). */
static void
inverse_meets_published_value (void **state)
{
  (void)state;
  assert_true (fabs (wsi_linear_to_srgb (0.18) - 0.461356129500442) < 1e-12);
}

static void
inverse_undoes_the_curve (void **state)
{
  (void)state;
  for (int code = 0; code <= 255; code++)
    assert_int_equal (lrint (255.0 * wsi_linear_to_srgb (wsi_srgb_to_linear (code / 255.0))), code);
}

static void
curves_keep_black_and_white (void **state)
{
  (void)state;
  static const WsToneCurve curves[] = { { .tone = WS_TONE_SRGB },
                                        { .tone = WS_TONE_SRGB_ASSUMED },
                                        { .tone = WS_TONE_GAMMA, .gamma = 2.2 },
                                        { .tone = WS_TONE_LINEAR } };
  for (size_t i = 0; i < G_N_ELEMENTS (curves); i++)
    for (guint bits = 8; bits <= 16; bits += 8)
    {
      WsLight light;
      wsi_light_init (&light, &curves[i], bits, WS_IMAGE_GREY);
      assert_int_equal (light.light[0], 0);
      assert_int_equal (light.light[(1U << bits) - 1], WS_IMAGE_FULL_SCALE);
      assert_null (light.srgb);
      wsi_light_clear (&light);
    }
}

/* Grey given as RGB must have exactly the light of the grey alone. */
static void
neutral_pixels_keep_their_light (void **state)
{
  (void)state;
  WsLight light;
  wsi_light_init (&light, &srgb, 8, WS_IMAGE_COLOUR);
  for (guint code = 0; code < 256; code++)
  {
    const guint8 pixel[4] = { (guint8)code, (guint8)code, (guint8)code, 0xFF };
    for (guint channels = 3; channels <= 4; channels++)
    {
      guint16 linear = 1;
      guint8 rgb[3] = { 0 };
      wsi_light_row (&light, pixel, channels, 1, &linear, rgb);
      assert_int_equal (linear, light.light[code]);
      assert_memory_equal (rgb, pixel, 3);
    }
  }
  wsi_light_clear (&light);
}

/* Weights of Rec. ITU-R BT.709-6: 0.2126, 0.7152, 0.0722. */
static void
luminance_has_the_standard_weights (void **state)
{
  (void)state;
  static const guint8 primaries[9] = { 255, 0, 0, 0, 255, 0, 0, 0, 255 };
  static const double weights[3] = { 0.2126, 0.7152, 0.0722 };
  guint16 linear[3];
  WsLight light;

  wsi_light_init (&light, &srgb, 8, WS_IMAGE_GREY);
  wsi_light_row (&light, primaries, 3, 3, linear, NULL);
  for (size_t i = 0; i < 3; i++)
    assert_true (fabs (linear[i] / (double)WS_IMAGE_FULL_SCALE - weights[i]) < 2e-5);
  wsi_light_clear (&light);
}

/* Half-covering black over white is half the light, not half the code. */
static void
alpha_mixes_light (void **state)
{
  (void)state;
  static const guint8 narrow[6] = { 0, 0, 0, 128, 0, 255 };
  static const guint16 wide[4] = { 0, 0, 0, 32768 };
  guint16 linear[3];
  guint8 rgb[9];
  WsLight light;

  wsi_light_init (&light, &srgb, 8, WS_IMAGE_COLOUR);
  wsi_light_row (&light, narrow, 2, 3, linear, rgb);
  assert_int_equal (linear[0], 65535);
  assert_true (fabs (linear[1] - 65535.0 * 127 / 255) <= 1);
  assert_int_equal (linear[2], 0);
  assert_int_equal (rgb[0], 255);
  assert_int_equal (rgb[3], lrint (255.0 * wsi_linear_to_srgb (127.0 / 255.0)));
  assert_int_equal (rgb[6], 0);
  wsi_light_clear (&light);

  wsi_light_init (&light, &srgb, 16, WS_IMAGE_GREY);
  wsi_light_row (&light, wide, 4, 1, linear, NULL);
  assert_true (fabs (linear[0] - 32767.0) <= 1);
  wsi_light_clear (&light);
}

static void
palettes_look_up (void **state)
{
  (void)state;
  guint8 rgba[4 * 256];
  static const guint8 indices[3] = { 255, 7, 0 }, red[4] = { 255, 0, 0, 255 };
  guint16 linear[3];
  guint8 rgb[9];
  WsPalette palette;
  WsLight light;

  wsi_light_init (&light, &srgb, 8, WS_IMAGE_COLOUR);
  wsi_grey_ramp (rgba);
  memcpy (rgba + 4 * 7, red, sizeof red);
  wsi_palette_init (&palette, &light, rgba);
  wsi_palette_row (&palette, indices, 3, linear, rgb);
  assert_int_equal (linear[0], 65535);
  assert_true (fabs (linear[1] - 0.2126 * 65535) < 2);
  assert_int_equal (linear[2], 0);
  assert_memory_equal (rgb, "\xFF\xFF\xFF\xFF\x00\x00\x00\x00\x00", 9);
  wsi_light_clear (&light);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (srgb_meets_published_values),
    cmocka_unit_test (inverse_meets_published_value),
    cmocka_unit_test (inverse_undoes_the_curve),
    cmocka_unit_test (curves_keep_black_and_white),
    cmocka_unit_test (neutral_pixels_keep_their_light),
    cmocka_unit_test (luminance_has_the_standard_weights),
    cmocka_unit_test (alpha_mixes_light),
    cmocka_unit_test (palettes_look_up),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
