#include "bench/own_bench.h"

#include <math.h>

#include "camera/bench.h"

gboolean
wsi_own_bench_complete (const WsServe *serve, const char *picture, WsSetup *setup, gboolean *due,
                        GError **error)
{
  WsBenchCheck check;
  g_auto (WsBench) bench = { 0 };
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  *due = FALSE;
  if (serve->settings.bench == NULL || !g_str_equal (picture, WSI_TAKEN_NAME))
    return TRUE;
  if (!wsi_bench_load (serve->settings.bench, &bench, error) ||
      !wsi_bench_check (&bench, now, &check, error))
    return FALSE;
  if (setup->calibration == NULL && isnan (setup->scale))
    setup->calibration = g_strdup (bench.calibration);
  *due = check.due && g_strcmp0 (setup->calibration, bench.calibration) == 0;
  return TRUE;
}
