#include "optics/check_series.h"

#include <math.h>

#include "optics/check_places.h"

typedef struct
{
  WsCheckSeries series; /* first, so that this is one */
  char *run;            /* of the newest point */
  guint n;              /* checks in the newest point */
} Gathering;

static void
gathering_free (gpointer data)
{
  Gathering *gathering = data;
  g_free (gathering->series.quantity);
  g_array_unref (gathering->series.points);
  g_free (gathering->run);
  g_free (gathering);
}

/* Half of what the file can tell apart. */
static gboolean
is_same_size (double a, double b)
{
  return fabs (a - b) < 0.5 / WS_CHECK_PER_MM;
}

static Gathering *
gathering_for (GPtrArray *all, const WsCheck *check)
{
  for (guint i = 0; i < all->len; i++)
  {
    Gathering *gathering = g_ptr_array_index (all, i);
    if (g_str_equal (gathering->series.quantity, check->quantity) &&
        is_same_size (gathering->series.reference, check->reference))
      return gathering;
  }
  Gathering *gathering = g_new0 (Gathering, 1);
  gathering->series.quantity = g_strdup (check->quantity);
  gathering->series.reference = check->reference;
  gathering->series.points = g_array_new (FALSE, FALSE, sizeof (WsCheckPoint));
  g_ptr_array_add (all, gathering);
  return gathering;
}

/* A run's shots of one size share their causes; taken as points of their own they would make the
 * moving range that of a minute, and every next morning a signal. */
static void
gather (Gathering *gathering, const WsCheck *check)
{
  GArray *points = gathering->series.points;
  if (g_strcmp0 (gathering->run, check->run) != 0)
  {
    WsCheckPoint point = { .pass = TRUE };
    g_strlcpy (point.time, check->time, sizeof point.time);
    g_array_append_val (points, point);
    g_free (gathering->run);
    gathering->run = g_strdup (check->run);
    gathering->n = 0;
  }
  WsCheckPoint *point = &g_array_index (points, WsCheckPoint, points->len - 1);
  gathering->n++;
  point->deviation += (check->deviation - point->deviation) / gathering->n;
  point->U = fmax (point->U, check->U);
  point->U_reference = fmax (point->U_reference, check->U_reference);
  point->pass = point->pass && check->pass;
}

static void
judge_series (WsCheckSeries *series)
{
  const guint n = series->points->len;
  g_autofree double *values = g_new (double, n);
  g_autofree gboolean *used = g_new (gboolean, n);
  for (guint i = 0; i < n; i++)
  {
    const WsCheckPoint *point = &g_array_index (series->points, WsCheckPoint, i);
    values[i] = point->deviation;
    used[i] = point->pass;
  }
  series->control = wsi_control_limits (values, used, n - 1);
  for (guint i = 0; i < n; i++)
    g_array_index (series->points, WsCheckPoint, i).signals =
      wsi_control_signals (&series->control, values, i);
}

GPtrArray *
wsi_check_series (const GPtrArray *checks, const char *calibration)
{
  GPtrArray *all = g_ptr_array_new_with_free_func (gathering_free);
  for (guint i = 0; i < checks->len; i++)
  {
    const WsCheck *check = g_ptr_array_index (checks, i);
    if (g_str_equal (check->calibration, calibration))
      gather (gathering_for (all, check), check);
  }
  for (guint i = 0; i < all->len; i++)
    judge_series (g_ptr_array_index (all, i));
  return all;
}
