#include "base/testing.h"

#include "maths/gauges.h"

#define MOST_WEEKS 64

/* ---- Published ------------------------------------------------------------------------------ */

/* Two-sided 95 % of Student's t (JCGM 100:2008, table G.2). */
static void
t_is_that_of_the_table (void **state)
{
  (void)state;
  assert_near (wsi_t_factor (0.95, 1), 12.71, 0.005);
  assert_near (wsi_t_factor (0.95, 2), 4.30, 0.005);
  assert_near (wsi_t_factor (0.95, 5), 2.57, 0.005);
  assert_near (wsi_t_factor (0.95, 10), 2.23, 0.005);
  assert_near (wsi_t_factor (0.95, 50), 2.01, 0.005);
  assert_near (wsi_t_factor (0.9545, 10), 2.28, 0.005);
  assert_near (wsi_t_factor (0.95, 1e9), 1.960, 0.0005);
}

/* NIST's description of ISO 13528 E_n scores (Dataplot reference manual, read) prints scores of the
 * first batch of its gear diameters: U of a value is twice the batch's standard deviation, that of
 * the reference 1 twice all values'.  The ten diameters of the batch, and 0.00628 of all hundred,
 * are those of the e-Handbook (recalled from memory). */
static void
en_is_that_published (void **state)
{
  static const double batch[] = { 1.006, 0.996, 0.998, 1.000, 0.992,
                                  0.993, 1.002, 0.999, 0.994, 1.000 };
  double mean = 0, squares = 0;
  (void)state;
  for (guint i = 0; i < 10; i++)
    mean += batch[i] / 10;
  for (guint i = 0; i < 10; i++)
    squares += (batch[i] - mean) * (batch[i] - mean);
  const double U = 2 * sqrt (squares / 9), U_reference = 2 * 0.00628;
  assert_near (wsi_gauges_en (1.006, U, 1, U_reference), 0.393, 0.0006);
  assert_near (wsi_gauges_en (0.996, U, 1, U_reference), -0.262, 0.0006);
  assert_near (wsi_gauges_en (0.998, U, 1, U_reference), -0.131, 0.0006);
  assert_near (wsi_gauges_en (1.000, U, 1, U_reference), 0.000, 0.0006);
}

/* ---- By hand -------------------------------------------------------------------------------- */

/* Two readings a week count once: means 10, 12, 14; s = 2; U = t sqrt (4/3 + 1). */
static void
weeks_count_once (void **state)
{
  const WsGaugeReading readings[] = {
    { 15, 14, 2, 1 }, { 0, 9, 2, 1 }, { 6, 11, 2, 1 }, { 7, 12, 2, 1 }
  };
  WsGauge gauge = { .name = "A", .readings = readings, .n = 4 };
  WsGauges all = { .reference = 11, .U_reference = 0.5, .gauges = &gauge, .n = 1 };
  (void)state;
  assert_true (wsi_gauges_compare (&all));
  const double sum = 4.0 / 3 + 1, freedom = 2 * sum * sum / (16.0 / 9);
  assert_int_equal (gauge.weeks, 3);
  assert_near (gauge.mean, 12, 1e-12);
  assert_near (gauge.spread, 2, 1e-12);
  assert_near (gauge.U, wsi_t_factor (0.95, freedom) * sqrt (sum), 1e-9);
  assert_near (gauge.bias, 1, 1e-12);
  assert_near (gauge.en, 1 / hypot (gauge.U, 0.5), 1e-9);
  assert_near (gauge.span_days, 12, 1e-12);
  assert_true (isnan (gauge.moved) && !wsi_gauge_drifts (&gauge)); /* three weeks are too few */
  assert_false (all.by_mean);
}

/* One week says nothing of the scatter: U is the reading's own. */
static void
one_week_keeps_its_own_U (void **state)
{
  const WsGaugeReading readings[] = { { 1, 5, 0.3, 0.1 }, { 2, 5, 0.3, 0.1 } };
  WsGauge gauges[] = { { .name = "A", .readings = readings, .n = 2 }, { .name = "B" } };
  WsGauges all = { .reference = NAN, .U_reference = NAN, .gauges = gauges, .n = 2 };
  (void)state;
  assert_false (wsi_gauges_compare (&all)); /* no second, no reference */
  assert_near (gauges[0].U, 1.96 * 0.3, 0.0001);
  assert_true (isnan (gauges[0].spread) && isnan (gauges[0].en) && isnan (gauges[0].span_days));
  assert_true (isnan (gauges[1].mean) && isnan (gauges[1].U));
}

/* Of 10 ± 1 and 13 ± 2 the weighted mean is 10.6 ± sqrt (0.8); each one's E_n by it is that of the
 * two against each other, 3 / sqrt (5). */
