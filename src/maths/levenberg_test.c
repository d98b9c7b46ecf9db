#include "maths/levenberg.h"

#include "base/testing.h"
#include "maths/least_squares.h"

/* NIST/ITL StRD, Nonlinear Regression, Misra1a: y = b1 (1 - exp (-b2 x)); data and certified values
 * recalled from memory, and recomputed. */
static const double misra[][2] = {
  { 10.07, 77.6 },  { 14.73, 114.9 }, { 17.94, 141.1 }, { 23.93, 190.8 }, { 29.61, 239.9 },
  { 35.18, 289.0 }, { 40.02, 332.8 }, { 44.82, 378.4 }, { 50.76, 434.8 }, { 55.05, 477.3 },
  { 61.01, 536.8 }, { 66.40, 593.1 }, { 75.47, 689.1 }, { 81.78, 760.0 },
};

static double
misra_squares (gconstpointer data, const double *x)
{
  double sum = 0;
  (void)data;
  for (guint i = 0; i < G_N_ELEMENTS (misra); i++)
  {
    const double r = misra[i][0] - x[0] * (1 - exp (-x[1] * misra[i][1]));
    sum += r * r;
  }
  return sum;
}

static void
misra_equations (gconstpointer data, const double *x, double *JJ, double *Jr)
{
  (void)data;
  for (guint i = 0; i < G_N_ELEMENTS (misra); i++)
  {
    const double rest = exp (-x[1] * misra[i][1]);
    const double J[2] = { 1 - rest, x[0] * misra[i][1] * rest };
    wsi_normal_add (JJ, Jr, 2, J, misra[i][0] - x[0] * (1 - rest), 1);
  }
}

static const WsLevenberg misra_problem = { 2, 100, 1e-24, misra_squares, misra_equations };

/* From both of NIST's starts, the far one and the near one. */
static void
misra_has_its_certified_values (void **state)
{
  static const double starts[2][2] = { { 500, 0.0001 }, { 250, 0.0005 } };
  (void)state;
  for (guint k = 0; k < 2; k++)
  {
    double x[2] = { starts[k][0], starts[k][1] }, squares, inverse[4];
    assert_true (wsi_levenberg_fit (&misra_problem, NULL, x, &squares, inverse));
    assert_near (x[0] / 2.3894212918e+02, 1, 1e-9);
    assert_near (x[1] / 5.5015643181e-04, 1, 1e-9);
    assert_near (squares / 1.2455138894e-01, 1, 1e-9);
    const double s = sqrt (squares / (G_N_ELEMENTS (misra) - 2));
    assert_near (s * sqrt (inverse[0]) / 2.7070075241e+00, 1, 1e-7);
    assert_near (s * sqrt (inverse[3]) / 7.2668688436e-06, 1, 1e-7);
  }
}

/* Rosenbrock's valley, Computer Journal 3, 1960, as two residuals: 10 (y - x^2) and 1 - x; the
 * minimum is at (1, 1).  Plain steps from the usual start (-1.2, 1) go uphill. */
static double
valley_squares (gconstpointer data, const double *x)
{
  const double a = 10 * (x[1] - x[0] * x[0]), b = 1 - x[0];
  guint *calls = (guint *)data;
  (*calls)++;
  return a * a + b * b;
}

static void
valley_equations (gconstpointer data, const double *x, double *JJ, double *Jr)
{
  const double first[2] = { 20 * x[0], -10 }, second[2] = { 1, 0 };
  (void)data;
  wsi_normal_add (JJ, Jr, 2, first, 10 * (x[1] - x[0] * x[0]), 1);
  wsi_normal_add (JJ, Jr, 2, second, 1 - x[0], 1);
}

static void
a_bent_valley_is_followed_to_its_end (void **state)
{
  const WsLevenberg problem = { 2, 100, 1e-24, valley_squares, valley_equations };
  double x[2] = { -1.2, 1 }, squares;
  guint calls = 0;
  (void)state;
  assert_true (wsi_levenberg_fit (&problem, &calls, x, &squares, NULL));
  assert_near (x[0], 1, 1e-9);
  assert_near (x[1], 1, 1e-9);
  assert_near (squares, 0, 1e-18);
  assert_true (calls > 5);
}

static void
one_unknown_too_many_equations_too_few (gconstpointer data, const double *x, double *JJ, double *Jr)
{
  const double row[2] = { 1, 1 };
  (void)data;
  wsi_normal_add (JJ, Jr, 2, row, 3 - x[0] - x[1], 1);
}

static void
what_is_not_determined_is_refused (void **state)
{
  const WsLevenberg problem = { 2, 100, 1e-24, misra_squares,
                                one_unknown_too_many_equations_too_few };
  double x[2] = { 0, 0 }, squares;
  (void)state;
  assert_false (wsi_levenberg_fit (&problem, NULL, x, &squares, NULL));
  WsLevenberg hurried = misra_problem;
  hurried.most_rounds = 2;
  double far[2] = { 500, 0.0001 };
  assert_false (wsi_levenberg_fit (&hurried, NULL, far, &squares, NULL));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (misra_has_its_certified_values),
    cmocka_unit_test (a_bent_valley_is_followed_to_its_end),
    cmocka_unit_test (what_is_not_determined_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
