#include "base/testing.h"

#include <whetsight/image.h>
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
 * mean moving range 1.8778, limits 55.8041 and 45.8159 by 1.128, which is d2 rounded: 0.03 %. */
static void
test_published_limits (void **state)
{
  static const double flow[] = { 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1 };
  (void)state;
  const WsTrend trend = trend_of (flow, G_N_ELEMENTS (flow));
  assert_true (trend.has_limits);
  assert_near (trend.mean, 50.81, 1e-9);
  assert_near (trend.mean_range, 1.8778, 5e-5);
  assert_near (trend.upper, 55.8041, 2e-3);
  assert_near (trend.lower, 45.8159, 2e-3);
  assert_near (trend.range_upper, 3.267 * trend.mean_range, 1e-3);
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
  g_autofree char *text = ws_trend_text (&jump);
  assert_contains (text, " mm; SIGNAL: outside the control limits\n");
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

/* Moving ranges 1, 1, 0.5, 1 and 0.5: 0.8 in the mean; limits by 2.6587 and 3.2665 times that. */
static void
test_the_whole_text (void **state)
{
  static const double values[] = { 1.0, 2.0, 3.0, 2.5, 1.5, 2.0 };
  (void)state;
  const WsTrend trend = trend_of (values, G_N_ELEMENTS (values));
  points[5].time = "2026-11-26T08:00:00Z";
  g_autofree char *text = ws_trend_text (&trend);
  assert_string_equal (
    text,
    "diameter_mm of QT-D-0118: 6 values,\n2026-11-25 10:15:02 UTC to 2026-11-26 08:00:00 UTC\n"
    "▁▅█▇▃▅\n"
    "    ^  (^ reground)\n"
    "mean 2.000 mm; control limits -0.127 .. 4.127\n"
    "moving range 0.800 in the mean, 2.613 at most\n"
    "last 2.000 ± 0.050 mm\n");
}

static void
test_charts (void **state)
{
  static const double values[] = { 1.0, 2.0, 3.0, 2.5, 1.5, 2.0 };
  (void)state;
  for (gsize n = 0; n <= G_N_ELEMENTS (values); n++)
  {
    const WsTrend trend = trend_of (values, n);
    g_autoptr (GBytes) png = ws_trend_chart (&trend, WS_CHART_PNG, NULL);
    g_autoptr (GBytes) svg = ws_trend_chart (&trend, WS_CHART_SVG, NULL);
    assert_non_null (png);
    assert_memory_equal (g_bytes_get_data (png, NULL), "\x89PNG", 4);
    g_autofree char *text = g_strndup (g_bytes_get_data (svg, NULL), g_bytes_get_size (svg));
    assert_contains (text, "<svg");
    assert_contains (text, "</svg>");
  }
}

/* ---- What the chart shows ------------------------------------------------------------- */

typedef struct
{
  guint8 r, g, b;
} Colour;

static const Colour ink = { 28, 31, 36 }, blue = { 0, 114, 178 }, vermilion = { 213, 94, 0 };

/* The field of values: what lies left of the labels, above the ranges and below the words. */
#define FIELD_LEFT 112
#define FIELD_RIGHT 1088
#define FIELD_TOP 77
#define FIELD_BOTTOM 455

static WsImage *
chart_of (const WsTrend *trend)
{
  g_autoptr (GBytes) png = ws_trend_chart (trend, WS_CHART_PNG, NULL);
  gsize n;
  const guint8 *bytes = g_bytes_get_data (png, &n);
  WsImage *image = ws_image_decode (bytes, n, "chart", NULL, WS_IMAGE_COLOUR, NULL);
  assert_non_null (image);
  return image;
}

static gboolean
shows (const WsImage *image, guint x, guint y, Colour colour)
{
  const guint8 *p = image->rgb + 3 * ((gsize)y * image->width + x);
  return abs (p[0] - colour.r) < 12 && abs (p[1] - colour.g) < 12 && abs (p[2] - colour.b) < 12;
}

/* Mean height of what has the colour in some columns of the field, px from the top; `n` px. */
static double
height_of (const WsImage *image, guint from, guint to, Colour colour, guint *n)
{
  double sum = 0.0;
  *n = 0;
  for (guint y = FIELD_TOP; y < FIELD_BOTTOM; y++)
    for (guint x = from; x < to; x++)
      if (shows (image, x, y, colour))
      {
        sum += y;
        (*n)++;
      }
  return sum / MAX (*n, 1);
}

/* Pixels of the colour in a row, from the left to the right of the field. */
static guint
count_in_row (const WsImage *image, guint y, Colour colour)
{
  guint n = 0;
  for (guint x = FIELD_LEFT; x < FIELD_RIGHT; x++)
    n += shows (image, x, y, colour) ? 1 : 0;
  return n;
}

/* A greater value is drawn higher, by as much as it is greater, later ones to the right. */
static void
test_greater_is_higher (void **state)
{
  static const double values[] = { 1.0, 2.0, 4.0, 3.0 };
  double y[G_N_ELEMENTS (values)];
  (void)state;
  WsTrend trend = trend_of (values, G_N_ELEMENTS (values));
  for (gsize i = 0; i < trend.n; i++)
    points[i].upper = INFINITY, points[i].reground = FALSE;
  trend.has_limits = FALSE;
  g_autoptr (WsImage) image = chart_of (&trend);
  for (guint i = 0; i < trend.n; i++)
  {
    /* The mean's line crosses every column: it is a small part of what is ink there. */
    const guint middle = 110 + (guint)(980 * (i + 0.5) / 4);
    guint n;
    double sum = 0.0;
    n = 0;
    for (guint row = FIELD_TOP; row < FIELD_BOTTOM; row++)
      for (guint x = middle - 4; x < middle + 4; x++)
        if (shows (image, x, row, ink) && !shows (image, x + 40, row, ink))
        {
          sum += row;
          n++;
        }
    assert_true (n > 30);
    y[i] = sum / n;
  }
  assert_true (y[2] < y[3] && y[3] < y[1] && y[1] < y[0]);
  const double px = y[0] - y[1];
  assert_near (y[1] - y[2], 2.0 * px, 2.0);
  assert_near (y[1] - y[3], px, 2.0);
}

/* Limits by their colours: the tool's solid and red, control limits dashed and blue, in the order
 * of their values, at their place among the values. */
static void
test_limits_lie_where_they_belong (void **state)
{
  static const double values[] = { 50.0, 50.4, 49.8, 50.2, 49.9, 50.3 };
  (void)state;
  const WsTrend trend = trend_of (values, G_N_ELEMENTS (values));
  g_autoptr (WsImage) image = chart_of (&trend);
  assert_true (trend.has_limits && trend.upper < 60.0);
  double tolerance = 0, upper = 0, lower = 0;
  for (guint y = FIELD_TOP; y < FIELD_BOTTOM; y++)
  {
    if (count_in_row (image, y, vermilion) > 900)
      tolerance = y;
    if (count_in_row (image, y, blue) > 300)
    {
      upper = upper > 0 ? upper : y;
      lower = y;
    }
  }
  guint n;
  const double mean = height_of (image, FIELD_LEFT, FIELD_LEFT + 20, ink, &n);
  assert_true (n >= 20);
  assert_true (tolerance > 0 && tolerance < upper && upper < mean && mean < lower);
  const double scale = (lower - upper) / (trend.upper - trend.lower);
  /* The field has 380 px for what is there, 49.75 to 60, and room of 8 % at either end. */
  assert_near (scale, 380 / (1.16 * (60 - fmin (trend.lower, 49.75))), 0.3);
  assert_near (mean - upper, scale * (trend.upper - trend.mean), 2.0);
  assert_near (upper - tolerance, scale * (60.0 - trend.upper), 3.0);
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (test_published_limits),
    cmocka_unit_test (test_signals),
    cmocka_unit_test (test_words),
    cmocka_unit_test (test_the_whole_text),
    cmocka_unit_test (test_charts),
    cmocka_unit_test (test_greater_is_higher),
    cmocka_unit_test (test_limits_lie_where_they_belong),
  };
  g_setenv ("TZ", "UTC0", TRUE);
  return cmocka_run_group_tests (tests, NULL, NULL);
}
