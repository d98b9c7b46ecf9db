#include "base/testing.h"

#include "maths/f_distribution.h"

/* SciPy 1.10, stats.f.sf. */
static void
test_check_values (void **state)
{
  static const struct
  {
    double f, d1, d2, p;
  } cases[] = {
    { 0.434, 18, 60, 0.9740208028890078 },  { 5.273, 18, 60, 5.059301499493981e-07 },
    { 0.9735, 4, 18, 0.44629176291267536 }, { 28.797, 2, 4, 0.004217384186457665 },
    { 4.965, 1, 10, 0.04999244385736509 },  { 162.27, 9, 18, 2.292063840909858e-15 },
  };
  (void)state;
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
    assert_near (wsi_f_tail (cases[i].f, cases[i].d1, cases[i].d2) / cases[i].p, 1.0, 1e-10);
}

/* With 2 and 2 degrees of freedom the tail is 1 / (1 + f); with 1 and 1, 1 - 2/pi atan sqrt f. */
static void
test_closed_forms (void **state)
{
  (void)state;
  for (double f = 0.01; f < 100.0; f *= 1.7)
  {
    assert_near (wsi_f_tail (f, 2, 2), 1.0 / (1.0 + f), 1e-13);
    assert_near (wsi_f_tail (f, 1, 1), 1.0 - 2.0 / G_PI * atan (sqrt (f)), 1e-13);
  }
}

static void
test_ends (void **state)
{
  (void)state;
  assert_near (wsi_f_tail (0.0, 3, 4), 1.0, 0.0);
  assert_near (wsi_f_tail (INFINITY, 3, 4), 0.0, 0.0);
  assert_true (isnan (wsi_f_tail (NAN, 3, 4)));
  assert_true (isnan (wsi_f_tail (1.0, 0, 4)));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_check_values),
    cmocka_unit_test (test_closed_forms),
    cmocka_unit_test (test_ends),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
