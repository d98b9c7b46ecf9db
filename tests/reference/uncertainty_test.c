/*
 * The uncertainty engine against published numbers, each named where it stands.  "As quoted" is
 * read in texts that quote the original; "from memory" is recalled.
 */
#include "base/testing.h"

#include <whetsight/judge.h>

#include "result/uncertainty.h"

#define TRIALS 1000000
#define SEED 20261125

static WsInput
normal (double value, double u)
{
  return (WsInput){ value, u, (double)INFINITY, WS_DISTRIBUTION_NORMAL };
}

/* ---- JCGM 100 --------------------------------------------------------------------- */

/* H.1.2: l = ls + d - ls (dalpha theta + alpha_s dtheta), nm. */
static double
end_gauge (const double *x, gconstpointer data)
{
  (void)data;
  const double ls = x[0], d = x[1] + x[2] + x[3], dalpha = x[4], theta = x[5], alpha = x[6],
               dtheta = x[7];
  return ls + d - ls * (dalpha * theta + alpha * dtheta);
}

/* JCGM 100:2008, H.1, as quoted: 50.000838 mm, uc 32 nm (31.67), nu_eff 16 (16.7), t99 2.92, U99
 * 93 nm. */
static void
gum_h1_end_gauge (void **state)
{
  (void)state;
  const WsUncertain gauge = {
    .model = end_gauge,
    .n = 8,
    .inputs = { { 50.000623e6, 25, 18, WS_DISTRIBUTION_STUDENT },
                { 215, 5.8, 24, WS_DISTRIBUTION_STUDENT },
                { 0, 3.9, 5, WS_DISTRIBUTION_STUDENT },
                { 0, 6.7, 8, WS_DISTRIBUTION_STUDENT },
                { 0, 0.58e-6, 50, WS_DISTRIBUTION_RECTANGULAR },
                { -0.1, 0.41, (double)INFINITY, WS_DISTRIBUTION_NORMAL },
                { 11.5e-6, 1.2e-6, (double)INFINITY, WS_DISTRIBUTION_RECTANGULAR },
                { 0, 0.029, 2, WS_DISTRIBUTION_RECTANGULAR } },
  };
  WsFirstOrder result;
  assert_true (wsi_first_order (&gauge, &result));
  assert_near (result.value, 50.000838e6, 0.5);
  assert_near (result.u, 31.67, 0.05);
  assert_near (floor (result.dof), 16, 0);
  /* Pooled by hand from the comparator's three: 25.6 for d alone, so a little more than 16.7. */
  assert_near (result.dof, 16.7, 0.1);
  const double t99 = wsi_coverage_factor (0.99, result.dof);
  assert_near (t99, 2.92, 0.005);
  assert_near (t99 * result.u, 93, 0.7);
}

/* JCGM 100:2008, Table G.2, as quoted and from memory. */
static void
student_t (void **state)
{
  (void)state;
  static const struct
  {
    double p, dof, t;
  } table[] = {
    { 0.95, 16, 2.12 }, { 0.95, 16.7, 2.12 }, { 0.99, 16, 2.92 },     { 0.95, 1, 12.71 },
    { 0.95, 2, 4.30 },  { 0.95, 3, 3.18 },    { 0.95, 10, 2.23 },     { 0.99, 1, 63.66 },
    { 0.99, 5, 4.03 },  { 0.95, 50, 2.01 },   { 0.95, 1e300, 1.960 },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (table); i++)
    assert_near (wsi_coverage_factor (table[i].p, table[i].dof), table[i].t, 0.0051);
}

typedef struct
{
  double mean[3], u[3], correlation[9];
} Observed;

/* JCGM 100:2008, (3), (5) and (17). */
static Observed
observe (const double x[3][5])
{
  Observed seen = { .mean = { 0 } };
  double s[3][3] = { { 0 } };
  for (guint i = 0; i < 3; i++)
    for (guint k = 0; k < 5; k++)
      seen.mean[i] += x[i][k] / 5;
  for (guint i = 0; i < 3; i++)
    for (guint j = 0; j < 3; j++)
      for (guint k = 0; k < 5; k++)
        s[i][j] += (x[i][k] - seen.mean[i]) * (x[j][k] - seen.mean[j]) / (5 * 4);
  for (guint i = 0; i < 3; i++)
  {
    seen.u[i] = sqrt (s[i][i]);
    for (guint j = 0; j < 3; j++)
      seen.correlation[i * 3 + j] = s[i][j] / sqrt (s[i][i] * s[j][j]);
  }
  return seen;
}

