#include "maths/gauges.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "maths/capability.h"
#include "maths/f_distribution.h"

#define CONFIDENCE 0.95
#define DAYS_A_WEEK 7.0

/* Of a normal distribution: U / u with many degrees of freedom. */
#define K_NORMAL 1.959963984540054

/* Beyond this t is normal to four digits. */
#define MANY_DEGREES 1e5

double
wsi_t_factor (double probability, double freedom)
{
  double low = 0, high = 1;
  if (freedom > MANY_DEGREES)
    freedom = MANY_DEGREES;
  while (wsi_f_tail (high * high, 1, freedom) > 1 - probability && high < 1e9)
    high *= 2;
  for (int i = 0; i < 100 && high - low > 1e-12 * high; i++)
  {
    const double middle = 0.5 * (low + high);
    if (wsi_f_tail (middle * middle, 1, freedom) > 1 - probability)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

double
wsi_gauges_en (double a, double U_a, double b, double U_b)
{
  return (a - b) / hypot (U_a, U_b);
}

gboolean
wsi_gauge_is_apart (const WsGauge *gauge)
{
  return isfinite (gauge->en) && fabs (gauge->en) > 1;
}

gboolean
wsi_gauge_drifts (const WsGauge *gauge)
{
  return isfinite (gauge->U_moved) && fabs (gauge->moved) > gauge->U_moved;
}

gboolean
wsi_gauge_drifts_far (const WsGauge *gauge)
{
  return wsi_gauge_drifts (gauge) && fabs (gauge->moved) > gauge->U;
}

/* ---- One gauge ------------------------------------------------------------------------------ */

typedef struct
{
  double day, value; /* means of the week's readings */
  guint n;
} Week;

static int
by_day (const void *a, const void *b)
{
  const WsGaugeReading *p = a, *q = b;
  return p->day < q->day ? -1 : p->day > q->day;
}

/* Free with g_array_unref(). */
static GArray *
weeks_of (const WsGauge *gauge)
{
  GArray *weeks = g_array_new (FALSE, FALSE, sizeof (Week));
  g_autofree WsGaugeReading *sorted = g_memdup2 (gauge->readings, gauge->n * sizeof *sorted);
  double number = NAN;
  if (gauge->n > 0)
    qsort (sorted, gauge->n, sizeof *sorted, by_day);
  for (gsize i = 0; i < gauge->n; i++)
  {
    const double own = floor (sorted[i].day / DAYS_A_WEEK);
    const Week begun = { 0, 0, 0 };
    if (i == 0 || own > number)
      g_array_append_val (weeks, begun);
    number = own;
    Week *week = &g_array_index (weeks, Week, weeks->len - 1);
    week->day += sorted[i].day;
    week->value += sorted[i].value;
    week->n++;
  }
  for (guint i = 0; i < weeks->len; i++)
  {
    Week *week = &g_array_index (weeks, Week, i);
    week->day /= week->n;
    week->value /= week->n;
  }
  return weeks;
}

static double
root_mean_square (const WsGauge *gauge, gboolean lasting)
{
  double sum = 0;
  for (gsize i = 0; i < gauge->n; i++)
  {
    const double u = lasting ? gauge->readings[i].u_lasting : gauge->readings[i].u;
    sum += u * u;
  }
  return gauge->n > 0 ? sqrt (sum / (double)gauge->n) : NAN;
}

static void
find_mean (WsGauge *gauge, const GArray *weeks)
{
  double sum = 0, squares = 0;
  for (guint i = 0; i < weeks->len; i++)
    sum += g_array_index (weeks, Week, i).value;
  gauge->weeks = weeks->len;
  gauge->mean = weeks->len > 0 ? sum / weeks->len : NAN;
  for (guint i = 0; i < weeks->len; i++)
  {
    const double off = g_array_index (weeks, Week, i).value - gauge->mean;
    squares += off * off;
  }
  gauge->spread = weeks->len > 1 ? sqrt (squares / (weeks->len - 1)) : NAN;
  gauge->u_lasting = root_mean_square (gauge, TRUE);
}

static void
find_U (WsGauge *gauge)
{
  if (gauge->weeks < WS_GAUGES_LEAST_SPREAD)
  {
    gauge->U = K_NORMAL * root_mean_square (gauge, FALSE);
    return;
  }
  const double by_scatter = gauge->spread * gauge->spread / gauge->weeks;
  const double sum = by_scatter + gauge->u_lasting * gauge->u_lasting;
  const double freedom =
    by_scatter > 0 ? sum * sum / (by_scatter * by_scatter) * (gauge->weeks - 1) : MANY_DEGREES;
  gauge->U = wsi_t_factor (CONFIDENCE, freedom) * sqrt (sum);
}

/* A straight line through the weeks' means: what lasts doesn't count in its slope. */
static void
find_drift (WsGauge *gauge, const GArray *weeks)
{
  double day = 0, Sxx = 0, Sxy = 0, rest = 0;
  gauge->span_days = gauge->moved = gauge->U_moved = NAN;
  if (weeks->len < 2)
    return;
  gauge->span_days =
    g_array_index (weeks, Week, weeks->len - 1).day - g_array_index (weeks, Week, 0).day;
  if (weeks->len < WS_GAUGES_LEAST_DRIFT)
    return;
  for (guint i = 0; i < weeks->len; i++)
    day += g_array_index (weeks, Week, i).day / weeks->len;
  for (guint i = 0; i < weeks->len; i++)
  {
    const Week *week = &g_array_index (weeks, Week, i);
    Sxx += (week->day - day) * (week->day - day);
    Sxy += (week->day - day) * (week->value - gauge->mean);
  }
  const double slope = Sxy / Sxx;
  for (guint i = 0; i < weeks->len; i++)
  {
    const Week *week = &g_array_index (weeks, Week, i);
    const double off = week->value - gauge->mean - slope * (week->day - day);
    rest += off * off;
  }
  const double freedom = weeks->len - 2;
  gauge->moved = slope * gauge->span_days;
  gauge->U_moved =
    wsi_t_factor (CONFIDENCE, freedom) * sqrt (rest / freedom / Sxx) * gauge->span_days;
}

static void
describe (WsGauge *gauge)
{
  g_autoptr (GArray) weeks = weeks_of (gauge);
  gauge->U = gauge->bias = gauge->U_bias = gauge->en = NAN;
  find_mean (gauge, weeks);
  if (weeks->len > 0)
    find_U (gauge);
  find_drift (gauge, weeks);
}

/* ---- All of them ---------------------------------------------------------------------------- */

/* Weighted by 1 / U².  Each takes part in it, so that U² of its bias is U² less that of the mean
 * (M. G. Cox, The evaluation of key comparison data, Metrologia 39 (2002) 589-595, procedure A,
 * recalled from memory). */
static gboolean
find_weighted_mean (WsGauges *all)
{
  double weights = 0, sum = 0, chi = 0;
  guint n = 0;
  for (gsize i = 0; i < all->n; i++)
  {
    const WsGauge *gauge = &all->gauges[i];
    if (!(gauge->U > 0))
      continue;
    weights += 1 / (gauge->U * gauge->U);
    sum += gauge->mean / (gauge->U * gauge->U);
    n++;
  }
  if (n < 2)
    return FALSE;
  all->reference = sum / weights;
  all->U_reference = 1 / sqrt (weights);
  for (gsize i = 0; i < all->n; i++)
  {
    const WsGauge *gauge = &all->gauges[i];
    const double off = (gauge->mean - all->reference) / (gauge->U / K_NORMAL);
    chi += gauge->U > 0 ? off * off : 0;
  }
  all->chi_square = chi;
  all->chi_limit = wsi_chi_square_quantile (CONFIDENCE, n - 1);
  return TRUE;
}

static void
find_bias (const WsGauges *all, WsGauge *gauge)
{
  gauge->bias = gauge->mean - all->reference;
  gauge->U_bias = all->by_mean
                    ? sqrt (MAX (gauge->U * gauge->U - all->U_reference * all->U_reference, 0))
                    : hypot (gauge->U, all->U_reference);
  gauge->en = gauge->U_bias > 0 ? gauge->bias / gauge->U_bias : NAN;
}

gboolean
wsi_gauges_compare (WsGauges *all)
{
  all->chi_square = all->chi_limit = NAN;
  for (gsize i = 0; i < all->n; i++)
    describe (&all->gauges[i]);
  all->by_mean = !isfinite (all->reference);
  if (all->by_mean && !find_weighted_mean (all))
    return FALSE;
  for (gsize i = 0; i < all->n; i++)
    if (all->gauges[i].n > 0)
      find_bias (all, &all->gauges[i]);
  return TRUE;
}
