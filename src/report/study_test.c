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
  "Gauge study, crossed: 3 parts x 2 operators x 4 trials\n"
  "\n"
  "Source                         SS    df           MS         F          p\n"
  "part                         12.5     2         6.25        25     0.0385\n"
  "operator                      0.5     1          0.5         2      0.293\n"
  "part x operator              0.75     3         0.25         4     0.0786\n"
  "repeatability               0.375     6       0.0625                     \n"
  "total                      14.125    11                                  \n"
  "\n"
  "Pooling rule: part x operator joins repeatability when its p is above 0.25. It is not;\n"
  "the interaction is kept.\n"
  "\n"
  "Component                variance           sd study (6 sd)  % contr.   % study  % toler.\n"
  "gauge (R&R)                  0.25     0.500000            3      4.00     20.00     25.00\n"
  "  repeatability            0.0625     0.250000          1.5      1.00     10.00     12.50\n"
  "  reproducibility            0.16     0.400000          2.4      2.56     16.00     20.00\n"
  "    operator                 0.09     0.300000          1.8      1.44     12.00     15.00\n"
  "    part x operator        0.0025     0.050000          0.3      0.04      2.00      2.50\n"
  "part to part                    4     2.000000           12     64.00     80.00    100.00\n"
  "total                        6.25     2.500000           15    100.00    100.00    125.00\n"
  "\n"
  "Distinct categories: 5 (1.41 x part / gauge, cut off)\n"
  "Variances that come out negative are set to 0.\n";

static const char when_pooled[] =
  "\n"
  "Pooling rule: part x operator joins repeatability when its p is above 0.25. It is:\n"
  "\n"
  "Source                         SS    df           MS         F          p\n"
  "part                         12.5     2         6.25        50   1.25e-05\n"
  "operator                      0.5     1          0.5         4     0.0765\n"
  "repeatability               1.125     9        0.125                     \n"
  "\n"
  "Component                variance           sd study (6 sd)  % contr.   % study\n"
  "gauge (R&R)                  0.25     0.500000            3      4.00     20.00\n"
  "  repeatability            0.0625     0.250000          1.5      1.00     10.00\n"
  "  reproducibility            0.16     0.400000          2.4      2.56     16.00\n"
  "    operator                 0.09     0.300000          1.8      1.44     12.00\n"
  "    part x operator        0.0025     0.050000          0.3      0.04      2.00\n"
  "part to part                    4     2.000000           12     64.00     80.00\n"
  "total                        6.25     2.500000           15    100.00    100.00\n";

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
  assert_contains (text, when_pooled);
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

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_text),
    cmocka_unit_test (test_text_of_a_pooled_study),
    cmocka_unit_test (test_json),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
