#include "base/testing.h"

#include <whetsight/error.h>
#include <whetsight/study.h>

/* To so many printed decimals. */
#define assert_printed(value, printed, places)                                                     \
  assert_near (value, printed, 0.5000001 * pow (10, -(places)))

/* AIAG, Measurement Systems Analysis, 4th ed. 2010, the ANOVA example: 10 parts, 3 appraisers, 3
 * trials.  The manual itself not seen: data and results as several public test suites quote it. */
static const double aiag[] = {
  0.29,  0.41,  0.64,  0.08,  0.25,  0.07,  0.04,  -0.11, -0.15, -0.56, -0.68, -0.58, -0.47,
  -1.22, -0.68, -1.38, -1.13, -0.96, 1.34,  1.17,  1.27,  1.19,  0.94,  1.34,  0.88,  1.09,
  0.67,  0.47,  0.50,  0.64,  0.01,  1.03,  0.20,  0.14,  0.20,  0.11,  -0.80, -0.92, -0.84,
  -0.56, -1.20, -1.28, -1.46, -1.07, -1.45, 0.02,  -0.11, -0.21, -0.20, 0.22,  0.06,  -0.29,
  -0.67, -0.49, 0.59,  0.75,  0.66,  0.47,  0.55,  0.83,  0.02,  0.01,  0.21,  -0.31, -0.20,
  -0.17, -0.63, 0.08,  -0.34, -0.46, -0.56, -0.49, 2.26,  1.99,  2.01,  1.80,  2.12,  2.19,
  1.77,  1.45,  1.87,  -1.36, -1.25, -1.31, -1.68, -1.62, -1.50, -1.49, -1.77, -2.16,
};

static void
test_aiag (void **state)
{
  WsStudy s;
  (void)state;
  assert_true (ws_study_crossed (aiag, 10, 3, 3, WS_STUDY_POOL, &s, NULL));
  assert_printed (s.anova[WS_STUDY_OPERATOR].ss, 3.1673, 4);
  assert_printed (s.anova[WS_STUDY_PART].ss, 88.3619, 4);
  assert_printed (s.anova[WS_STUDY_INTERACTION].ss, 0.3590, 4);
  assert_printed (s.anova[WS_STUDY_REPEATABILITY].ss, 2.7589, 4);
  assert_printed (s.anova[WS_STUDY_TOTAL].ss, 94.6471, 4);
  assert_int_equal (s.anova[WS_STUDY_TOTAL].df, 89);
  assert_printed (s.anova[WS_STUDY_INTERACTION].f, 0.434, 3);
  assert_printed (s.anova[WS_STUDY_INTERACTION].p, 0.974, 3);
  assert_true (s.pooled);
  assert_int_equal (s.pooled_df, 78);
  assert_printed (s.pooled_ms, 0.03997, 5);
  assert_printed (sqrt (s.variance[WS_STUDY_V_REPEATABILITY]), 0.199933, 6);
  assert_printed (sqrt (s.variance[WS_STUDY_REPRODUCIBILITY]), 0.226838, 6);
  /* Printed as 0.302373, which the root of the sum of the squares of the two before it isn't: that
   * is 0.302372. */
  assert_near (sqrt (s.variance[WS_STUDY_GAUGE]), 0.302373, 1.6e-6);
  assert_near (sqrt (s.variance[WS_STUDY_GAUGE]), hypot (0.199933, 0.226838), 1e-6);
  assert_printed (sqrt (s.variance[WS_STUDY_V_PART]), 1.042327, 6);
  assert_printed (sqrt (s.variance[WS_STUDY_V_TOTAL]), 1.085, 3);
  assert_printed (s.percent_study[WS_STUDY_V_REPEATABILITY], 18.4, 1);
  assert_printed (s.percent_study[WS_STUDY_REPRODUCIBILITY], 20.9, 1);
  assert_printed (s.percent_study[WS_STUDY_GAUGE], 27.9, 1);
  /* 96.04, printed as 96.0 */
  assert_printed (s.percent_study[WS_STUDY_V_PART], 96.0, 1);
  assert_printed (s.percent_contribution[WS_STUDY_V_REPEATABILITY], 3.4, 1);
  assert_printed (s.percent_contribution[WS_STUDY_REPRODUCIBILITY], 4.4, 1);
  assert_printed (s.percent_contribution[WS_STUDY_GAUGE], 7.8, 1);
  assert_printed (s.percent_contribution[WS_STUDY_V_PART], 92.2, 1);
  assert_int_equal (s.categories, 4);

  /* With the interaction kept. */
  assert_true (ws_study_crossed (aiag, 10, 3, 3, 1.0, &s, NULL));
  assert_false (s.pooled);
  assert_printed (sqrt (s.variance[WS_STUDY_V_REPEATABILITY]), 0.214435, 6);
}