/* V, I, phase. */
static double
resistance (const double *x, gconstpointer data)
{
  (void)data;
  return x[0] / x[1] * cos (x[2]);
}

static double
reactance (const double *x, gconstpointer data)
{
  (void)data;
  return x[0] / x[1] * sin (x[2]);
}

static double
impedance (const double *x, gconstpointer data)
{
  (void)data;
  return x[0] / x[1];
}

/* JCGM 100:2008, Table H.2. */
static const double h2[3][5] = {
  { 5.007, 4.994, 5.005, 4.990, 4.999 },
  { 19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3 },
  { 1.0456, 1.0438, 1.0468, 1.0428, 1.0433 },
};

static WsUncertain
h2_of (WsModel model, const Observed *seen)
{
  return (WsUncertain){ .model = model,
                        .n = 3,
                        .inputs = { normal (seen->mean[0], seen->u[0]),
                                    normal (seen->mean[1], seen->u[1]),
                                    normal (seen->mean[2], seen->u[2]) },
                        .correlation = seen->correlation };
}

/* JCGM 100:2008, H.2, as quoted: R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) ohm;
 * r(V,I) -0.36, r(V,phi) 0.86, r(I,phi) -0.65.  Without the correlations u(R) is 0.195 and u(X)
 * 0.201.  r(R,X) -0.588 and r(X,Z) 0.993 from memory. */
static void
gum_h2_impedance (void **state)
{
  (void)state;
  const Observed seen = observe (h2);
  assert_near (seen.correlation[1], -0.36, 0.006);
  assert_near (seen.correlation[2], 0.86, 0.006);
  assert_near (seen.correlation[5], -0.65, 0.006);
  WsUncertain R = h2_of (resistance, &seen), X = h2_of (reactance, &seen);
  const WsUncertain Z = h2_of (impedance, &seen);
  WsFirstOrder r, x, z;
  assert_true (wsi_first_order (&R, &r) && wsi_first_order (&X, &x) && wsi_first_order (&Z, &z));
  assert_near (r.value, 127.732, 0.001);
  assert_near (r.u, 0.071, 0.0006);
  assert_near (x.value, 219.847, 0.001);
  assert_near (x.u, 0.295, 0.0006);
  assert_near (z.value, 254.260, 0.001);
  assert_near (z.u, 0.236, 0.0006);
  assert_near (wsi_covariance (&R, &r, &x) / (r.u * x.u), -0.588, 0.002);
  assert_near (wsi_covariance (&X, &x, &z) / (x.u * z.u), 0.993, 0.001);
  assert_true (isnan (r.dof));
  R.correlation = X.correlation = NULL;
  assert_true (wsi_first_order (&R, &r) && wsi_first_order (&X, &x));
  assert_near (r.u, 0.1945, 0.0006);
  assert_near (x.u, 0.201, 0.0006);
}

/* Drawn with their correlations, the trials spread as the first order says. */
static void
gum_h2_by_monte_carlo (void **state)
{
  (void)state;
  const Observed seen = observe (h2);
  const WsUncertain R = h2_of (resistance, &seen);
  WsMonteCarlo result;
  assert_true (wsi_monte_carlo (&R, 200000, SEED, 0.95, &result));
  assert_near (result.value, 127.732, 0.001);
  assert_near (result.u, 0.071, 0.0006);
}

/* ---- JCGM 101 --------------------------------------------------------------------- */

static double
sum_of_four (const double *x, gconstpointer data)
{
  (void)data;
  return x[0] + x[1] + x[2] + x[3];
}

