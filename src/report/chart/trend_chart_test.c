/*
 * The run chart by what it draws and where.
 */
#include <math.h>

#include <whetsight/trend.h>

#include "base/number.h"
#include "report/drawn_for_tests.h"

#define WIDTH 1300.0
#define HEIGHT 760.0

/* The plots, px. */
#define LEFT 110.0
#define RIGHT 1090.0
#define TOP 76.0
#define BOTTOM 456.0
#define RANGES_TOP 502.0
#define RANGES_BOTTOM 652.0

#define MOST 90

static WsTrendPoint points[MOST];
static char times[MOST][24];

/* A minute apart, without a tolerance. */
static WsTrend
trend_of (const double *values, gsize n)
{
  WsTrend trend = { .title = "diameter_mm", .unit = "mm", .points = points, .n = n };
  for (gsize i = 0; i < n; i++)
  {
    g_snprintf (times[i], sizeof times[i], "2026-11-25T%02u:%02u:00Z", (guint)(8 + i / 60),
                (guint)(i % 60));
    points[i] = (WsTrendPoint){ times[i], values[i], 0.01, -INFINITY, INFINITY, FALSE };
  }
  ws_trend_find_limits (&trend);
  return trend;
}

static void
set_tolerance (const WsTrend *trend, double lower, double upper)
{
  for (gsize i = 0; i < trend->n; i++)
    points[i].lower = lower, points[i].upper = upper;
}

static void
draw (const WsTrend *trend)
{
  drawn_clear ();
  g_autoptr (GBytes) png = ws_trend_chart (trend, WS_CHART_PNG, NULL);
  assert_non_null (png);
  assert_texts_apart (WIDTH, HEIGHT);
}

static const double steady[] = { 0.001, -0.002, 0.003, 0.0, -0.001, 0.002 };

/* By two grid lines and their numbers: where a value lies among the values. */
static double
height_of (double value)
{
  const Drawn *first = NULL, *last = NULL;
  for (guint i = 0; i < drawn->len; i++)
  {
    const Drawn *text = drawn_at (i);
    if (text->kind != DRAWN_TEXT || text->x != LEFT - 10 || text->y > BOTTOM)
      continue;
    first = first == NULL ? text : first;
    last = text;
  }
  assert_true (first != NULL && last != first);
  const double a = g_ascii_strtod (first->text, NULL), b = g_ascii_strtod (last->text, NULL);
  return first->y + (last->y - first->y) * (value - a) / (b - a);
}

static void
assert_label (const char *text, double y)
{
  const Drawn *label = drawn_text (text, 0);
  if (label == NULL)
    fail_msg ("no label \"%s\"", text);
  assert_near (label->y, y, 0.6);
  assert_true (label->left >= RIGHT);
}

/* Every kind of line has a label that says what it is, at its height. */
static void
every_line_has_its_label (void **state)
{
  (void)state;
  const WsTrend trend = trend_of (steady, G_N_ELEMENTS (steady));
  set_tolerance (&trend, -0.04, 0.04);
  draw (&trend);
  assert_label ("tolerance 0.04", height_of (0.04));
  assert_label ("tolerance -0.04", height_of (-0.04));
  assert_label ("mean 0.000", height_of (trend.mean));
  assert_label ("control limit", height_of (trend.upper));
  const Drawn *lower = drawn_text ("control limit", 1);
  assert_near (lower->y, height_of (trend.lower), 0.6);
  /* In the colours of their lines, which go from side to side. */
  assert_true (drawn_has_colour (drawn_text ("tolerance", 0), WS_VERMILION));
  assert_true (drawn_has_colour (lower, WS_BLUE));
  assert_int_equal (drawn_count (DRAWN_DASHES, WS_BLUE, RIGHT - LEFT, 0), 3);
  assert_int_equal (drawn_count (DRAWN_LINE, WS_INK, RIGHT - LEFT, 0), 2);
  assert_near (drawn_find (DRAWN_DASHES, WS_BLUE, RIGHT - LEFT, 0)->y, height_of (trend.upper),
               0.01);
  assert_near (drawn_find (DRAWN_DASHES, WS_BLUE, RIGHT - LEFT, 1)->y, height_of (trend.lower),
               0.01);
  assert_near (drawn_find (DRAWN_LINE, WS_INK, RIGHT - LEFT, 0)->y, height_of (trend.mean), 0.01);
  /* A step of the tolerance a value and end. */
  assert_int_equal (drawn_count (DRAWN_LINE, WS_VERMILION, 160, 0), 12);
  assert_near (drawn_find (DRAWN_LINE, WS_VERMILION, 160, 0)->y, height_of (-0.04), 0.01);
  assert_near (drawn_find (DRAWN_LINE, WS_VERMILION, 160, 1)->y, height_of (0.04), 0.01);
}

