#include "maths/capability.h"

#include "base/testing.h"

#include <math.h>

/* scipy.stats.chi2.ppf of SciPy 1.10 */
static void
test_chi_square (void **state)
{
  (void)state;
  static const double cases[][3] = {
    { 0.025, 4, 0.4844185570879299 },  { 0.975, 4, 11.143286781877796 },
    { 0.025, 49, 31.554916462667126 }, { 0.975, 49, 70.22241356643451 },
    { 0.5, 1, 0.454936423119572 },     { 0.025, 1, 0.0009820691171752555 },
    { 0.975, 500, 563.8515293442852 }, { 0.001, 10, 1.4787434638356647 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    assert_near (wsi_chi_square_quantile (cases[i][0], cases[i][1]) / cases[i][2], 1.0, 1e-10);
}

/* The formulas with NumPy and SciPy. */
static void
test_ten_values (void **state)
{
  (void)state;
  static const double values[] = { 118.02, 118.10, 117.95, 118.20, 117.88,
                                   118.05, 118.15, 117.99, 118.07, 117.93 };
  WsCapability found;
  assert_true (wsi_capability (values, G_N_ELEMENTS (values), 117.5, 118.5, &found));
  assert_near (found.mean, 118.034, 1e-9);
  assert_near (found.s, 0.10035492569431369, 1e-9);
  assert_near (found.cp, 1.6607721595484208, 1e-7);
  assert_near (found.cp_low, 0.90970798445939, 1e-7);
  assert_near (found.cp_high, 2.414491353819955, 1e-7);
  assert_near (found.cpk, 1.5478396526991556, 1e-7);
  assert_near (found.cpk_low, 0.8035395353171558, 1e-7);
  assert_near (found.cpk_high, 2.2921397700811554, 1e-7);
}

/* Twenty values with this mean and standard deviation. */
static void
fill (double *values, double mean, double s)
{
  for (guint i = 0; i < 20; i++)
    values[i] = mean + (i % 2 == 0 ? 1 : -1) * s * sqrt (19.0 / 20.0);
}

/* D. C. Montgomery, Introduction to Statistical Quality Control, the examples on intervals for Cp
 * (limits 38 and 62, s 1.75: 1.57 to 3.01) and for Cpk (1.33: 0.88 to 1.78), both with 20 values;
 * recalled from memory. */
static void
test_published_examples (void **state)
{
  (void)state;
  double values[20];
  WsCapability found;
  fill (values, 50.0, 1.75);
  assert_true (wsi_capability (values, 20, 38.0, 62.0, &found));
  assert_near (found.cp, 2.29, 0.005);
  assert_near (found.cp_low, 1.57, 0.01);
  assert_near (found.cp_high, 3.01, 0.005);
  fill (values, 10.0, 1.0);
  assert_true (wsi_capability (values, 20, 0.0, 10.0 + 3.0 * 1.33, &found));
  assert_near (found.cpk, 1.33, 1e-9);
  assert_near (found.cpk_low, 0.88, 0.005);
  assert_near (found.cpk_high, 1.78, 0.005);
}

static void
test_what_has_none (void **state)
{
  (void)state;
  static const double same[] = { 0.1, 0.1, 0.1, 0.1, 0.1, 0.1 };
  static const double few[] = { 1.0, 2.0, 3.0, 4.0 };
  static const double some[] = { 1.0, 2.0, 3.0, 4.0, 5.0 };
  WsCapability found;
  assert_false (wsi_capability (same, 6, 0.0, 1.0, &found));
  assert_false (wsi_capability (few, 4, 0.0, 10.0, &found));
  assert_false (wsi_capability (some, 5, -INFINITY, 10.0, &found));
  assert_false (wsi_capability (some, 5, 10.0, 10.0, &found));
  /* A mean outside: below 0, as it should be. */
  assert_true (wsi_capability (some, 5, 4.0, 10.0, &found));
  assert_true (found.cpk < 0.0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_chi_square),
    cmocka_unit_test (test_ten_values),
    cmocka_unit_test (test_published_examples),
    cmocka_unit_test (test_what_has_none),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