static WsUncertain
four_of (WsDistribution distribution)
{
  const WsInput input = { 0, 1, (double)INFINITY, distribution };
  return (WsUncertain){ .model = sum_of_four, .n = 4, .inputs = { input, input, input, input } };
}

/* JCGM 101:2008, 9.2.2 (Table 2) and 9.2.3 (Table 3), as quoted: u 2.0, [-3.92, 3.92] for normal
 * inputs, [-3.88, 3.88] for rectangular ones; the latter exactly sqrt (3) (4 - 2 x 0.6^(1/4)) =
 * 3.879407. */
static void
jcgm101_additive_model (void **state)
{
  (void)state;
  WsMonteCarlo result;
  WsFirstOrder first;
  const WsUncertain normals = four_of (WS_DISTRIBUTION_NORMAL);
  assert_true (wsi_first_order (&normals, &first));
  assert_near (first.u, 2, 1e-9);
  assert_true (wsi_monte_carlo (&normals, TRIALS, SEED, 0.95, &result));
  assert_near (result.value, 0, 0.01);
  assert_near (result.u, 2, 0.01);
  assert_near (result.low, -3.92, 0.02);
  assert_near (result.high, 3.92, 0.02);

  const WsUncertain rectangles = four_of (WS_DISTRIBUTION_RECTANGULAR);
  assert_true (wsi_monte_carlo (&rectangles, TRIALS, SEED, 0.95, &result));
  assert_near (result.u, 2, 0.01);
  assert_near (result.low, -3.879407, 0.02);
  assert_near (result.high, 3.879407, 0.02);
}

/* 9.4: loss of power for a reflection coefficient's parts. */
static double
mismatch (const double *x, gconstpointer data)
{
  (void)data;
  return x[0] * x[0] + x[1] * x[1];
}

/* JCGM 101:2008, 9.4.2, as quoted, in 1e-6: for x1 = 0 first order gives u 0, Monte
 * Carlo 50 about 50 with [0, 150] as the shortest interval; for 0.010 first order [-96, 296],
 * Monte Carlo [0, 367] (from memory); for 0.050 [1520, 3480] and a lower end of 1590. */
static void
jcgm101_comparison_loss (void **state)
{
  (void)state;
  static const struct
  {
    double x1, first_low, first_high, value, low, high;
  } cases[] = {
    { 0.000, 0, 0, 50, 0, 150 },
    { 0.010, -96, 296, 150, 0, 367 },
    { 0.050, 1520, 3480, 2550, 1590, NAN },
  };
  for (gsize i = 0; i < G_N_ELEMENTS (cases); i++)
  {
    const WsUncertain loss = { .model = mismatch,
                               .n = 2,
                               .inputs = { normal (cases[i].x1, 0.005), normal (0, 0.005) } };
    WsFirstOrder first;
    WsMonteCarlo result;
    assert_true (wsi_first_order (&loss, &first));
    assert_near (1e6 * (first.value - 1.96 * first.u), cases[i].first_low, 0.6);
    assert_near (1e6 * (first.value + 1.96 * first.u), cases[i].first_high, 0.6);
    assert_true (wsi_monte_carlo (&loss, TRIALS, SEED, 0.95, &result));
    assert_near (1e6 * result.value, cases[i].value, 1);
    assert_near (1e6 * result.shortest_low, cases[i].low, 12);
    if (!isnan (cases[i].high))
      assert_near (1e6 * result.shortest_high, cases[i].high, 2);
    if (i == 0)
      assert_near (1e6 * result.u, 50, 0.3);
  }
}

/* ---- JCGM 106 --------------------------------------------------------------------- */

/* Gamma density of shape 4 and rate 4: mean 1, standard deviation 1/2. */
static double
prior (double eta)
{
  return 256.0 / 6.0 * eta * eta * eta * exp (-4 * eta);
}

/* Share of all parts that lie beyond `limit` and yet are measured within `acceptance`. */
static double
consumers_risk (double limit, double acceptance, double u)
{
  const double step = 1e-4;
  double sum = 0;
  for (double eta = limit + 0.5 * step; eta < limit + 10; eta += step)
    sum += step * prior (eta) * ws_conformance_probability (eta, u, -INFINITY, acceptance);
  return sum;
}