/* A tolerance as it is written, whatever the scale's places; a mean's limits by figures that tell
 * them apart. */
static void
numbers_of_labels (void **state)
{
  (void)state;
  static const double close[] = { 6.48550, 6.48551, 6.48550, 6.48551, 6.48550 };
  const WsTrend trend = trend_of (close, G_N_ELEMENTS (close));
  set_tolerance (&trend, 6.48546, INFINITY);
  draw (&trend);
  assert_non_null (drawn_text ("tolerance 6.48546", 0));
  assert_null (drawn_text ("tolerance", 1));
  assert_non_null (drawn_text ("mean 6.485504", 0));
  assert_non_null (drawn_text ("control limit 6.485531", 0));
  assert_non_null (drawn_text ("control limit 6.485477", 0));
}

/* Lines that lie on each other: labels in their order, apart, each tied to its line. */
static void
crowded_labels_keep_apart (void **state)
{
  (void)state;
  const WsTrend trend = trend_of (steady, G_N_ELEMENTS (steady));
  set_tolerance (&trend, trend.lower - 1e-4, trend.upper + 1e-4);
  points[0].U = 1.0; /* so that all of it is a few px high */
  draw (&trend);
  const Drawn *labels[] = { drawn_text ("tolerance", 0), drawn_text ("control limit", 0),
                            drawn_text ("mean", 0), drawn_text ("control limit", 1),
                            drawn_text ("tolerance", 1) };
  const double lines[] = { trend.upper + 1e-4, trend.upper, trend.mean, trend.lower,
                           trend.lower - 1e-4 };
  double moved = 0;
  for (guint i = 0; i < G_N_ELEMENTS (labels); i++)
  {
    assert_non_null (labels[i]);
    if (i > 0)
      assert_near (labels[i]->y - labels[i - 1]->y, 19, 0.01);
    moved += labels[i]->y - height_of (lines[i]);
    gboolean tied = FALSE;
    for (guint k = 0; k < drawn->len && !tied; k++)
    {
      const Drawn *tie = drawn_at (k);
      tied = tie->kind == DRAWN_LINE && tie->left == RIGHT && tie->right < labels[i]->left &&
             fabs (tie->y - height_of (lines[i])) < 0.3 &&
             (fabs (tie->top - labels[i]->y) < 0.01 || fabs (tie->bottom - labels[i]->y) < 0.01);
    }
    assert_true (tied);
  }
  /* As little as possible: about their lines, not all below them. */
  assert_near (moved, 0, 1.0);
}

