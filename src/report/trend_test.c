#include "base/testing.h"

#include <whetsight/trend.h>

#define N 24

static WsTrendPoint points[N];

static WsTrend
trend_of (const double *values, gsize n)
{
  WsTrend trend = { .title = "diameter_mm of QT-D-0118", .unit = "mm", .points = points, .n = n };
  for (gsize i = 0; i < n; i++)
    points[i] = (WsTrendPoint){ "2026-11-25T10:15:02Z", values[i], 0.05, -INFINITY, 60.0, i == 4 };
  ws_trend_find_limits (&trend);
  return trend;
}

/* NIST/SEMATECH e-Handbook, 6.3.2.2, flow rates of ten batches, recalled from memory: mean 50.81,
 * mean moving range 1.8778, limits 55.8041 and 45.8159 by 3 / 1.128 in place of 2.66. */
static void
test_published_limits (void **state)
{
  static const double flow[] = { 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1 };
  (void)state;
  const WsTrend trend = trend_of (flow, G_N_ELEMENTS (flow));
  assert_true (trend.has_limits);
  assert_near (trend.mean, 50.81, 1e-9);
  assert_near (trend.mean_range, 1.8778, 5e-5);
  assert_near (trend.upper, 55.8041, 1e-3);
  assert_near (trend.lower, 45.8159, 1e-3);
  assert_near (trend.upper - trend.mean, 2.66 * trend.mean_range, 1e-12);
  assert_near (trend.mean - trend.lower, 2.66 * trend.mean_range, 1e-12);
  assert_near (trend.range_upper, 3.267 * trend.mean_range, 1e-12);
}

static void
test_signals (void **state)
{
  double values[N];
  (void)state;
  for (gsize i = 0; i < N; i++)
    values[i] = 10.0 + (i % 2 == 0 ? 0.01 : -0.01);
  WsTrend calm = trend_of (values, N);
  for (gsize i = 0; i < N; i++)
    assert_null (ws_trend_signal (&calm, i));
  values[N - 1] = 10.5;
  WsTrend jump = trend_of (values, N);
  assert_string_equal (ws_trend_signal (&jump, N - 1), "outside the control limits");
  for (gsize i = 0; i < N; i++)
    values[i] = 10.0 + (i % 2 == 0 ? 0.05 : -0.05) + (i >= N - 8 ? 0.10 : 0.0);
  WsTrend shift = trend_of (values, N);
  assert_contains (ws_trend_signal (&shift, N - 1), "above the mean");
}

static void
test_words (void **state)
{
  static const double values[] = { 1.0, 2.0, 3.0, 2.5, 1.5, 2.0 };
  (void)state;
  const WsTrend trend = trend_of (values, G_N_ELEMENTS (values));
  g_autofree char *text = ws_trend_text (&trend);
  assert_contains (text, "6 values");
  assert_contains (text, "▁▅█▇▃▅");
  assert_contains (text, "    ^  (^ reground)");
  assert_contains (text, "last 2.000 ± 0.050 mm");
  const WsTrend none = trend_of (values, 0);
  g_autofree char *empty = ws_trend_text (&none);
  assert_contains (empty, "0 values");
  const WsTrend one = trend_of (values, 1);
  g_autofree char *single = ws_trend_text (&one);
  assert_contains (single, "need 3 values");
}

static void
test_charts (void **state)
{
  static const double values[] = { 1.0, 2.0, 3.0, 2.5, 1.5, 2.0 };
  (void)state;
  for (gsize n = 0; n <= G_N_ELEMENTS (values); n++)
  {
    const WsTrend trend = trend_of (values, n);
    g_autoptr (GBytes) png = ws_trend_chart (&trend, WS_TREND_PNG, NULL);
    g_autoptr (GBytes) svg = ws_trend_chart (&trend, WS_TREND_SVG, NULL);
    assert_non_null (png);
    assert_memory_equal (g_bytes_get_data (png, NULL), "\x89PNG", 4);
    g_autofree char *text = g_strndup (g_bytes_get_data (svg, NULL), g_bytes_get_size (svg));
    assert_contains (text, "<svg");
    assert_contains (text, "</svg>");
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_published_limits),
    cmocka_unit_test (test_signals),
    cmocka_unit_test (test_words),
    cmocka_unit_test (test_charts),
  };
  return cmocka_run_group_tests (tests, NULL, NULL);
}
