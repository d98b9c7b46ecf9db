#include "optics/checks.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#define CALIBRATION_SUFFIX ".calib"
#define CHECKS_SUFFIX ".checks.csv"

/* Of lengths in the file: far below what any artefact is known to. */
#define PER_MM 1e7

static double
rounded (double mm)
{
  return round (mm * PER_MM) / PER_MM;
}

WsCheck *
ws_check_new (const char *run, const char *quantity, double value, double U, double reference,
              double U_reference)
{
  WsCheck *check = g_new0 (WsCheck, 1);
  check->run = g_strdup (run);
  check->quantity = g_strdup (quantity);
  check->value = rounded (value);
  check->U = rounded (U);
  check->reference = rounded (reference);
  check->U_reference = rounded (U_reference);
  check->deviation = rounded (check->value - check->reference);
  check->E_n = check->deviation / hypot (check->U, check->U_reference);
  check->pass = fabs (check->E_n) <= 1;
  return check;
}

void
ws_check_free (WsCheck *check)
{
  if (check == NULL)
    return;
  g_free (check->run);
  g_free (check->calibration);
  g_free (check->file);
  g_free (check->sha256);
  g_free (check->quantity);
  g_free (check);
}

static void
check_destroy (gpointer data)
{
  ws_check_free (data);
}

char *
ws_checks_new_run (GDateTime *time)
{
  g_autofree char *stamp = g_date_time_format (time, "%Y%m%dT%H%M%SZ");
  return g_strdup_printf ("%s-%08x", stamp, g_random_int ());
}

GPtrArray *
ws_checks_new (void)
{
  return g_ptr_array_new_with_free_func (check_destroy);
}

char *
ws_checks_path (const char *calibration_path)
{
  gsize n = strlen (calibration_path);
  if (g_str_has_suffix (calibration_path, CALIBRATION_SUFFIX))
    n -= strlen (CALIBRATION_SUFFIX);
  g_autofree char *stem = g_strndup (calibration_path, n);
  return g_strconcat (stem, CHECKS_SUFFIX, NULL);
}

/* ---- What they say ---------------------------------------------------------------- */

/* Where the run that starts at `start` ends; `pass` when all of it that belongs to the
 * calibration passed, `any` when anything does. */
static guint
end_of_run (const GPtrArray *checks, guint start, const char *calibration, gboolean *any,
            gboolean *pass)
{
  const WsCheck *first = g_ptr_array_index (checks, start);
  guint i = start;
  *any = FALSE;
  *pass = TRUE;
  for (; i < checks->len; i++)
  {
    const WsCheck *check = g_ptr_array_index (checks, i);
    if (!g_str_equal (check->run, first->run))
      break;
    if (!g_str_equal (check->calibration, calibration))
      continue;
    *any = TRUE;
    *pass = *pass && check->pass;
  }
  return i;
}

WsCheckState
ws_checks_state (const GPtrArray *checks, const char *calibration)
{
  WsCheckState state = { .state = WS_CHECKED_NEVER };
  gboolean any, pass;
  for (guint start = 0, end; start < checks->len; start = end)
  {
    const WsCheck *first = g_ptr_array_index (checks, start);
    end = end_of_run (checks, start, calibration, &any, &pass);
    if (!any || (!pass && state.state == WS_CHECKED_FAILED))
      continue;
    state.state = pass ? WS_CHECKED_PASSED : WS_CHECKED_FAILED;
    g_strlcpy (state.time, first->time, sizeof state.time);
  }
  return state;
}

gboolean
ws_checks_load_state (const char *calibration_path, const char *calibration, WsCheckState *state,
                      GError **error)
{
  g_autofree char *path = ws_checks_path (calibration_path);
  g_autoptr (GPtrArray) checks = ws_checks_load (path, error);
  if (checks == NULL)
    return FALSE;
  *state = ws_checks_state (checks, calibration);
  return TRUE;
}

/* ---- Series ----------------------------------------------------------------------- */

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
  return fabs (a - b) < 0.5 / PER_MM;
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
  series->control = ws_control_limits (values, used, n - 1);
  for (guint i = 0; i < n; i++)
    g_array_index (series->points, WsCheckPoint, i).signals =
      ws_control_signals (&series->control, values, i);
}

GPtrArray *
ws_check_series (const GPtrArray *checks, const char *calibration)
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
