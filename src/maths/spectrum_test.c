#include "maths/spectrum.h"

#include <math.h>

/* By the definition itself. */
static void
hold_against_definition (guint n)
{
  g_autofree double *values = g_new (double, n);
  g_autofree WsComplex *bins = g_new (WsComplex, n / 2 + 1);
  g_autoptr (GRand) rand = g_rand_new_with_seed (n);
  for (guint i = 0; i < n; i++)
    values[i] = g_rand_double_range (rand, -1, 1);
  wsi_spectrum (values, n, bins);
  for (guint k = 0; k <= n / 2; k++)
  {
    double re = 0, im = 0;
    for (guint i = 0; i < n; i++)
    {
      const double angle = 2 * G_PI * (double)((guint64)i * k % n) / n;
      re += values[i] * cos (angle);
      im -= values[i] * sin (angle);
    }
    g_assert_cmpfloat_with_epsilon (bins[k].re, re, 1e-9);
    g_assert_cmpfloat_with_epsilon (bins[k].im, im, 1e-9);
  }
}

static void
any_number_of_values (void)
{
  for (guint n = 1; n <= 70; n++)
    hold_against_definition (n);
}

static void
as_many_as_a_picture_has_lines (void)
{
  const guint numbers[] = { 1024, 1080, 1457, 3000, 2 * 1009 };
  for (guint i = 0; i < G_N_ELEMENTS (numbers); i++)
    hold_against_definition (numbers[i]);
}

int
main (int argc, char **argv)
{
  g_test_init (&argc, &argv, NULL);
  g_test_add_func ("/maths/spectrum/any-number", any_number_of_values);
  g_test_add_func ("/maths/spectrum/as-many-as-lines", as_many_as_a_picture_has_lines);
  return g_test_run ();
}
