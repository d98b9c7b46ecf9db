#include "report/trend.h"

#include <math.h>
#include <string.h>

#include "base/language.h"
#include "base/number.h"
#include "maths/capability.h"
#include "maths/control.h"
#include "report/words.h"

#define SPARK_LENGTH 72

void
ws_trend_find_limits (WsTrend *trend)
{
  g_autofree double *values = g_new (double, trend->n);
  for (gsize i = 0; i < trend->n; i++)
    values[i] = trend->points[i].value;
  const WsControl control = wsi_control_limits (values, NULL, trend->n);
  trend->has_limits = control.has_limits;
  trend->mean = control.centre;
  trend->mean_range = control.mean_range;
  trend->lower = control.lower;
  trend->upper = control.upper;
  trend->range_upper = control.range_upper;
}

const char *
ws_trend_signal (const WsTrend *trend, gsize i)
{
  const WsControl control = { .n = (guint)trend->n,
                              .has_limits = trend->has_limits,
                              .centre = trend->mean,
                              .lower = trend->lower,
                              .upper = trend->upper,
                              .mean_range = trend->mean_range };
  double values[WS_CONTROL_RUN_LENGTH + 1];
  const gsize n = MIN (i + 1, G_N_ELEMENTS (values));
  for (gsize k = 0; k < n; k++)
    values[k] = trend->points[i + 1 - n + k].value;
  const guint signals = trend->has_limits ? wsi_control_signals (&control, values, n - 1) : 0;
  if (signals & WS_CONTROL_BEYOND)
    return N_ ("outside the control limits");
  if (signals & WS_CONTROL_RISING)
    return N_ ("seven in a row rise");
  if (signals & WS_CONTROL_FALLING)
    return N_ ("seven in a row fall");
  if (signals & WS_CONTROL_ABOVE)
    return N_ ("seven in a row above the mean");
  return signals & WS_CONTROL_BELOW ? N_ ("seven in a row below the mean") : NULL;
}

gsize
wsi_trend_count_signals (const WsTrend *trend)
{
  gsize n = 0;
  for (gsize i = 0; i < trend->n; i++)
    n += ws_trend_signal (trend, i) != NULL ? 1 : 0;
  return n;
}

/* One of eight heights for each of the newest values, and a mark below each regrind. */
static void
append_spark (GString *text, const WsTrend *trend)
{
  static const char *const bars[] = { "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█" };
  const gsize first = trend->n > SPARK_LENGTH ? trend->n - SPARK_LENGTH : 0;
  double low = INFINITY, high = -INFINITY;
  GString *marks = g_string_new (NULL);
  for (gsize i = first; i < trend->n; i++)
  {
    low = fmin (low, trend->points[i].value);
    high = fmax (high, trend->points[i].value);
  }
  for (gsize i = first; i < trend->n; i++)
  {
    const double part = high > low ? (trend->points[i].value - low) / (high - low) : 0.5;
    g_string_append (
      text, bars[(gsize)CLAMP (floor (part * G_N_ELEMENTS (bars)), 0, G_N_ELEMENTS (bars) - 1)]);
    g_string_append_c (marks, trend->points[i].reground ? '^' : ' ');
  }
  g_strchomp (marks->str);
  g_string_append_c (text, '\n');
  if (*marks->str != '\0')
    g_string_append_printf (text, _ ("%s  (^ reground)\n"), marks->str);
  g_string_free (marks, TRUE);
}

static void
append_limits (GString *text, const WsTrend *trend, guint least)
{
  /* Values may scatter by less than their U says. */
  const guint places = trend->has_limits && trend->mean_range > 0
                         ? MAX (least, wsi_number_places (trend->mean_range))
                         : least;
  g_autofree char *mean = wsi_number_format (trend->mean, places);
  g_string_append_printf (text, _ ("mean %s %s"), mean, trend->unit);
  if (!trend->has_limits)
  {
    g_string_append_printf (text, _ ("; control limits need %d values\n"), WS_CONTROL_LEAST);
    return;
  }
  g_autofree char *lower = wsi_number_format (trend->lower, places);
  g_autofree char *upper = wsi_number_format (trend->upper, places);
  g_autofree char *range = wsi_number_format (trend->mean_range, places);
  g_autofree char *most = wsi_number_format (trend->range_upper, places);
  g_string_append_printf (
    text, _ ("; control limits %s .. %s\nmoving range %s in the mean, %s at most\n"), lower, upper,
    range, most);
}

static gboolean
have_same_limits (const WsTrend *trend)
{
  for (gsize i = 1; i < trend->n; i++)
    if (trend->points[i].lower != trend->points[0].lower ||
        trend->points[i].upper != trend->points[0].upper)
      return FALSE;
  return trend->n > 0;
}

char *
wsi_trend_capability (const WsTrend *trend)
{
  WsCapability found;
  g_autofree double *values = g_new (double, MAX (trend->n, 1));
  for (gsize i = 0; i < trend->n; i++)
    values[i] = trend->points[i].value;
  if (!have_same_limits (trend) ||
      !wsi_capability (values, trend->n, trend->points[0].lower, trend->points[0].upper, &found))
    return NULL;
  const double numbers[] = { found.cp,  found.cp_low,  found.cp_high,
                             found.cpk, found.cpk_low, found.cpk_high };
  char *texts[G_N_ELEMENTS (numbers) + 1] = { NULL };
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
    texts[i] = wsi_number_format (numbers[i], 2);
  char *words = g_strdup_printf (
    _ ("Cp %s (%s .. %s), Cpk %s (%s .. %s), 95 %% intervals%s"), texts[0], texts[1], texts[2],
    texts[3], texts[4], texts[5],
    wsi_trend_count_signals (trend) > 0 ? _ ("; with signals they tell little of what comes") : "");
  for (gsize i = 0; i < G_N_ELEMENTS (numbers); i++)
    g_free (texts[i]);
  return words;
}

char *
ws_trend_text (const WsTrend *trend)
{
  GString *text = g_string_new (NULL);
  g_string_append_printf (text, _ ("%s: %u values"), trend->title, (guint)trend->n);
  if (trend->n == 0)
  {
    g_string_append_c (text, '\n');
    return g_string_free (text, FALSE);
  }
  const WsTrendPoint *first = &trend->points[0], *last = &trend->points[trend->n - 1];
  const guint places = wsi_number_places (last->U);
  g_autofree char *value = wsi_number_format (last->value, places);
  g_autofree char *U = wsi_number_format (last->U, places);
  g_autofree char *from = wsi_words_local_time (first->time);
  g_autofree char *to = wsi_words_local_time (last->time);
  g_string_append_printf (text, _ (",\n%s to %s\n"), from, to);
  append_spark (text, trend);
  append_limits (text, trend, places);
  g_autofree char *capability = wsi_trend_capability (trend);
  if (capability != NULL)
    g_string_append_printf (text, "%s\n", capability);
  const char *signal = ws_trend_signal (trend, trend->n - 1);
  const gsize earlier = wsi_trend_count_signals (trend) - (signal != NULL ? 1 : 0);
  g_string_append_printf (text, _ ("last %s ± %s %s%s%s\n"), value, U, trend->unit,
                          signal != NULL ? _ ("; SIGNAL: ") : "", signal != NULL ? _ (signal) : "");
  if (earlier > 0)
    g_string_append_printf (text, _ ("earlier signals: %u\n"), (guint)earlier);
  return g_string_free (text, FALSE);
}
