#include "optics/calibrate/scale_fit.h"

#include "base/geometry.h"
#include "edge/testing.h"
#include "optics/lens.h"

#define S 0.01

/* Pins of three sizes in three places each, and what a camera shows of them. */
typedef struct
{
  double shift, k1, noise; /* px, 1, px */
} Camera;

#define N 9

static void
show (const Camera *camera, GRand *random, WsScaleWidth widths[N])
{
  static const double sizes[3] = { 2.5, 4.6, 6.8 };
  for (guint i = 0; i < N; i++)
  {
    const double size = sizes[i / 3], ideal = size / S;
    const double radial = ideal * (0.1 + 0.12 * (i % 3) + 0.0001 * ideal);
    widths[i] = (WsScaleWidth){ .size_mm = size,
                                .artefact = i / 3,
                                .u_px = MAX (camera->noise, 0.001),
                                .shift_gain = 2,
                                .radial_gain_px = radial };
    widths[i].width_px =
      ideal - 2 * camera->shift - radial * camera->k1 + camera->noise * random_normal (random);
  }
}

static double
u_of (const WsScaleFit *fit, guint parameter)
{
  return sqrt (fit->covariance[parameter * WS_LENS_T_N + parameter]);
}

static void
exact_widths_give_exact_parameters (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (1);
  WsScaleWidth widths[N];
  WsScaleResidual residuals[N];
  WsScaleFit fit;
  const Camera camera = { 0.36, 0, 0 };
  show (&camera, random, widths);
  assert_true (wsi_scale_fit (widths, N, 1, &fit, residuals));
  assert_near (fit.value[WS_LENS_T_SCALE], S, 1e-8);
  assert_near (fit.value[WS_LENS_EDGE_SHIFT], 0.36, 1e-4);
  assert_near (fit.value[WS_LENS_T_K1], 0, 0);
  assert_true (fit.has_shift && !fit.has_radial && fit.n_used == N);
  assert_true (u_of (&fit, WS_LENS_T_K1) > 1e-7);
}

static void
a_bent_field_is_told (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (2);
  WsScaleWidth widths[N];
  WsScaleResidual residuals[N];
  WsScaleFit fit;
  const Camera camera = { 0.1, 8e-4, 0.003 };
  show (&camera, random, widths);
  assert_true (wsi_scale_fit (widths, N, 0.3, &fit, residuals));
  assert_true (fit.has_radial);
  for (guint p = 0; p < WS_LENS_T_N; p++)
  {
    const double truth[WS_LENS_T_N] = { 0.1, S, 8e-4 };
    assert_near (fit.value[p], truth[p], 3 * u_of (&fit, p));
  }
}

/* 95 % of 400 fits must hold the truth within U = 2 u, whatever K1 is. */
static void
uncertainties_are_true (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (3);
  guint inside[2] = { 0, 0 };
  for (guint trial = 0; trial < 400; trial++)
  {
    WsScaleWidth widths[N];
    WsScaleResidual residuals[N];
    WsScaleFit fit;
    const Camera camera = { 0.2, 2e-4 * random_normal (random), 0.005 };
    show (&camera, random, widths);
    assert_true (wsi_scale_fit (widths, N, 0.3, &fit, residuals));
    inside[0] += fabs (fit.value[WS_LENS_T_SCALE] - S) <= 2 * u_of (&fit, WS_LENS_T_SCALE);
    inside[1] += fabs (fit.value[WS_LENS_EDGE_SHIFT] - 0.2) <= 2 * u_of (&fit, WS_LENS_EDGE_SHIFT);
  }
  assert_true (inside[0] >= 380);
  assert_true (inside[1] >= 380);
}