static void
two_by_their_mean_are_a_pair (void **state)
{
  const double k = 1.959963984540054;
  const WsGaugeReading a = { 1, 10, 1 / k, 0 }, b = { 1, 13, 2 / k, 0 };
  WsGauge gauges[] = { { .name = "A", .readings = &a, .n = 1 },
                       { .name = "B", .readings = &b, .n = 1 } };
  WsGauges all = { .reference = NAN, .U_reference = NAN, .gauges = gauges, .n = 2 };
  (void)state;
  assert_true (wsi_gauges_compare (&all));
  assert_true (all.by_mean);
  assert_near (all.reference, 10.6, 1e-9);
  assert_near (all.U_reference, sqrt (0.8), 1e-9);
  assert_near (gauges[0].en, -3 / sqrt (5), 1e-9);
  assert_near (gauges[1].en, 3 / sqrt (5), 1e-9);
  assert_near (all.chi_square, k * k * 9 / 5, 1e-6);
  assert_near (all.chi_limit, 3.841, 0.001);
  assert_true (wsi_gauge_is_apart (&gauges[1]));
}

/* ---- Simulated benches with known bias ------------------------------------------------------- */

/* Normal by twelve uniform ones would have no tails: by Box and Muller. */
static double
draw (GRand *rand, double sigma)
{
  const double u = 1 - g_rand_double (rand), v = g_rand_double (rand);
  return sigma * sqrt (-2 * log (u)) * cos (2 * G_PI * v);
}

/* A bench with a lasting error of its own and scatter from week to week. */
static void
simulate (GRand *rand, guint weeks, double truth, double lasting, double scatter, double drift,
          WsGaugeReading *readings)
{
  const double own = draw (rand, lasting);
  for (guint i = 0; i < weeks; i++)
    readings[i] = (WsGaugeReading){ 7.0 * i + g_rand_double_range (rand, 0, 5),
                                    truth + own + draw (rand, scatter) + drift * i,
                                    hypot (lasting, scatter), lasting };
}

/* How often U covers the truth, and E_n by the reference is beyond 1 with benches that are right;
 * how often benches that stand still are said to drift. */
static void
cover (guint weeks, double lasting, double scatter, double *covered, double *alarms,
       double *drifting)
{
  enum
  {
    TRIALS = 4000
  };
  WsGaugeReading readings[MOST_WEEKS];
  GRand *rand = g_rand_new_with_seed (20261129 + weeks);
  *covered = *alarms = *drifting = 0;
  for (guint i = 0; i < TRIALS; i++)
  {
    simulate (rand, weeks, 118, lasting, scatter, 0, readings);
    WsGauge gauge = { .name = "A", .readings = readings, .n = weeks };
    WsGauges all = {
      .reference = 118 + draw (rand, 0.01 / 1.96), .U_reference = 0.01, .gauges = &gauge, .n = 1
    };
    assert_true (wsi_gauges_compare (&all));
    *covered += fabs (gauge.mean - 118) <= gauge.U ? 1.0 / TRIALS : 0;
    *alarms += wsi_gauge_is_apart (&gauge) ? 1.0 / TRIALS : 0;
    *drifting += wsi_gauge_drifts (&gauge) ? 1.0 / TRIALS : 0;
  }
  g_rand_free (rand);
}

static void
U_covers_the_truth (void **state)
{
  static const struct
  {
    guint weeks;
    double lasting, scatter;
  } cases[] = { { 1, 0.01, 0.02 }, { 2, 0.01, 0.02 },  { 3, 0.01, 0.02 },  { 5, 0, 0.02 },
                { 5, 0.02, 0.01 }, { 12, 0.01, 0.02 }, { 26, 0.02, 0.02 }, { 52, 0.005, 0.02 } };
  (void)state;
  for (guint i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    double covered, alarms, drifting;
    cover (cases[i].weeks, cases[i].lasting, cases[i].scatter, &covered, &alarms, &drifting);
    print_message ("%2u weeks, lasting %.3f, scatter %.3f: U covers %.1f %%, |E_n| > 1 %.1f %%, "
                   "drifts %.1f %%\n",
                   cases[i].weeks, cases[i].lasting, cases[i].scatter, 100 * covered, 100 * alarms,
                   100 * drifting);
    assert_in_range ((int)(1000 * covered), 930, 1000);
    assert_in_range ((int)(1000 * alarms), 0, 65);
    assert_in_range ((int)(1000 * drifting), 0, 62);
    if (cases[i].weeks >= WS_GAUGES_LEAST_DRIFT)
      assert_in_range ((int)(1000 * drifting), 38, 62);
  }
}

/* Of benches by their own mean: false alarms of right ones, and whether the one that is off by
 * three times its U is found. */