/* JCGM 106:2012, 9.5.4, bearings, as quoted: limit 2 um, u 0.25 um; 4.2 % don't conform, 0.8 % of
 * all are accepted by mistake without a guard band, 0.1 % with acceptance at 1.67 um. */
static void
jcgm106_bearings (void **state)
{
  (void)state;
  assert_near (consumers_risk (2, 100, 0.25), 0.042380, 2e-6);
  assert_near (consumers_risk (2, 2, 0.25), 0.008019, 2e-6);
  assert_near (consumers_risk (2, 1.671829, 0.25), 0.001, 2e-6);
}

/* ---- The engine itself ------------------------------------------------------------ */

static void
trials_are_reproducible (void **state)
{
  (void)state;
  WsMonteCarlo a, b, c;
  const WsUncertain sum = four_of (WS_DISTRIBUTION_NORMAL);
  assert_true (wsi_monte_carlo (&sum, 1000, 1, 0.95, &a) &&
               wsi_monte_carlo (&sum, 1000, 1, 0.95, &b) &&
               wsi_monte_carlo (&sum, 1000, 2, 0.95, &c));
  assert_memory_equal (&a, &b, sizeof a);
  assert_true (fabs (a.value - c.value) > 0);
}

/* JCGM 101:2008, 6.4.9.2: the variance of t is nu / (nu - 2); a half normal's mean is u sqrt (2 /
 * pi). */
static void
other_distributions (void **state)
{
  (void)state;
  WsMonteCarlo result;
  WsUncertain sum = four_of (WS_DISTRIBUTION_STUDENT);
  for (guint i = 0; i < 4; i++)
    sum.inputs[i].dof = 10;
  assert_true (wsi_monte_carlo (&sum, 200000, SEED, 0.95, &result));
  assert_near (result.u, 2 * sqrt (10.0 / 8), 0.02);
  sum = four_of (WS_DISTRIBUTION_ONE_SIDED);
  assert_true (wsi_monte_carlo (&sum, 200000, SEED, 0.95, &result));
  assert_near (result.value, 4 * sqrt (2 / G_PI), 0.01);
}

static double
no_number (const double *x, gconstpointer data)
{
  (void)data;
  return log (x[0]);
}

static void
what_cannot_be_is_refused (void **state)
{
  (void)state;
  static const double impossible[] = { 1, 0.9, -0.9, 0.9, 1, 0.9, -0.9, 0.9, 1 };
  static const double possible[] = { 1, 0.5, 0.5, 1 };
  WsFirstOrder first;
  WsMonteCarlo result;
  const WsUncertain bad = { .model = no_number, .n = 1, .inputs = { normal (-1, 0.1) } };
  assert_false (wsi_first_order (&bad, &first));
  assert_false (wsi_monte_carlo (&bad, 100, 1, 0.95, &result));
  const WsUncertain three = { .model = sum_of_four,
                              .n = 3,
                              .inputs = { normal (0, 1), normal (0, 1), normal (0, 1) },
                              .correlation = impossible };
  assert_false (wsi_monte_carlo (&three, 100, 1, 0.95, &result));
  WsUncertain two = {
    .model = mismatch, .n = 2, .inputs = { normal (0, 1), normal (0, 1) }, .correlation = possible
  };
  assert_true (wsi_monte_carlo (&two, 100, 1, 0.95, &result));
  two.inputs[1].distribution = WS_DISTRIBUTION_RECTANGULAR;
  assert_false (wsi_monte_carlo (&two, 100, 1, 0.95, &result));
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (gum_h1_end_gauge),       cmocka_unit_test (student_t),
    cmocka_unit_test (gum_h2_impedance),       cmocka_unit_test (gum_h2_by_monte_carlo),
    cmocka_unit_test (jcgm101_additive_model), cmocka_unit_test (jcgm101_comparison_loss),
    cmocka_unit_test (jcgm106_bearings),       cmocka_unit_test (trials_are_reproducible),
    cmocka_unit_test (other_distributions),    cmocka_unit_test (what_cannot_be_is_refused),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