/* With one size only the edge shift is what was thought before, and the scale pays for it. */
static void
one_size_cannot_tell_the_shift (void **state)
{
  (void)state;
  const WsScaleWidth width = {
    .size_mm = 5, .artefact = 0, .width_px = 500, .u_px = 0.002, .shift_gain = 2
  };
  const WsScaleWidth widths[3] = { width, width, width };
  WsScaleResidual residuals[3];
  WsScaleFit fit;
  assert_true (wsi_scale_fit (widths, 3, 0.3, &fit, residuals));
  assert_false (fit.has_shift);
  assert_near (fit.value[WS_LENS_EDGE_SHIFT], 0, 1e-9);
  assert_near (u_of (&fit, WS_LENS_EDGE_SHIFT), 0.3, 1e-3);
  assert_near (u_of (&fit, WS_LENS_T_SCALE), S * 2 * 0.3 / 500, 1e-8);
  /* Yet the thing itself would be measured well: both errors cancel. */
  const double *c = fit.covariance;
  const double variance = 500.0 * 500.0 * c[4] + 2 * 500 * 2 * S * c[1] + 4 * S * S * c[0];
  assert_true (sqrt (variance) < 1e-4);
}

/* The same pin again and again doesn't wear down its certificate's uncertainty. */
static void
certificates_do_not_average (void **state)
{
  (void)state;
  WsScaleWidth widths[20];
  WsScaleResidual residuals[20];
  WsScaleFit fit;
  for (guint i = 0; i < 20; i++)
    widths[i] = (WsScaleWidth){ .size_mm = i < 10 ? 2 : 6,
                                .u_mm = 0.001,
                                .artefact = i / 10,
                                .width_px = i < 10 ? 200 : 600,
                                .u_px = 0.002,
                                .shift_gain = 2 };
  assert_true (wsi_scale_fit (widths, 20, 0.5, &fit, residuals));
  /* s = (6 - 2) mm / 400 px */
  assert_near (u_of (&fit, WS_LENS_T_SCALE), 0.001 * G_SQRT2 / 400, 5e-8);
}

static void
wrong_sizes_are_rejected (void **state)
{
  (void)state;
  g_autoptr (GRand) random = g_rand_new_with_seed (4);
  WsScaleWidth widths[N];
  WsScaleResidual residuals[N];
  WsScaleFit fit;
  const Camera camera = { 0.36, 0, 0.003 };
  show (&camera, random, widths);
  widths[2].width_px += 0.6;
  widths[7].width_px -= 4;
  assert_true (wsi_scale_fit (widths, N, 1, &fit, residuals));
  assert_int_equal (fit.n_used, N - 2);
  for (guint i = 0; i < N; i++)
    assert_int_equal (residuals[i].rejected, i == 2 || i == 7);
  assert_near (residuals[7].px, -4, 0.05);
  assert_near (fit.value[WS_LENS_T_SCALE], S, 1e-6);
}

/* A ring's hole has the opposite sign. */
static void
ring_tells_scale_and_shift (void **state)
{
  (void)state;
  const WsScaleWidth widths[2] = {
    { 23.66, 0, 0, 23.66 / 0.0174 - 0.72, 0.1, 2, 0 },
    { 19.03, 0, 1, 19.03 / 0.0174 + 0.72, 0.1, -2, 0 },
  };
  WsScaleResidual residuals[2];
  WsScaleFit fit;
  assert_true (wsi_scale_fit (widths, 2, 10, &fit, residuals));
  assert_near (fit.value[WS_LENS_T_SCALE], 0.0174, 1e-7);
  assert_near (fit.value[WS_LENS_EDGE_SHIFT], 0.36, 1e-3);
  const WsLens lens = wsi_scale_fit_lens (&fit, 2048, 1536);
  assert_near (ws_lens_mm_per_px (&lens), 0.0174, 1e-7);
  assert_near (ws_lens_u_mm_per_px (&lens), u_of (&fit, WS_LENS_T_SCALE), 1e-12);
  assert_false (wsi_scale_fit (widths, 0, 10, &fit, residuals));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (exact_widths_give_exact_parameters),
    cmocka_unit_test (a_bent_field_is_told),
    cmocka_unit_test (uncertainties_are_true),
    cmocka_unit_test (one_size_cannot_tell_the_shift),
    cmocka_unit_test (certificates_do_not_average),
    cmocka_unit_test (wrong_sizes_are_rejected),
    cmocka_unit_test (ring_tells_scale_and_shift),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