/* Houf and Berman 1988, thermal performance of power modules: data in the SAS/STAT user guide,
 * PROC VARCOMP; results computed in R when the data were collected. */
static const double houf_berman[] = {
  37, 38, 37, 41, 41, 40, 41, 42, 41, 42, 41, 43, 42, 42, 42, 43, 42, 43, 30, 31, 31, 31, 31,
  31, 29, 30, 28, 42, 43, 42, 43, 43, 43, 42, 42, 42, 28, 30, 29, 29, 30, 29, 31, 29, 29, 42,
  42, 43, 45, 45, 45, 44, 46, 45, 25, 26, 27, 28, 28, 30, 29, 27, 27, 40, 40, 40, 43, 42, 42,
  43, 43, 41, 25, 25, 25, 27, 29, 28, 26, 26, 26, 35, 34, 34, 35, 35, 34, 35, 34, 35,
};

static void
test_houf_berman (void **state)
{
  WsStudy s;
  (void)state;
  assert_true (ws_study_crossed (houf_berman, 10, 3, 3, WS_STUDY_POOL, &s, NULL));
  assert_printed (s.mean, 35.8, 1);
  assert_printed (s.anova[WS_STUDY_PART].ms, 437.32840, 5);
  assert_printed (s.anova[WS_STUDY_OPERATOR].ms, 19.633333, 6);
  assert_printed (s.anova[WS_STUDY_INTERACTION].ms, 2.695062, 6);
  assert_printed (s.anova[WS_STUDY_REPEATABILITY].ms, 0.511111, 6);
  assert_printed (s.anova[WS_STUDY_INTERACTION].f, 5.273, 3);
  assert_printed (s.anova[WS_STUDY_INTERACTION].p * 1e7, 5.1, 1);
  assert_false (s.pooled);
  assert_printed (s.variance[WS_STUDY_V_PART], 48.292593, 6);
  assert_printed (s.variance[WS_STUDY_V_OPERATOR], 0.564609, 6);
  assert_printed (s.variance[WS_STUDY_V_INTERACTION], 0.727984, 6);
  assert_printed (s.variance[WS_STUDY_V_REPEATABILITY], 0.511111, 6);
  assert_printed (s.variance[WS_STUDY_GAUGE], 1.803704, 6);
  assert_printed (s.variance[WS_STUDY_V_TOTAL], 50.096296, 6);
}

/* Data set ss.data.rr of the R package SixSigma (Cano, Moguerza, Redchuk, Six Sigma with R,
 * Springer 2012, ch. 5), with the results of its tests; its F divide by the interaction. */
static const double six_sigma[] = {
  1.27, 0.90, 1.09, 1.34, 1.32, 1.27, 1.09, 1.26, 1.09, 1.12, 1.09, 1.15, 1.24, 1.00,
  1.14, 1.48, 1.15, 1.15, 1.73, 1.28, 1.77, 1.64, 1.65, 1.77, 1.64, 1.44, 1.68,
};

