/*
 * A camera whose codes are what a lamp and its exposure make of them, by one curve or another.  It
 * takes the place of the real ones (camera.h).
 */
#include "camera/expose.h"

#include "base/testing.h"

#include <whetsight/error.h>

#define SIDE 64
#define RIGHT_S 0.004 /* at which light is 1 */

typedef double (*Curve) (double light);

static struct
{
  Curve curve;     /* from light to code, 0 to 1 */
  gboolean linear; /* what the camera is read by */
  double unit;     /* s, of its exposures; 0: any */
  double least, most, exposure;
  gboolean wanders;
  guint n_frames;
} camera;

gboolean
wsi_camera_set (WsCamera *self, WsSettingName name, double value, WsSetting *read, GError **error)
{
  (void)self;
  (void)error;
  assert_int_equal (name, WS_SETTING_EXPOSURE);
  if (!isnan (value))
  {
    value = CLAMP (value, camera.least, camera.most);
    camera.exposure = camera.unit > 0 ? round (value / camera.unit) * camera.unit : value;
  }
  *read = (WsSetting){ camera.wanders ? WS_SETTING_WANDERING : WS_SETTING_FIXED, camera.exposure,
                       camera.least, camera.most, "s" };
  return TRUE;
}

static double
srgb (double light)
{
  return light <= 0.0031308 ? 12.92 * light : 1.055 * pow (light, 1 / 2.4) - 0.055;
}

static double
light_of_srgb (double code)
{
  return code <= 0.04045 ? code / 12.92 : pow ((code + 0.055) / 1.055, 2.4);
}

gboolean
wsi_camera_grab (WsCamera *self, WsFrame *frame, guint timeout_ms, GError **error)
{
  (void)self;
  (void)timeout_ms;
  if (frame->image == NULL)
    frame->image = ws_image_new (SIDE, SIDE, error);
  camera.n_frames++;
  frame->image->tone = camera.linear ? WS_TONE_LINEAR : WS_TONE_SRGB_ASSUMED;
  for (guint i = 0; i < SIDE * SIDE; i++)
  {
    /* A tool on a ground, and a little noise that repeats. */
    const double light = camera.exposure / RIGHT_S * (i % SIDE < SIDE / 3 ? 0.02 : 1.0) *
                         (1.0 + 0.004 * ((i * 7919) % 13 - 6.0) / 6.0);
    const double code = round (255 * CLAMP (camera.curve (MIN (light, 1.0)), 0.0, 1.0)) / 255;
    frame->image->linear[i] =
      (guint16)lround (65535 * (camera.linear ? code : light_of_srgb (code)));
  }
  return TRUE;
}

/* ---- Curves ---------------------------------------------------------------------------------- */

static double
linear (double light)
{
  return light;
}

static double
gamma_18 (double light)
{
  return pow (light, 1 / 1.8);
}

/* As many webcams have it: steep in the middle, flat at the ends, over sRGB. */
static double
contrast (double light)
{
  const double code = srgb (light);
  return code * code * (3.0 - 2.0 * code);
}

/* The knee that keeps bright things from clipping. */
static double
knee (double light)
{
  return light < 0.3 ? 2.2 * light : 0.66 + 0.34 * (1.0 - exp (-3.0 * (light - 0.3)));
}

static void
begin (Curve curve, gboolean is_linear, double start_s)
{
  memset (&camera, 0, sizeof camera);
  camera.curve = curve;
  camera.linear = is_linear;
  camera.least = 1e-6;
  camera.most = 10.0;
  camera.exposure = start_s;
}

static void
test_every_curve_from_dim_and_bright (void **state)
{
  static const struct
  {
    const char *name;
    Curve curve;
    gboolean linear;
  } curves[] = {
    { "linear", linear, TRUE },
    { "sRGB", srgb, FALSE },
    { "gamma 1.8", gamma_18, FALSE },
    { "contrast", contrast, FALSE },
    { "knee", knee, FALSE },
    { "linear, taken for sRGB", linear, FALSE },
    { "sRGB, taken for linear", srgb, TRUE },
  };
  static const double starts[] = { 0.001, 0.05, 0.5, 2.0, 30.0, 100.0, 1000.0 };
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (curves); i++)
  {
    guint most = 0;
    /* A curve that nobody knows takes a frame or two, which are missing from afar. */
    const gsize n = G_N_ELEMENTS (starts) - (i < 2 ? 0 : 1);
    for (gsize k = 0; k < n; k++)
    {
      WsSetting read;
      g_autoptr (GError) error = NULL;
      g_auto (WsFrame) frame = { 0 };
      begin (curves[i].curve, curves[i].linear, RIGHT_S * starts[k]);
      if (!wsi_expose (NULL, 100, &frame, &read, &error))
        fail_msg ("%s from %g: %s", curves[i].name, starts[k], error->message);
      assert_near (wsi_background_level (frame.image), WS_EXPOSE_LEVEL, 0.021);
      most = MAX (most, camera.n_frames);
    }
    print_message ("%s: %u frames at most\n", curves[i].name, most);
    assert_true (most <= WS_EXPOSE_FRAMES);
  }
}

/* Exposures in whole tenths of a millisecond. */
static void
test_exposures_in_steps (void **state)
{
  WsSetting read;
  g_auto (WsFrame) frame = { 0 };
  (void)state;
  begin (contrast, FALSE, 0.0001);
  camera.unit = camera.least = 1e-4;
  assert_true (wsi_expose (NULL, 100, &frame, &read, NULL));
  assert_near (wsi_background_level (frame.image), WS_EXPOSE_LEVEL, 0.021);
}

static void
check_refused (const char *words)
{
  WsSetting read;
  g_autoptr (GError) error = NULL;
  g_auto (WsFrame) frame = { 0 };
  assert_false (wsi_expose (NULL, 100, &frame, &read, &error));
  assert_int_equal (error->code, WS_ERROR_DATA);
  assert_contains (error->message, words);
  assert_true (camera.n_frames <= WS_EXPOSE_FRAMES);
}

static void
test_what_no_exposure_cures (void **state)
{
  (void)state;
  begin (srgb, FALSE, 0.0005);
  camera.most = 0.2 * RIGHT_S;
  check_refused ("add light or open the iris");
  begin (srgb, FALSE, 0.0005);
  camera.least = 2.0 * RIGHT_S;
  check_refused ("dim the lamp");
  begin (srgb, FALSE, 0.0005);
  camera.wanders = TRUE;
  check_refused ("exposure can't be set");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_every_curve_from_dim_and_bright),
    cmocka_unit_test (test_exposures_in_steps),
    cmocka_unit_test (test_what_no_exposure_cures),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
