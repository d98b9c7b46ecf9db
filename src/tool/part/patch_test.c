/*
 * Power at a frequency against the sum written out, for sides that sums of several rows at a time
 * fit into and don't.
 */
#include "base/testing.h"

#include <complex.h>
#include <math.h>

#include "tool/part/patch.h"

/* (S2) without turns that go on from pixel to pixel. */
static double
written_out (const WsPatch *patch, double fx, double fy)
{
  double complex sum = 0;
  for (guint y = 0; y < patch->side; y++)
    for (guint x = 0; x < patch->side; x++)
      sum += (double)patch->value[y * patch->side + x] * cexp (2 * G_PI * I * (fx * x + fy * y));
  return pow (creal (sum), 2) + pow (cimag (sum), 2);
}

static void
power_is_that_of_the_sum (void **state)
{
  (void)state;
  static const double at[][2] = { { 0, 0 }, { 0.11, 0 }, { 0.07, -0.23 }, { 0.35, 0.01 } };
  for (guint side = 1; side <= 9; side++)
  {
    float value[81];
    for (guint i = 0; i < side * side; i++)
      value[i] = (float)sin (1.7 * i * i + side);
    const WsPatch patch = { .value = value, .side = side, .radius = 0.5 * (side - 1) };
    for (guint i = 0; i < G_N_ELEMENTS (at); i++)
    {
      const double power = wsi_patch_power (&patch, at[i][0], at[i][1]);
      assert_float_equal (power, written_out (&patch, at[i][0], at[i][1]), 1e-9);
    }
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = { cmocka_unit_test (power_is_that_of_the_sum) };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
