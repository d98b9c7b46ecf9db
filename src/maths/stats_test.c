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
    const double q = ws_quantile (values, G_N_ELEMENTS (values), cases[i].q);
    assert_near (q, cases[i].expected, 1e-12);
  }
}

static void
a_quantile_beyond_the_ends_is_the_end (void **state)
{
  (void)state;
  double one[] = { 3.0 };
  assert_near (ws_quantile (one, 1, 0.3), 3.0, 0.0);
  double two[] = { 7.0, 5.0 };
  assert_near (ws_quantile (two, 2, -1.0), 5.0, 0.0);
  assert_near (ws_quantile (two, 2, 2.0), 7.0, 0.0);
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
      assert_near (ws_median (values, n), middle, 0.0);
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
  assert_near (ws_mad_sigma (values, G_N_ELEMENTS (values)), 1.4826, 1e-12);
  assert_near (ws_normal_cdf (1.0 / 1.4826), 0.75, 1e-5);
}

/* Tables of the standard normal distribution, as printed in any handbook; from memory. */
static void
the_normal_distribution_has_its_tabled_values (void **state)
{
  (void)state;
  assert_near (ws_normal_cdf (0.0), 0.5, 1e-15);
  assert_near (ws_normal_cdf (1.0), 0.841344746, 1e-9);
  assert_near (ws_normal_cdf (1.959964), 0.975, 1e-8);
  assert_near (ws_normal_cdf (-2.575829), 0.005, 1e-8);
  assert_near (ws_normal_cdf (-6.0), 9.865876e-10, 1e-15);
  assert_near (ws_normal_pdf (0.0), 0.3989422804, 1e-10);
  assert_near (ws_normal_pdf (1.0), 0.2419707245, 1e-10);
  assert_near (ws_normal_pdf (-1.0), ws_normal_pdf (1.0), 0.0);
}

/* A = L L' of L = (2 0 0; 6 1 0; -8 5 3), so det A = 36 and its inverse can be had by hand. */
static void
a_small_system_is_solved_and_inverted (void **state)
{
  (void)state;
  double A[] = { 4.0, 12.0, -16.0, 12.0, 37.0, -43.0, -16.0, -43.0, 98.0 };
  const double inverse[] = { 1777.0 / 36.0, -122.0 / 9.0, 19.0 / 9.0, -122.0 / 9.0, 34.0 / 9.0,
                             -5.0 / 9.0,    19.0 / 9.0,   -5.0 / 9.0, 1.0 / 9.0 };
  /* Of x = (1, 2, 3). */
  double b[] = { -20.0, -43.0, 192.0 };
  assert_true (ws_solve_spd (A, b, 3, TRUE));
  for (guint i = 0; i < 3; i++)
    assert_near (b[i], i + 1.0, 1e-10);
  for (guint i = 0; i < 9; i++)
    assert_near (A[i], inverse[i], 1e-10);
}

static void
what_is_not_positive_definite_is_refused (void **state)
{
  (void)state;
  double indefinite[] = { 1.0, 2.0, 2.0, 1.0 }, b[] = { 1.0, 1.0 };
  assert_false (ws_solve_spd (indefinite, b, 2, FALSE));
  double singular[] = { 1.0, 3.0, 3.0, 9.0 };
  assert_false (ws_solve_spd (singular, b, 2, FALSE));
  double zero[] = { 0.0 };
  assert_false (ws_solve_spd (zero, b, 1, FALSE));
  double none[] = { NAN };
  assert_false (ws_solve_spd (none, b, 1, FALSE));
}

/* --- Certified values: NIST/ITL StRD, Linear Least Squares (itl.nist.gov/div898/strd/lls) ---- */

typedef struct
{
  double y, x;
} Pair;

static const Pair norris[] = {
  { 0.1, 0.2 },     { 338.8, 337.4 }, { 118.1, 118.2 }, { 888.0, 884.6 }, { 9.2, 10.1 },
  { 228.1, 226.5 }, { 668.5, 666.3 }, { 998.5, 996.3 }, { 449.1, 448.6 }, { 778.9, 777.0 },
  { 559.2, 558.2 }, { 0.3, 0.4 },     { 0.1, 0.6 },     { 778.1, 775.5 }, { 668.8, 666.9 },
  { 339.3, 338.0 }, { 448.9, 447.5 }, { 10.8, 11.6 },   { 557.7, 556.0 }, { 228.3, 228.1 },
  { 998.0, 995.8 }, { 888.8, 887.6 }, { 119.6, 120.2 }, { 0.3, 0.3 },     { 0.6, 0.3 },
  { 557.6, 556.8 }, { 339.3, 339.1 }, { 888.0, 887.2 }, { 998.5, 999.0 }, { 778.9, 779.0 },
  { 10.2, 11.1 },   { 117.6, 118.3 }, { 228.9, 229.2 }, { 668.4, 669.1 }, { 449.2, 448.9 },
  { 0.2, 0.5 },
};