/* The scale's numbers stand at their lines, as far apart as they differ. */
static void
scales_are_even (void **state)
{
  (void)state;
  const WsTrend trend = trend_of (steady, G_N_ELEMENTS (steady));
  set_tolerance (&trend, -0.04, 0.04);
  draw (&trend);
  guint n = 0;
  for (guint i = 0; i < drawn->len; i++)
  {
    const Drawn *text = drawn_at (i);
    if (text->kind != DRAWN_TEXT || text->x != LEFT - 10)
      continue;
    n++;
    const Drawn *line = drawn_at (i - 1);
    assert_true (drawn_has_colour (line, WS_PALE));
    assert_near (line->y, text->y, 0);
    assert_near (line->left, LEFT, 0);
    assert_near (line->right, RIGHT, 0);
    if (text->y < BOTTOM)
      assert_near (text->y, height_of (g_ascii_strtod (text->text, NULL)), 0.01);
  }
  assert_true (n >= 8);
  assert_non_null (drawn_text ("0.04", 0));
  assert_non_null (drawn_text ("-0.02", 0));
  /* On white. */
  const Drawn *values = drawn_find (DRAWN_BOX, WS_WHITE, RIGHT - LEFT, 0);
  const Drawn *ranges = drawn_find (DRAWN_BOX, WS_WHITE, RIGHT - LEFT, 1);
  assert_near (values->left, LEFT, 0);
  assert_near (values->top, TOP, 0);
  assert_near (values->bottom, BOTTOM, 0);
  assert_near (ranges->top, RANGES_TOP, 0);
  assert_near (ranges->bottom, RANGES_BOTTOM, 0);
  /* Room of 8 % at either end of -0.04 .. 0.04. */
  assert_near (height_of (0.04), TOP + 380 * 0.08 / 1.16, 0.01);
  assert_near (height_of (-0.04), BOTTOM - 380 * 0.08 / 1.16, 0.01);
}

/* Moving ranges: from 0 on, a square each in its place, limits of their own. */
static void
ranges_start_at_nothing (void **state)
{
  (void)state;
  static const double values[] = { 1.0, 1.4, 1.2, 1.2 };
  const WsTrend trend = trend_of (values, G_N_ELEMENTS (values));
  draw (&trend);
  const double high = trend.range_upper * 1.08;
  static const double ranges[] = { 0.4, 0.2, 0.0 };
  for (guint i = 0; i < G_N_ELEMENTS (ranges); i++)
  {
    const Drawn *square = drawn_find (DRAWN_BOX, WS_INK, 7, i);
    assert_non_null (square);
    assert_near (0.5 * (square->left + square->right), LEFT + 980 * (i + 1.5) / 4, 0.01);
    assert_near (0.5 * (square->top + square->bottom), RANGES_BOTTOM - 150 * ranges[i] / high,
                 0.01);
  }
  assert_null (drawn_find (DRAWN_BOX, WS_INK, 7, 3));
  assert_near (drawn_text ("mean", 1)->y, RANGES_BOTTOM - 150 * trend.mean_range / high, 0.6);
  assert_near (drawn_text ("control limit", 2)->y, RANGES_BOTTOM - 150 * trend.range_upper / high,
               0.6);
  assert_near (drawn_text ("moving range", 0)->bottom, RANGES_TOP, 6);
}

/* ---- Dates ---------------------------------------------------------------------------- */

static void
assert_dates (const char *const *given, gsize n, const char *const *shown)
{
  static const double values[MOST] = { 0.1 };
  const WsTrend trend = trend_of (values, n);
  for (gsize i = 0; i < n; i++)
    points[i].time = given[i];
  draw (&trend);
  guint found = 0;
  for (guint i = 0; i < drawn->len; i++)
  {
    const Drawn *text = drawn_at (i);
    if (text->kind != DRAWN_TEXT || text->y <= RANGES_BOTTOM || text->y > RANGES_BOTTOM + 40)
      continue;
    assert_non_null (shown[found]);
    assert_string_equal (text->text, shown[found++]);
  }
  assert_null (shown[found]);
}

