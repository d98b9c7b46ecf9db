/*
 * A study made by hand, whose standard deviations are round: what is reported of it, whole.
 */
#include <whetsight/study.h>

#include "base/testing.h"

static const WsStudy study = {
  .parts = 3,
  .operators = 2,
  .trials = 4,
  .mean = 10.5,
  .anova = { { 12.5, 2, 6.25, 25, 0.0385 },
             { 0.5, 1, 0.5, 2, 0.293 },
             { 0.75, 3, 0.25, 4, 0.0786 },
             { 0.375, 6, 0.0625, NAN, NAN },
             { 14.125, 11, NAN, NAN, NAN } },
  .pooled_ms = 0.125,
  .pooled_df = 9,
  .pooled_f = { 50, 4 },
  .pooled_p = { 0.0000125, 0.0765 },
  .variance = { 0.25, 0.0625, 0.16, 0.09, 0.0025, 4, 6.25 },
  .percent_contribution = { 4, 1, 2.56, 1.44, 0.04, 64, 100 },
  .percent_study = { 20, 10, 16, 12, 2, 80, 100 },
  .categories = 5,
};

static const char whole[] =
  "This gauge is fit with care only for a tolerance of 12: its own scatter, six\n"
  "standard deviations, is 3.0 and takes 25.0 % of it. Up to 10 % is fit, beyond\n"
  "30 % isn't.\n"
  "Most of it lies between operators: agree first on how a part is placed and lit.\n"
  "It tells 5 classes of these parts apart.\n"
  "\n"
  "Studied: 3 parts, each by 2 operators, 4 times each.\n"
  "\n"
  "Scatter of                       sd       6 sd % of toler.    % of sd  % of sd²\n"
  "repeatability                  0.25        1.5       12.50      10.00       1.00\n"
  "operators                       0.3        1.8       15.00      12.00       1.44\n"
  "operators by part              0.05        0.3        2.50       2.00       0.04\n"
  "  both: reproducibility         0.4        2.4       20.00      16.00       2.56\n"
  "  all of these: gauge           0.5          3       25.00      20.00       4.00\n"
  "parts                             2         12      100.00      80.00      64.00\n"
  "  gauge and parts               2.5         15      125.00     100.00     100.00\n"
  "What adds up is sd², not sd. What comes out below 0 is set to 0.\n"
  "\n"
  "By chance?                        p          F  mean square       df   sum of sq.\n"
  "operators by part            0.0786          4         0.25        3         0.75\n"
  "operators                     0.293          2          0.5        1          0.5\n"
  "parts                        0.0385         25         6.25        2         12.5\n"
  "repeatability                                        0.0625        6        0.375\n"
  "everything                                                        11       14.125\n"
  "\n"
  "Operators by part count as repeatability where their p is above 0.25; it isn't.\n";

static const char when_pooled[] =
  "Scatter of                       sd       6 sd    % of sd  % of sd²\n"
  "repeatability                  0.25        1.5      10.00       1.00\n"
  "operators                       0.3        1.8      12.00       1.44\n"
  "operators by part              0.05        0.3       2.00       0.04\n"
  "  both: reproducibility         0.4        2.4      16.00       2.56\n"
  "  all of these: gauge           0.5          3      20.00       4.00\n"
  "parts                             2         12      80.00      64.00\n"
  "  gauge and parts               2.5         15     100.00     100.00\n"
  "What adds up is sd², not sd. What comes out below 0 is set to 0.\n"
  "\n"
  "By chance?                        p          F  mean square       df   sum of sq.\n"
  "operators by part            0.0786          4         0.25        3         0.75\n"
  "operators                     0.293          2          0.5        1          0.5\n"
  "parts                        0.0385         25         6.25        2         12.5\n"
  "repeatability                                        0.0625        6        0.375\n"
  "everything                                                        11       14.125\n"
  "\n"
  "Operators by part count as repeatability where their p is above 0.25; it is.\n"
  "\n"
  "By chance, then?                  p          F  mean square       df   sum of sq.\n"
  "operators                    0.0765          4          0.5        1          0.5\n"
  "parts                      1.25e-05         50         6.25        2         12.5\n"
  "repeatability                                         0.125        9        1.125\n";

