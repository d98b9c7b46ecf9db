#include <whetsight/checks.h>

#include <math.h>

#include "optics/check_places.h"

static double
rounded (double mm)
{
  return round (mm * WS_CHECK_PER_MM) / WS_CHECK_PER_MM;
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