static const Pair no_int_1[] = {
  { 130, 60 }, { 131, 61 }, { 132, 62 }, { 133, 63 }, { 134, 64 }, { 135, 65 },
  { 136, 66 }, { 137, 67 }, { 138, 68 }, { 139, 69 }, { 140, 70 },
};

static const Pair no_int_2[] = { { 3, 4 }, { 4, 5 }, { 4, 6 } };

/* Standard deviation of the residuals about terms[0] x + terms[1]. */
static double
residual_deviation (const Pair *pairs, guint n, const double terms[2], guint unknowns)
{
  double squares = 0.0;
  for (guint i = 0; i < n; i++)
  {
    const double r = pairs[i].y - terms[0] * pairs[i].x - terms[1];
    squares += r * r;
  }
  return sqrt (squares / (n - unknowns));
}

/* Normal equations of y = terms[0] x + terms[1], or without the latter. */
static void
regress (const Pair *pairs, guint n, guint unknowns, double terms[2], double deviations[2])
{
  double A[4] = { 0.0 };
  terms[0] = terms[1] = 0.0;
  for (guint i = 0; i < n; i++)
  {
    const double row[2] = { pairs[i].x, 1.0 };
    for (guint j = 0; j < unknowns; j++)
    {
      for (guint k = 0; k < unknowns; k++)
        A[j * unknowns + k] += row[j] * row[k];
      terms[j] += row[j] * pairs[i].y;
    }
  }
  assert_true (ws_solve_spd (A, terms, unknowns, TRUE));
  const double s = residual_deviation (pairs, n, terms, unknowns);
  for (guint j = 0; j < unknowns; j++)
    deviations[j] = s * sqrt (A[j * unknowns + j]);
}

static void
norris_has_its_certified_values (void **state)
{
  (void)state;
  double terms[2], deviations[2];
  regress (norris, G_N_ELEMENTS (norris), 2, terms, deviations);
  assert_near (terms[0], 1.00211681802045, 1e-12);
  assert_near (terms[1], -0.262323073774029, 1e-10);
  assert_near (deviations[0], 0.429796848199937e-03, 1e-13);
  assert_near (deviations[1], 0.232818234301152, 1e-10);
  assert_near (residual_deviation (norris, G_N_ELEMENTS (norris), terms, 2), 0.884796396144373,
               1e-11);
}

static void
lines_through_the_origin_have_their_certified_values (void **state)
{
  (void)state;
  double terms[2], deviations[2];
  regress (no_int_1, G_N_ELEMENTS (no_int_1), 1, terms, deviations);
  assert_near (terms[0], 2.07438016528926, 1e-13);
  assert_near (deviations[0], 0.165289256198347e-01, 1e-14);
  assert_near (residual_deviation (no_int_1, G_N_ELEMENTS (no_int_1), terms, 1),
               sqrt (127.272727272727 / 10.0), 1e-12);

  regress (no_int_2, G_N_ELEMENTS (no_int_2), 1, terms, deviations);
  assert_near (terms[0], 0.727272727272727, 1e-14);
  assert_near (deviations[0], 0.420827318078432e-01, 1e-14);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (quantiles_are_those_of_definition_7),
    cmocka_unit_test (a_quantile_beyond_the_ends_is_the_end),
    cmocka_unit_test (selection_agrees_with_sorting),
    cmocka_unit_test (mad_is_scaled_to_the_normal_distribution),
    cmocka_unit_test (the_normal_distribution_has_its_tabled_values),
    cmocka_unit_test (a_small_system_is_solved_and_inverted),
    cmocka_unit_test (what_is_not_positive_definite_is_refused),
    cmocka_unit_test (norris_has_its_certified_values),
    cmocka_unit_test (lines_through_the_origin_have_their_certified_values),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