static const char whole_json[] =
  "{\"study\": \"crossed\", \"parts\": 3, \"operators\": 2, \"trials\": 4, "
  "\"mean\": 10.5, \"anova\": {\"part\": {\"ss\": 12.5, \"df\": 2, \"ms\": 6.25, "
  "\"f\": 25.0, \"p\": 0.0385}, \"operator\": {\"ss\": 0.5, \"df\": 1, \"ms\": 0.5, "
  "\"f\": 2.0, \"p\": 0.293}, \"interaction\": {\"ss\": 0.75, \"df\": 3, "
  "\"ms\": 0.25, \"f\": 4.0, \"p\": 0.0786}, \"repeatability\": {\"ss\": 0.375, "
  "\"df\": 6, \"ms\": 0.0625, \"f\": null, \"p\": null}, \"total\": {\"ss\": 14.125, "
  "\"df\": 11, \"ms\": null, \"f\": null, \"p\": null}}, \"pool\": 0.25, "
  "\"pooled\": false, \"pooled_ms\": null, "
  "\"components\": {\"gauge\": {\"variance\": 0.25, \"sd\": 0.5, "
  "\"percent_contribution\": 4.0, \"percent_study\": 20.0, "
  "\"percent_tolerance\": 25.0}, \"repeatability\": {\"variance\": 0.0625, "
  "\"sd\": 0.25, \"percent_contribution\": 1.0, \"percent_study\": 10.0, "
  "\"percent_tolerance\": 12.5}, \"reproducibility\": {\"variance\": 0.16, "
  "\"sd\": 0.4, \"percent_contribution\": 2.56, \"percent_study\": 16.0, "
  "\"percent_tolerance\": 20.0}, \"operator\": {\"variance\": 0.09, \"sd\": 0.3, "
  "\"percent_contribution\": 1.44, \"percent_study\": 12.0, "
  "\"percent_tolerance\": 15.0}, \"interaction\": {\"variance\": 0.0025, "
  "\"sd\": 0.05, \"percent_contribution\": 0.04, \"percent_study\": 2.0, "
  "\"percent_tolerance\": 2.5}, \"part\": {\"variance\": 4.0, \"sd\": 2.0, "
  "\"percent_contribution\": 64.0, \"percent_study\": 80.0, "
  "\"percent_tolerance\": 100.0}, \"total\": {\"variance\": 6.25, \"sd\": 2.5, "
  "\"percent_contribution\": 100.0, \"percent_study\": 100.0, "
  "\"percent_tolerance\": 125.0}}, \"categories\": 5}";

static void
test_text (void **state)
{
  (void)state;
  g_autofree char *text = ws_study_text (&study, 0.25, 12);
  assert_string_equal (text, whole);
}

/* By the pooled mean square; without a tolerance there is no column for it. */
static void
test_text_of_a_pooled_study (void **state)
{
  (void)state;
  WsStudy pooled = study;
  pooled.pooled = TRUE;
  g_autofree char *text = ws_study_text (&pooled, 0.25, 0);
  assert_true (
    g_str_has_prefix (text, "Whether this gauge is fit depends on the tolerance: give "));
  assert_contains (text, "is 3.0, and its standard\ndeviation 20.0 % of that of all values.\n");
  assert_true (g_str_has_suffix (text, when_pooled));
  assert_lacks (text, "toler.");
}

/* Fit up to 10 % of the tolerance, with care up to 30 %. */
static void
test_the_answer_comes_first (void **state)
{
  (void)state;
  static const struct
  {
    double tolerance;
    const char *answer;
  } all[] = {
    { 30, "This gauge is fit for a tolerance of 30: " },
    { 29.9, "This gauge is fit with care only for a tolerance of 29.9: " },
    { 10, "This gauge is fit with care only for a tolerance of 10: " },
    { 9.99, "This gauge is not fit for a tolerance of 9.99: " },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (all); i++)
  {
    g_autofree char *text = ws_study_text (&study, 0.25, all[i].tolerance);
    assert_true (g_str_has_prefix (text, all[i].answer));
  }
}

/* What to see to first, and what it can tell apart. */
static void
test_remarks (void **state)
{
  (void)state;
  WsStudy other = study;
  other.variance[WS_STUDY_V_REPEATABILITY] = 0.16;
  other.categories = 4;
  g_autofree char *text = ws_study_text (&other, 0.25, 12);
  assert_contains (text, "\nMost of it comes back when nothing is changed: ");
  assert_contains (text, "\nIt tells 4 classes of these parts apart; to see a process move takes "
                         "5.\n");
}

static void
test_json (void **state)
{
  (void)state;
  g_autofree char *line = ws_study_json (&study, 0.25, 12);
  assert_string_equal (line, whole_json);
  WsStudy pooled = study;
  pooled.pooled = TRUE;
  g_autofree char *other = ws_study_json (&pooled, 0.5, 0);
  assert_contains (other, "\"pool\": 0.5, \"pooled\": true, \"pooled_ms\": 0.125, ");
  assert_contains (other, "\"percent_study\": 20.0, \"percent_tolerance\": null}");
}

/* Values that repeat exactly prove nothing, least of all that the gauge is fit. */
static void
test_no_scatter (void **state)
{
  (void)state;
  WsStudy same = study;
  same.variance[WS_STUDY_V_REPEATABILITY] = 0.0;
  g_autofree char *text = ws_study_text (&same, WS_STUDY_POOL, 12.0);
  assert_true (g_str_has_prefix (text, "Nothing can be said of this gauge"));
  assert_lacks (text, "is fit");
  assert_lacks (text, "apart");
}

static void
test_one_class (void **state)
{
  (void)state;
  WsStudy one = study;
  one.categories = 1;
  g_autofree char *text = ws_study_text (&one, WS_STUDY_POOL, 12.0);
  assert_contains (text, "It can't tell these parts from one another; to see");
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_text),
    cmocka_unit_test (test_text_of_a_pooled_study),
    cmocka_unit_test (test_the_answer_comes_first),
    cmocka_unit_test (test_remarks),
    cmocka_unit_test (test_no_scatter),
    cmocka_unit_test (test_one_class),
    cmocka_unit_test (test_json),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
