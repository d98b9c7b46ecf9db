#include "maths/robust.h"

#include "base/testing.h"

#include <string.h>

#define N 40

typedef struct
{
  double x[N], y[N];
  guint left_out; /* number of points from the end that the model doesn't take */
  double seen_sigma;
} Line;

static gboolean
row_of_line (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  const Line *line = data;
  (void)x;
  if (i >= N - line->left_out)
    return FALSE;
  row[0] = 1;
  row[1] = line->x[i];
  *value = line->y[i];
  return TRUE;
}

/* y = 3 - 0.5 x with a scatter of 0.02 that has no part of a line in it; every fourth point is off
 * by ten times that and more. */
static Line
dirty_line (void)
{
  Line line = { .left_out = 0 };
  for (guint i = 0; i < N; i++)
  {
    line.x[i] = i;
    line.y[i] = 3 - 0.5 * i + (i % 2 == 0 ? 0.02 : -0.02);
    line.y[i] += i % 4 == 3 ? 0.2 + i : 0;
  }
  return line;
}

static void
tukey_weighs_as_published (void **state)
{
  (void)state;
  assert_near (wsi_tukey_weight (0), 1, 0);
  assert_near (wsi_tukey_weight (0.5), 0.5625, 1e-15); /* (1 - 1/4)^2 */
  assert_near (wsi_tukey_weight (-0.5), 0.5625, 1e-15);
  assert_near (wsi_tukey_weight (1), 0, 0);
  assert_near (wsi_tukey_weight (-1.5), 0, 0);
  assert_near (wsi_tukey_weight (NAN), 0, 0);
}

/* The reach gives 95 % of the mean's efficiency for normal errors: (E psi')^2 / E psi^2 = 0.95,
 * psi = r w (r), by Simpson's rule. */
static void
the_reach_is_95_percent_efficient (void **state)
{
  double slope = 0, square = 0;
  const guint n = 4000;
  (void)state;
  for (guint i = 0; i <= n; i++)
  {
    const double r = WS_TUKEY_REACH * (2.0 * i / n - 1), t = r / WS_TUKEY_REACH;
    const double weight = (i == 0 || i == n ? 1
                           : i % 2 == 1     ? 4
                                            : 2) *
                          exp (-0.5 * r * r) / sqrt (2 * G_PI) * 2 * WS_TUKEY_REACH / n / 3;
    const double psi = r * wsi_tukey_weight (t);
    slope += weight * (1 - t * t) * (1 - 5 * t * t);
    square += weight * psi * psi;
  }
  assert_near (slope * slope / square, 0.95, 1e-4);
}

static void
wrong_points_do_not_move_the_line (void **state)
{
  const WsRobustModel model = { N, 2, 12, 1e-6, row_of_line, NULL };
  const Line line = dirty_line ();
  double residuals[N];
  WsRobustSolution solution;
  (void)state;
  assert_true (wsi_robust_fit (&model, &line, residuals, &solution));
  assert_near (solution.x[0], 3, 0.01);
  assert_near (solution.x[1], -0.5, 0.0005);
  assert_int_equal (solution.n_left, N);
  assert_true (solution.sigma > 0.01 && solution.sigma < 0.05);
  assert_near (residuals[3], 3.2, 0.1);
}

static void
points_of_no_use_are_passed_over (void **state)
{
  const WsRobustModel model = { N, 2, 12, 1e-6, row_of_line, NULL };
  Line line = dirty_line ();
  double residuals[N];
  WsRobustSolution solution;
  (void)state;
  line.left_out = 30;
  assert_true (wsi_robust_fit (&model, &line, residuals, &solution));
  assert_int_equal (solution.n_left, 10);
  assert_near (solution.x[1], -0.5, 0.01);
  line.left_out = 39;
  assert_false (wsi_robust_fit (&model, &line, residuals, &solution));
  line.left_out = 40;
  assert_false (wsi_robust_fit (&model, &line, residuals, &solution));
}

/* The first round knows no scatter, later ones do; what was known beforehand holds the slope. */
static void
hold_slope (gconstpointer data, double sigma, WsLeastSquares *sums)
{
  (void)data;
  assert_true (sigma >= 0);
  wsi_least_squares_prior (sums, 1, 2, sigma > 0 ? 1e12 : 0);
}

static void
what_is_known_beforehand_is_heeded (void **state)
{
  WsRobustModel model = { N, 2, 1, 1e-6, row_of_line, hold_slope };
  const Line line = dirty_line ();
  double residuals[N];
  WsRobustSolution solution;
  (void)state;
  assert_true (wsi_robust_fit (&model, &line, residuals, &solution));
  assert_true (fabs (solution.x[1] - 2) > 1);
  model.n_rounds = 2;
  assert_true (wsi_robust_fit (&model, &line, residuals, &solution));
  assert_near (solution.x[1], 2, 1e-6);
}

/* A row has room for more than the model's own terms. */
static gboolean
row_with_more (gconstpointer data, guint i, const double *x, double *row, double *value)
{
  for (guint k = 2; k < WS_LEAST_SQUARES_MAX; k++)
    row[k] = NAN;
  return row_of_line (data, i, x, row, value);
}

static void
only_its_own_terms_count (void **state)
{
  const WsRobustModel model = { N, 2, 12, 1e-6, row_with_more, NULL };
  const Line line = dirty_line ();
  double residuals[N];
  WsRobustSolution solution;
  (void)state;
  assert_true (wsi_robust_fit (&model, &line, residuals, &solution));
  assert_near (solution.x[0], 3, 0.01);
  assert_near (residuals[3], 3.2, 0.1);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (tukey_weighs_as_published),
    cmocka_unit_test (the_reach_is_95_percent_efficient),
    cmocka_unit_test (wrong_points_do_not_move_the_line),
    cmocka_unit_test (points_of_no_use_are_passed_over),
    cmocka_unit_test (what_is_known_beforehand_is_heeded),
    cmocka_unit_test (only_its_own_terms_count),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