static void
one_of_ten_stands_apart (void **state)
{
  enum
  {
    BENCHES = 10,
    WEEKS = 12,
    TRIALS = 500,
    OF_EACH = TRIALS / 2 /* one in two has a bench that is off */
  };
  guint found = 0, alarms = 0, inconsistent = 0;
  GRand *rand = g_rand_new_with_seed (7);
  (void)state;
  for (guint trial = 0; trial < TRIALS; trial++)
  {
    static WsGaugeReading readings[BENCHES][WEEKS];
    WsGauge gauges[BENCHES] = { { 0 } };
    const gboolean one_is_off = trial % 2 == 1;
    for (guint i = 0; i < BENCHES; i++)
    {
      simulate (rand, WEEKS, i == 3 && one_is_off ? 118.08 : 118, 0.01, 0.02, 0, readings[i]);
      gauges[i] = (WsGauge){ .name = "A", .readings = readings[i], .n = WEEKS };
    }
    WsGauges all = { .reference = NAN, .U_reference = NAN, .gauges = gauges, .n = BENCHES };
    assert_true (wsi_gauges_compare (&all));
    for (guint i = 0; i < BENCHES && !one_is_off; i++)
      alarms += wsi_gauge_is_apart (&gauges[i]) ? 1 : 0;
    inconsistent += one_is_off && all.chi_square > all.chi_limit ? 1 : 0;
    found += one_is_off && wsi_gauge_is_apart (&gauges[3]) && gauges[3].bias > 0 ? 1 : 0;
  }
  g_rand_free (rand);
  print_message ("of benches that are right %.1f %% alarm; one off by 0.08 is found %.1f %%, the "
                 "mean is doubted %.1f %%\n",
                 100.0 * alarms / (BENCHES * OF_EACH), 100.0 * found / OF_EACH,
                 100.0 * inconsistent / OF_EACH);
  assert_in_range (alarms, 60, 180); /* of 2500: 2.4 to 7.2 % */
  assert_true (found >= 248);
  assert_true (inconsistent >= 248);
}

/* 0.01 a week with scatter of 0.02: after 12 weeks it has moved 0.11, with U about 0.036. */
static void
a_drift_is_found (void **state)
{
  WsGaugeReading readings[12];
  guint found = 0, covered = 0;
  GRand *rand = g_rand_new_with_seed (11);
  (void)state;
  for (guint trial = 0; trial < 1000; trial++)
  {
    simulate (rand, 12, 118, 0.01, 0.02, 0.01, readings);
    WsGauge gauge = { .name = "A", .readings = readings, .n = 12 };
    WsGauges all = { .reference = 118, .U_reference = 0, .gauges = &gauge, .n = 1 };
    wsi_gauges_compare (&all);
    found += wsi_gauge_drifts (&gauge) && gauge.moved > 0 ? 1 : 0;
    covered += fabs (gauge.moved - 0.01 * gauge.span_days / 7) <= gauge.U_moved ? 1 : 0;
  }
  g_rand_free (rand);
  print_message ("drifts found %.1f %%, U of the move covers %.1f %%\n", found / 10.0,
                 covered / 10.0);
  assert_true (found >= 980);
  assert_in_range (covered, 930, 970);
}

/* It moves by 0.01 a week without scatter: that matters once it is further than U. */
static void
a_small_move_matters_little (void **state)
{
  WsGaugeReading readings[12];
  (void)state;
  for (guint i = 0; i < 12; i++)
    readings[i] =
      (WsGaugeReading){ 7.0 * i, 118 + 0.01 * i + (i % 2 == 0 ? 0.001 : -0.001), 0.1, 0.1 };
  WsGauge gauge = { .name = "A", .readings = readings, .n = 12 };
  WsGauges all = { .reference = 118, .U_reference = 0.01, .gauges = &gauge, .n = 1 };
  wsi_gauges_compare (&all);
  assert_true (gauge.U > 0.19 && wsi_gauge_drifts (&gauge) && !wsi_gauge_drifts_far (&gauge));
  for (guint i = 0; i < 12; i++)
    readings[i].u_lasting = 0.01;
  wsi_gauges_compare (&all);
  assert_true (gauge.U < 0.05 && wsi_gauge_drifts_far (&gauge));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (t_is_that_of_the_table),
    cmocka_unit_test (en_is_that_published),
    cmocka_unit_test (weeks_count_once),
    cmocka_unit_test (one_week_keeps_its_own_U),
    cmocka_unit_test (two_by_their_mean_are_a_pair),
    cmocka_unit_test (U_covers_the_truth),
    cmocka_unit_test (a_small_move_matters_little),
    cmocka_unit_test (one_of_ten_stands_apart),
    cmocka_unit_test (a_drift_is_found),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
