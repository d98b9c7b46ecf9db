#include "maths/least_squares.h"

#include "base/testing.h"

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

/* y = terms[0] x + terms[1], or without the latter. */
static void
regress (const Pair *pairs, guint n, guint unknowns, double terms[2], double deviations[2])
{
  double inverse[4];
  WsLeastSquares sums;
  terms[1] = 0.0;
  wsi_least_squares_init (&sums, unknowns);
  for (guint i = 0; i < n; i++)
  {
    const double row[2] = { pairs[i].x, 1.0 };
    wsi_least_squares_add (&sums, row, pairs[i].y, 1);
  }
  assert_true (wsi_least_squares_solve (&sums, terms, inverse));
  const double s = residual_deviation (pairs, n, terms, unknowns);
  for (guint j = 0; j < unknowns; j++)
    deviations[j] = s * sqrt (inverse[j * unknowns + j]);
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

static const Pair pontius[] = {
  { 0.11019, 150000 },  { 0.21956, 300000 },  { 0.32949, 450000 },  { 0.43899, 600000 },
  { 0.54803, 750000 },  { 0.65694, 900000 },  { 0.76562, 1050000 }, { 0.87487, 1200000 },
  { 0.98292, 1350000 }, { 1.09146, 1500000 }, { 1.20001, 1650000 }, { 1.30822, 1800000 },
  { 1.41599, 1950000 }, { 1.52399, 2100000 }, { 1.63194, 2250000 }, { 1.73947, 2400000 },
  { 1.84646, 2550000 }, { 1.95392, 2700000 }, { 2.06128, 2850000 }, { 2.16844, 3000000 },
  { 0.11052, 150000 },  { 0.22018, 300000 },  { 0.32939, 450000 },  { 0.43886, 600000 },
  { 0.54798, 750000 },  { 0.65739, 900000 },  { 0.76596, 1050000 }, { 0.87474, 1200000 },
  { 0.983, 1350000 },   { 1.0915, 1500000 },  { 1.20004, 1650000 }, { 1.30818, 1800000 },
  { 1.41613, 1950000 }, { 1.52408, 2100000 }, { 1.63159, 2250000 }, { 1.73965, 2400000 },
  { 1.84696, 2550000 }, { 1.95445, 2700000 }, { 2.06177, 2850000 }, { 2.16829, 3000000 }
};

/* A parabola over loads from 150 000 to 3 000 000: the sums differ by 26 powers of ten. */
static void
pontius_has_its_certified_values (void **state)
{
  static const double certified[3][2] = { { 0.673565789473684e-03, 0.107938612033077e-03 },
                                          { 0.732059160401003e-06, 0.157817399981659e-09 },
                                          { -0.316081871345029e-14, 0.486652849992036e-16 } };
  const guint n = G_N_ELEMENTS (pontius);
  double x[3], inverse[9], squares = 0;
  WsLeastSquares sums;
  (void)state;
  wsi_least_squares_init (&sums, 3);
  for (guint i = 0; i < n; i++)
  {
    const double row[3] = { 1, pontius[i].x, pontius[i].x * pontius[i].x };
    wsi_least_squares_add (&sums, row, pontius[i].y, 1);
  }
  assert_true (wsi_least_squares_solve (&sums, x, inverse));
  for (guint i = 0; i < n; i++)
  {
    const double r = pontius[i].y - x[0] - pontius[i].x * (x[1] + pontius[i].x * x[2]);
    squares += r * r;
  }
  const double s = sqrt (squares / (n - 3));
  assert_near (s / 0.205177424076185e-03, 1, 1e-9);
  for (guint j = 0; j < 3; j++)
  {
    assert_near (x[j] / certified[j][0], 1, 1e-9);
    assert_near (s * sqrt (inverse[4 * j]) / certified[j][1], 1, 1e-9);
  }
}

/* What is taken away again leaves no trace, and weight 2 is as good as twice. */
static void
parts_are_added_and_taken_away (void **state)
{
  const double row[3][2] = { { 1, 2 }, { 1, 5 }, { 1, -1 } }, y[3] = { 3, 9, 1 };
  double x[2], again[2];
  WsLeastSquares sums, part;
  (void)state;
  wsi_least_squares_init (&sums, 2);
  wsi_least_squares_init (&part, 2);
  for (guint i = 0; i < 3; i++)
    wsi_least_squares_add (&sums, row[i], y[i], 1);
  assert_true (wsi_least_squares_solve (&sums, x, NULL));
  wsi_least_squares_add (&part, row[1], -700, 4);
  wsi_least_squares_add_sums (&sums, &part, 1);
  assert_true (wsi_least_squares_solve (&sums, again, NULL));
  assert_true (fabs (again[1] - x[1]) > 1);
  wsi_least_squares_add_sums (&sums, &part, -1);
  assert_true (wsi_least_squares_solve (&sums, again, NULL));
  assert_near (again[0], x[0], 1e-12);
  assert_near (again[1], x[1], 1e-12);
  wsi_least_squares_add (&sums, row[0], y[0], 2);
  assert_true (wsi_least_squares_solve (&sums, x, NULL));
  wsi_least_squares_add (&sums, row[0], y[0], -1);
  wsi_least_squares_add (&sums, row[0], y[0], 0.5);
  wsi_least_squares_add (&sums, row[0], y[0], 0.5);
  assert_true (wsi_least_squares_solve (&sums, again, NULL));
  assert_near (again[1], x[1], 1e-12);
}

/* The weighted mean of what is measured and what was known: u^2 = 1 / (1 / 4 + 1 / 1). */
static void
what_is_known_beforehand_counts_by_its_variance (void **state)
{
  const double row[1] = { 1 };
  double x, variance;
  WsLeastSquares sums;
  (void)state;
  wsi_least_squares_init (&sums, 1);
  assert_false (wsi_least_squares_solve (&sums, &x, NULL));
  wsi_least_squares_add (&sums, row, 10, 1.0 / 4);
  wsi_least_squares_prior (&sums, 0, 5, 1);
  assert_true (wsi_least_squares_solve (&sums, &x, &variance));
  assert_near (x, 6, 1e-12);
  assert_near (variance, 0.8, 1e-12);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (norris_has_its_certified_values),
    cmocka_unit_test (lines_through_the_origin_have_their_certified_values),
    cmocka_unit_test (pontius_has_its_certified_values),
    cmocka_unit_test (parts_are_added_and_taken_away),
    cmocka_unit_test (what_is_known_beforehand_counts_by_its_variance),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
