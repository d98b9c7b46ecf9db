#include "base/testing.h"

#include "maths/control.h"

/* Worked by hand: mean 10.2, ranges 1 2 3 3, mean range 2.25. */
static void
limits_by_hand (void **state)
{
  (void)state;
  static const double values[] = { 10, 11, 9, 12, 9 };
  const WsControl control = wsi_control_limits (values, NULL, 5);
  assert_true (control.has_limits);
  assert_int_equal (control.n, 5);
  assert_near (control.centre, 10.2, 1e-12);
  assert_near (control.mean_range, (1 + 2 + 3 + 3) / 4.0, 1e-12);
  assert_near (control.upper, 10.2 + 2.25 * 1.5 * sqrt (G_PI), 1e-12);
  assert_near (control.lower, 10.2 - 2.25 * 1.5 * sqrt (G_PI), 1e-12);
  assert_near (control.range_upper, 2.25 * (1 + 3 * sqrt (G_PI / 2 - 1)), 1e-12);
}

/* The tables' factors, rounded. */
static void
factors_are_those_of_the_tables (void **state)
{
  (void)state;
  assert_near (WS_CONTROL_INDIVIDUALS, 2.66, 0.005);
  assert_near (WS_CONTROL_RANGES, 3.267, 0.0005);
}

static void
what_is_left_out_tells_nothing (void **state)
{
  (void)state;
  static const double values[] = { 1, 2, 99, 1, 2 }, kept[] = { 1, 2, 1, 2 };
  static const gboolean used[] = { TRUE, TRUE, FALSE, TRUE, TRUE };
  const WsControl some = wsi_control_limits (values, used, 5);
  const WsControl all = wsi_control_limits (kept, NULL, 4);
  assert_int_equal (some.n, 4);
  assert_near (some.upper, all.upper, 1e-12);
  assert_near (some.lower, all.lower, 1e-12);
  assert_true (wsi_control_signals (&some, values, 2) & WS_CONTROL_BEYOND);
  assert_int_equal (wsi_control_signals (&some, values, 4), 0);
}

static void
two_values_make_no_limits (void **state)
{
  (void)state;
  static const double values[] = { 1, 2 };
  const WsControl control = wsi_control_limits (values, NULL, 2);
  assert_false (control.has_limits);
  assert_near (control.centre, 1.5, 1e-12);
  assert_near (control.mean_range, 1, 1e-12);
  assert_true (isnan (control.lower) && isnan (control.upper) && isnan (control.range_upper));
  assert_true (isnan (wsi_control_limits (values, NULL, 0).centre));
  assert_true (isnan (wsi_control_limits (values, NULL, 1).mean_range));
  assert_int_equal (wsi_control_signals (&control, values, 1), 0);
}

static void
seven_in_a_row (void **state)
{
  (void)state;
  static const double values[] = { 0, 3, -3, -2, -1, 0.1, 1, 2, 2.5, 2, 2, 1, 0.5, -1 };
  const WsControl control = { .n = 20, .has_limits = TRUE, .lower = -9, .upper = 9 };
  assert_int_equal (wsi_control_signals (&control, values, 7), 0);
  assert_int_equal (wsi_control_signals (&control, values, 8), WS_CONTROL_RISING);
  assert_int_equal (wsi_control_signals (&control, values, 10), 0);
  assert_int_equal (wsi_control_signals (&control, values, 11), WS_CONTROL_ABOVE);
  assert_int_equal (wsi_control_signals (&control, values, 13), 0);
  double mirrored[G_N_ELEMENTS (values)];
  for (gsize i = 0; i < G_N_ELEMENTS (values); i++)
    mirrored[i] = -values[i];
  assert_int_equal (wsi_control_signals (&control, mirrored, 8), WS_CONTROL_FALLING);
  assert_int_equal (wsi_control_signals (&control, mirrored, 11), WS_CONTROL_BELOW);
}

/* Three standard deviations hold 99.7 % of normal values; limits from 4000 find them within the
 * mean range's own scatter. */
static void
limits_of_normal_values (void **state)
{
  (void)state;
  double values[4000];
  g_autoptr (GRand) random = g_rand_new_with_seed (11);
  for (gsize i = 0; i < G_N_ELEMENTS (values); i++)
    values[i] = 5 + 0.2 * sqrt (-2 * log (1 - g_rand_double (random))) *
                      cos (2 * G_PI * g_rand_double (random));
  const WsControl control = wsi_control_limits (values, NULL, G_N_ELEMENTS (values));
  assert_near (control.upper, 5.6, 0.03);
  assert_near (control.lower, 4.4, 0.03);
}

/* 0.1 three times has a mean that is off by rounding, and no spread at all. */
static void
equal_values_give_no_signal (void **state)
{
  (void)state;
  double values[9];
  for (gsize i = 0; i < G_N_ELEMENTS (values); i++)
    values[i] = 0.1;
  for (gsize n = 3; n <= G_N_ELEMENTS (values); n++)
  {
    const WsControl control = wsi_control_limits (values, NULL, n);
    assert_int_equal (wsi_control_signals (&control, values, n - 1), 0);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (limits_by_hand),
    cmocka_unit_test (factors_are_those_of_the_tables),
    cmocka_unit_test (what_is_left_out_tells_nothing),
    cmocka_unit_test (two_values_make_no_limits),
    cmocka_unit_test (seven_in_a_row),
    cmocka_unit_test (limits_of_normal_values),
    cmocka_unit_test (equal_values_give_no_signal),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