/* As fine as tells them apart; a day once, however many of its minutes are shown. */
static void
dates_differ (void **state)
{
  (void)state;
  static const char *const days[] = { "2026-11-25T08:00:00Z", "2026-11-26T08:00:00Z" };
  assert_dates (days, 2, (const char *[]){ "2026-11-25", "2026-11-26", NULL });
  static const char *const hours[] = { "2026-11-25T08:00:00Z", "2026-11-25T09:30:00Z",
                                       "2026-11-26T08:00:00Z" };
  assert_dates (hours, 3,
                (const char *[]){ "08:00", "2026-11-25", "09:30", "08:00", "2026-11-26", NULL });
  static const char *const seconds[] = { "2026-11-25T08:00:01Z", "2026-11-25T08:00:02Z",
                                         "2026-11-25T08:00:09Z" };
  assert_dates (seconds, 3,
                (const char *[]){ "08:00:01", "2026-11-25", "08:00:02", "08:00:09", NULL });
  static const char *const same[] = { "2026-11-25T08:00:01Z", "2026-11-25T08:00:01Z",
                                      "2026-11-25T08:00:02Z" };
  assert_dates (same, 3, (const char *[]){ "08:00:01", "2026-11-25", "08:00:02", NULL });
}

/* By the clock on the wall: this is two days there. */
static void
dates_are_local (void **state)
{
  (void)state;
  static const char *const night[] = { "2026-11-25T22:30:00Z", "2026-11-25T23:30:00Z" };
  static const char *const year[] = { "2026-07-25T22:30:00Z", "2026-11-25T23:30:00Z" };
  g_setenv ("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", TRUE);
  assert_dates (night, 2, (const char *[]){ "2026-11-25", "2026-11-26", NULL });
  assert_non_null (drawn_text ("mm, ± U (k = 2); times: CET", 0));
  assert_dates (year, 2, (const char *[]){ "2026-07-26", "2026-11-26", NULL });
  assert_non_null (drawn_text ("mm, ± U (k = 2); times: CEST, CET", 0));
  g_setenv ("TZ", "UTC0", TRUE);
}

/* Under their values, the newest among them, seven at most. */
static void
dates_lie_under_their_values (void **state)
{
  (void)state;
  double values[20] = { 0 };
  for (guint i = 0; i < 20; i++)
    values[i] = i % 3;
  const WsTrend trend = trend_of (values, 20);
  draw (&trend);
  guint n = 0;
  for (guint i = 0; i < 20; i++)
  {
    g_autofree char *time = g_strdup_printf ("08:%02u", i);
    const Drawn *date = drawn_text (time, 0);
    if (date == NULL)
      continue;
    n++;
    assert_int_equal (i % 3, 19 % 3);
    assert_near (date->x, LEFT + 980 * (i + 0.5) / 20, 0.01);
    assert_near (date->y, RANGES_BOTTOM + 18, 0.01);
    const Drawn *tick = date - 1;
    assert_near (tick->x, date->x, 0);
    assert_near (tick->top, RANGES_BOTTOM, 0);
    assert_near (tick->bottom, RANGES_BOTTOM + 6, 0);
  }
  assert_int_equal (n, 7);
}

/* ---- Signals, regrinds ---------------------------------------------------------------- */

static const Drawn *
standing (void)
{
  for (guint i = 0; i < drawn->len; i++)
    if (drawn_at (i)->kind == DRAWN_TEXT && drawn_at (i)->right == RIGHT && drawn_at (i)->y == 58)
      return drawn_at (i);
  return NULL;
}

