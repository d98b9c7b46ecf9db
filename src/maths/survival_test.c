#include "base/testing.h"

#include "maths/survival.h"

/* Weeks of remission, 6-MP and placebo: E. J. Freireich and others, Blood 21 (1963) 699-716, as
 * they stand in many textbooks; read at rstudio-pubs-static 1434825. */
static const WsLife treated[] = {
  { 6, TRUE },   { 6, TRUE },   { 6, TRUE },   { 7, TRUE },   { 10, TRUE },  { 13, TRUE },
  { 16, TRUE },  { 22, TRUE },  { 23, TRUE },  { 6, FALSE },  { 9, FALSE },  { 10, FALSE },
  { 11, FALSE }, { 17, FALSE }, { 19, FALSE }, { 20, FALSE }, { 25, FALSE }, { 32, FALSE },
  { 32, FALSE }, { 34, FALSE }, { 35, FALSE },
};
static const WsLife placebo[] = {
  { 1, TRUE },  { 1, TRUE },  { 2, TRUE },  { 2, TRUE },  { 3, TRUE },  { 4, TRUE },  { 4, TRUE },
  { 5, TRUE },  { 5, TRUE },  { 8, TRUE },  { 8, TRUE },  { 8, TRUE },  { 8, TRUE },  { 11, TRUE },
  { 11, TRUE }, { 12, TRUE }, { 12, TRUE }, { 15, TRUE }, { 17, TRUE }, { 22, TRUE }, { 23, TRUE },
};

/* Acute myelogenous leukaemia, the maintained group (R. G. Miller, Survival Analysis, 1981), as
 * read at rstudio-pubs-static 610133. */
static const WsLife maintained[] = {
  { 9, TRUE },  { 13, TRUE }, { 13, FALSE }, { 18, TRUE }, { 23, TRUE },   { 28, FALSE },
  { 31, TRUE }, { 34, TRUE }, { 45, FALSE }, { 48, TRUE }, { 161, FALSE },
};

/* Medians and intervals as the same page prints them, of R's survfit: 23 (16 to open), 8 (4 to
 * 12). */
static void
medians_are_those_published (void **state)
{
  g_auto (WsSurvival) found = { 0 }, other = { 0 };
  (void)state;
  wsi_survival_find (treated, G_N_ELEMENTS (treated), &found);
  assert_int_equal (found.n, 21);
  assert_int_equal (found.n_ended, 9);
  assert_near (found.median, 23, 0);
  assert_near (found.low, 16, 0);
  assert_true (isnan (found.high));
  wsi_survival_find (placebo, G_N_ELEMENTS (placebo), &other);
  assert_near (other.median, 8, 0);
  assert_near (other.low, 4, 0);
  assert_near (other.high, 12, 0);
}

/* time, at risk, survival, standard error and interval as printed there. */
static void
shares_are_those_published (void **state)
{
  static const double rows[][6] = { { 9, 11, 0.909, 0.0867, 0.7541, 1.000 },
                                    { 13, 10, 0.818, 0.1163, 0.6192, 1.000 },
                                    { 18, 8, 0.716, 0.1397, 0.4884, 1.000 },
                                    { 23, 7, 0.614, 0.1526, 0.3769, 0.999 },
                                    { 31, 5, 0.491, 0.1642, 0.2549, 0.946 } };
  g_auto (WsSurvival) found = { 0 };
  (void)state;
  wsi_survival_find (maintained, G_N_ELEMENTS (maintained), &found);
  for (guint i = 0; i < G_N_ELEMENTS (rows); i++)
  {
    const WsSurvivalStep *step = &g_array_index (found.steps, WsSurvivalStep, i);
    assert_near (step->length, rows[i][0], 0);
    assert_int_equal (step->at_risk, (int)rows[i][1]);
    assert_near (step->share, rows[i][2], 0.0005);
    assert_near (step->s, rows[i][3], 0.00005);
    assert_near (step->low, rows[i][4], 0.00005);
    assert_near (step->high, rows[i][5], 0.0005);
  }
}

/* Log-rank chi-square 16.79, with 10.75 relapses expected under placebo (recalled from memory, as
 * R's survdiff and textbooks have it). */
static void
groups_differ_as_published (void **state)
{
  double expected, chi;
  (void)state;
  const double p = wsi_survival_compare (placebo, G_N_ELEMENTS (placebo), treated,
                                         G_N_ELEMENTS (treated), &expected, &chi);
  assert_near (chi, 16.79, 0.005);
  assert_near (expected, 10.75, 0.005);
  assert_near (p, 4.17e-5, 1e-7);
  assert_near (p, wsi_survival_compare (treated, 21, placebo, 21, NULL, NULL), 1e-12);
}

static void
too_little_is_unknown (void **state)
{
  static const WsLife going_on[] = { { 3, FALSE }, { 5, FALSE }, { 4, TRUE } };
  g_auto (WsSurvival) found = { 0 }, none = { 0 };
  (void)state;
  wsi_survival_find (going_on, 2, &found);
  assert_int_equal (found.n_ended, 0);
  assert_true (isnan (found.median) && isnan (found.low) && isnan (found.high));
  assert_near (found.longest, 5, 0);
  wsi_survival_find (NULL, 0, &none);
  assert_int_equal (none.n, 0);
  assert_true (isnan (none.median));
  assert_true (isnan (wsi_survival_compare (going_on, 2, going_on, 2, NULL, NULL)));
  assert_true (isnan (wsi_survival_compare (going_on, 3, NULL, 0, NULL, NULL)));
}

/* Just a half is left for a while: the median is its middle. */
static void
a_flat_half_is_halved (void **state)
{
  static const WsLife four[] = { { 2, TRUE }, { 4, TRUE }, { 8, TRUE }, { 9, TRUE } };
  g_auto (WsSurvival) found = { 0 };
  (void)state;
  wsi_survival_find (four, 4, &found);
  assert_near (found.median, 6, 0);
  static const WsLife two[] = { { 2, TRUE }, { 3, FALSE } };
  g_auto (WsSurvival) last = { 0 };
  wsi_survival_find (two, 2, &last);
  assert_near (last.median, 2, 0); /* nothing ended after it */
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (medians_are_those_published), cmocka_unit_test (shares_are_those_published),
    cmocka_unit_test (groups_differ_as_published),  cmocka_unit_test (too_little_is_unknown),
    cmocka_unit_test (a_flat_half_is_halved),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