static void
test_six_sigma (void **state)
{
  WsStudy s;
  (void)state;
  assert_true (ws_study_crossed (six_sigma, 3, 3, 3, WS_STUDY_POOL, &s, NULL));
  assert_printed (s.anova[WS_STUDY_PART].ss, 1.2007, 4);
  assert_printed (s.anova[WS_STUDY_OPERATOR].ss, 0.0529, 4);
  assert_printed (s.anova[WS_STUDY_INTERACTION].ss, 0.0834, 4);
  assert_printed (s.anova[WS_STUDY_REPEATABILITY].ss, 0.3854, 4);
  assert_printed (s.anova[WS_STUDY_TOTAL].ss, 1.7225, 4);
  assert_printed (s.anova[WS_STUDY_PART].f, 28.797, 3);
  assert_printed (s.anova[WS_STUDY_PART].p, 0.00422, 5);
  assert_printed (s.anova[WS_STUDY_OPERATOR].f, 1.270, 3);
  assert_printed (s.anova[WS_STUDY_OPERATOR].p, 0.37415, 5);
  assert_printed (s.anova[WS_STUDY_INTERACTION].f, 0.974, 3);
  assert_printed (s.anova[WS_STUDY_INTERACTION].p, 0.44619, 5);
  assert_true (s.pooled);
  assert_printed (s.variance[WS_STUDY_GAUGE], 0.0219, 4);
  assert_printed (s.variance[WS_STUDY_V_REPEATABILITY], 0.0213, 4);
  assert_printed (s.variance[WS_STUDY_REPRODUCIBILITY], 0.0006, 4);
  assert_printed (s.variance[WS_STUDY_V_PART], 0.0643, 4);
  assert_printed (s.variance[WS_STUDY_V_TOTAL], 0.0862, 4);
  assert_printed (sqrt (s.variance[WS_STUDY_GAUGE]), 0.14792656, 8);
  assert_printed (sqrt (s.variance[WS_STUDY_V_REPEATABILITY]), 0.14597518, 8);
  assert_printed (sqrt (s.variance[WS_STUDY_REPRODUCIBILITY]), 0.02394813, 8);
  assert_printed (sqrt (s.variance[WS_STUDY_V_PART]), 0.25365123, 8);
  assert_printed (sqrt (s.variance[WS_STUDY_V_TOTAL]), 0.29363449, 8);
  assert_printed (s.percent_contribution[WS_STUDY_GAUGE], 25.38, 2);
  assert_printed (s.percent_contribution[WS_STUDY_V_REPEATABILITY], 24.71, 2);
  assert_printed (s.percent_contribution[WS_STUDY_REPRODUCIBILITY], 0.67, 2);
  assert_printed (s.percent_contribution[WS_STUDY_V_PART], 74.62, 2);
  assert_printed (s.percent_study[WS_STUDY_GAUGE], 50.38, 2);
  assert_printed (s.percent_study[WS_STUDY_V_REPEATABILITY], 49.71, 2);
  assert_printed (s.percent_study[WS_STUDY_REPRODUCIBILITY], 8.16, 2);
  assert_printed (s.percent_study[WS_STUDY_V_PART], 86.38, 2);
  assert_int_equal (s.categories, 2);
}

static void
test_what_cannot_be_studied (void **state)
{
  WsStudy s;
  (void)state;
  g_autoptr (GError) error = NULL;
  assert_false (ws_study_crossed (aiag, 1, 3, 3, WS_STUDY_POOL, &s, &error));
  assert_true (g_error_matches (error, WS_ERROR, WS_ERROR_DATA));
  const double holes[8] = { 1, 2, 3, NAN, 5, 6, 7, 8 };
  assert_false (ws_study_crossed (holes, 2, 2, 2, WS_STUDY_POOL, &s, NULL));
}

/* All the same: no spread to divide. */
static void
test_no_spread (void **state)
{
  WsStudy s;
  (void)state;
  const double same[8] = { 1, 1, 1, 1, 1, 1, 1, 1 };
  assert_true (ws_study_crossed (same, 2, 2, 2, WS_STUDY_POOL, &s, NULL));
  assert_near (s.variance[WS_STUDY_V_TOTAL], 0.0, 0.0);
  assert_near (s.percent_study[WS_STUDY_GAUGE], 0.0, 0.0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_aiag),      cmocka_unit_test (test_houf_berman),
    cmocka_unit_test (test_six_sigma), cmocka_unit_test (test_what_cannot_be_studied),
    cmocka_unit_test (test_no_spread),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