/* "No signal" is said only where no point is marked. */
static void
words_fit_the_marks (void **state)
{
  (void)state;
  double values[12];
  draw (&(WsTrend){ .title = "t", .unit = "mm", .points = points });
  assert_string_equal (standing ()->text, "too few values for limits");
  for (guint i = 0; i < 12; i++)
    values[i] = i % 2;
  WsTrend trend = trend_of (values, 12);
  draw (&trend);
  assert_string_equal (standing ()->text, "no signal");
  assert_true (drawn_has_colour (standing (), WS_INK));
  values[5] = 20;
  trend = trend_of (values, 12);
  draw (&trend);
  assert_string_equal (standing ()->text, "1 earlier signal, none at the last value");
  assert_true (drawn_has_colour (standing (), WS_BLUE));
  g_autofree char *text = ws_trend_text (&trend);
  assert_true (g_str_has_suffix (text, "\nearlier signals: 1\n"));
  values[11] = 20;
  trend = trend_of (values, 12);
  trend.upper = 15;
  draw (&trend);
  assert_string_equal (standing ()->text, "last value: outside the control limits");
  values[2] = values[5];
  values[11] = 1;
  trend = trend_of (values, 12);
  trend.upper = 15;
  draw (&trend);
  assert_string_equal (standing ()->text, "2 earlier signals, none at the last value");
  trend = trend_of (values, 2);
  draw (&trend);
  assert_string_equal (standing ()->text, "too few values for limits");
}

/* A line before each value that is the first after a regrind; words between the plots. */
static void
regrinds_are_marked (void **state)
{
  (void)state;
  const WsTrend trend = trend_of (steady, G_N_ELEMENTS (steady));
  points[2].reground = points[5].reground = TRUE;
  draw (&trend);
  for (guint i = 0; i < 2; i++)
  {
    const Drawn *line = drawn_find (DRAWN_DASHES, WS_PURPLE, 0, i);
    assert_non_null (line);
    assert_near (line->x, LEFT + 980 * (i == 0 ? 2 : 5) / 6.0, 0.01);
    assert_near (line->top, TOP, 0);
    assert_near (line->bottom, RANGES_BOTTOM, 0);
    const Drawn *word = drawn_text ("reground", i);
    assert_near (word->left, line->x + 4, 0.01);
    assert_in_range (word->y, BOTTOM + 8, RANGES_TOP - 30);
  }
  assert_null (drawn_find (DRAWN_DASHES, WS_PURPLE, 0, 2));
  assert_null (drawn_text ("reground", 2));
}

/* Many of all: nothing lies on anything, nothing leaves the sheet. */
static void
nothing_overlaps (void **state)
{
  (void)state;
  double values[MOST];
  g_autoptr (GRand) random = g_rand_new_with_seed (12);
  for (guint run = 0; run < 60; run++)
  {
    const gsize n = (gsize)g_rand_int_range (random, 1, MOST);
    const double level = g_rand_double_range (random, -130, 130);
    const double scatter = pow (10, g_rand_double_range (random, -5, 1));
    for (gsize i = 0; i < n; i++)
      values[i] = level + g_rand_double_range (random, -scatter, scatter);
    const WsTrend trend = trend_of (values, n);
    const double reach = scatter * g_rand_double_range (random, 0.5, 5);
    set_tolerance (&trend, 0.01 * round (100 * (level - reach)), 0.01 * round (100 * level));
    for (gsize i = 0; i < n; i++)
    {
      points[i].U = scatter * g_rand_double_range (random, 0.01, 3);
      points[i].reground = g_rand_int_range (random, 0, 4) == 0;
    }
    draw (&trend);
  }
}

int
main (void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test (every_line_has_its_label),  cmocka_unit_test (numbers_of_labels),
    cmocka_unit_test (crowded_labels_keep_apart), cmocka_unit_test (scales_are_even),
    cmocka_unit_test (ranges_start_at_nothing),   cmocka_unit_test (dates_differ),
    cmocka_unit_test (dates_are_local),           cmocka_unit_test (dates_lie_under_their_values),
    cmocka_unit_test (words_fit_the_marks),       cmocka_unit_test (regrinds_are_marked),
    cmocka_unit_test (nothing_overlaps),
  };
  g_setenv ("TZ", "UTC0", TRUE);
  const int failed = cmocka_run_group_tests (tests, NULL, NULL);
  g_array_unref (drawn);
  return failed;
}
