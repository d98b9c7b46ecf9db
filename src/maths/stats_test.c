#include "maths/stats.h"

#include "base/testing.h"

#include <stdlib.h>

/* Hyndman & Fan 1996, definition 7: h = (n - 1) q + 1, linear between the h-th smallest and
 * the next.  Worked by hand. */
static void
quantiles_are_those_of_definition_7 (void **state)
{
  (void)state;
  const struct
  {
    double q, expected;
  } cases[] = { { 0.0, 1.0 },  { 0.1, 1.5 },   { 0.25, 2.5 }, { 0.5, 5.0 },
                { 0.9, 13.0 }, { 0.95, 16.5 }, { 1.0, 20.0 } };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    double values[] = { 6.0, 20.0, 1.0, 4.0, 2.0, 6.0 };
    const double q = wsi_quantile (values, G_N_ELEMENTS (values), cases[i].q);
    assert_near (q, cases[i].expected, 1e-12);
  }
}

static void
a_quantile_beyond_the_ends_is_the_end (void **state)
{
  (void)state;
  double one[] = { 3.0 };
  assert_near (wsi_quantile (one, 1, 0.3), 3.0, 0.0);
  double two[] = { 7.0, 5.0 };
  assert_near (wsi_quantile (two, 2, -1.0), 5.0, 0.0);
  assert_near (wsi_quantile (two, 2, 2.0), 7.0, 0.0);
}

static int
compare (const void *a, const void *b)
{
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Against sorting, over arrays with many equal values and in order already. */
static void
selection_agrees_with_sorting (void **state)
{
  (void)state;
  guint32 random = 7;
  for (guint n = 1; n <= 60; n++)
    for (guint kinds = 1; kinds <= 64; kinds *= 4)
    {
      double values[60], sorted[60];
      for (guint i = 0; i < n; i++)
      {
        random = random * 1664525u + 1013904223u;
        values[i] = kinds == 64 ? i : (random >> 16) % kinds;
      }
      memcpy (sorted, values, sizeof sorted);
      qsort (sorted, n, sizeof *sorted, compare);
      const double middle = 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]);
      assert_near (wsi_median (values, n), middle, 0.0);
      qsort (values, n, sizeof *values, compare);
      assert_memory_equal (values, sorted, n * sizeof *values);
    }
}

/* Long ones are sampled. */
static void
selection_among_many_agrees_with_sorting (void **state)
{
  (void)state;
  static const guint kinds[] = { 1, 2, 50, 65536, 0 }; /* 0: in order already */
  static const gsize lengths[] = { 600, 601, 602, 5000, 40001 };
  guint32 random = 11;
  for (guint i = 0; i < G_N_ELEMENTS (lengths) * G_N_ELEMENTS (kinds); i++)
  {
    const gsize n = lengths[i / G_N_ELEMENTS (kinds)];
    const guint of = kinds[i % G_N_ELEMENTS (kinds)];
    g_autofree double *values = g_new (double, n);
    for (gsize k = 0; k < n; k++)
    {
      random = random * 1664525u + 1013904223u;
      values[k] = of == 0 ? (double)k : (random >> 16) % of;
    }
    g_autofree double *sorted = g_memdup2 (values, n * sizeof *values);
    qsort (sorted, n, sizeof *sorted, compare);
    for (guint tenth = 0; tenth <= 10; tenth++)
    {
      const double q = 0.1 * tenth, place = q * (double)(n - 1);
      const gsize at = (gsize)place;
      const double here = sorted[at], next = sorted[MIN (at + 1, n - 1)];
      assert_near (wsi_quantile (values, n, q), here + (place - (double)at) * (next - here), 0);
    }
    qsort (values, n, sizeof *values, compare);
    assert_memory_equal (values, sorted, n * sizeof *values);
  }
}

/* 1, 1, 2, 2, 4, 6, 9: median 2, deviations 1, 1, 0, 0, 2, 4, 7, their median 1 (the textbook
 * example of the median absolute deviation).  1.4826 = 1 / Phi^-1(3/4). */
static void
mad_is_scaled_to_the_normal_distribution (void **state)
{
  (void)state;
  double values[] = { 1.0, 1.0, 2.0, 2.0, 4.0, 6.0, 9.0 };
  assert_near (wsi_mad_sigma (values, G_N_ELEMENTS (values)), 1.4826, 1e-12);
  assert_near (wsi_normal_cdf (1.0 / 1.4826), 0.75, 1e-5);
  double off[] = { 3.0, 1.0, 2.0 };
  assert_near (wsi_absolute_sigma (off, G_N_ELEMENTS (off)), 2.9652, 1e-12);
}

/* Tables of the standard normal distribution, as printed in any handbook; from memory. */
static void
the_normal_distribution_has_its_tabled_values (void **state)
{
  (void)state;
  assert_near (wsi_normal_cdf (0.0), 0.5, 1e-15);
  assert_near (wsi_normal_cdf (1.0), 0.841344746, 1e-9);
  assert_near (wsi_normal_cdf (1.959964), 0.975, 1e-8);
  assert_near (wsi_normal_cdf (-2.575829), 0.005, 1e-8);
  assert_near (wsi_normal_cdf (-6.0), 9.865876e-10, 1e-15);
  assert_near (wsi_normal_pdf (0.0), 0.3989422804, 1e-10);
  assert_near (wsi_normal_pdf (1.0), 0.2419707245, 1e-10);
  assert_near (wsi_normal_pdf (-1.0), wsi_normal_pdf (1.0), 0.0);
  assert_near (wsi_normal_quantile (0.5), 0.0, 1e-12);
  assert_near (wsi_normal_quantile (0.975), 1.959964, 1e-6);
  assert_near (wsi_normal_quantile (0.005), -2.575829, 1e-6);
  assert_near (wsi_normal_quantile (1e-30), -8.0, 1e-6);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (quantiles_are_those_of_definition_7),
    cmocka_unit_test (a_quantile_beyond_the_ends_is_the_end),
    cmocka_unit_test (selection_agrees_with_sorting),
    cmocka_unit_test (selection_among_many_agrees_with_sorting),
    cmocka_unit_test (mad_is_scaled_to_the_normal_distribution),
    cmocka_unit_test (the_normal_distribution_has_its_tabled_values),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
