/*
 * What a calibration's checks say in the course of time.
 */
#include <whetsight/report.h>

#include "optics/check_series.h"
#include "report/chart/control_chart.h"

GBytes *
ws_report_checks_chart (const WsCalibration *calibration, const GPtrArray *checks,
                        WsChartFormat format, GError **error)
{
  const char *id = ws_calibration_id (calibration);
  const WsCheckState state = ws_checks_state (checks, id);
  g_autoptr (GPtrArray) series = wsi_check_series (checks, id);
  return wsi_control_chart (calibration, &state, series, format, error);
}

char **
ws_report_checks_signals (const WsCalibration *calibration, const GPtrArray *checks)
{
  GPtrArray *lines = g_ptr_array_new ();
  g_autoptr (GPtrArray) all = wsi_check_series (checks, ws_calibration_id (calibration));
  for (guint i = 0; i < all->len; i++)
  {
    const WsCheckSeries *series = g_ptr_array_index (all, i);
    g_autofree char *words = wsi_control_words (series);
    g_autofree char *name = wsi_control_series_name (series);
    if (words != NULL)
      g_ptr_array_add (lines, g_strdup_printf ("%s: %s", name, words));
  }
  g_ptr_array_add (lines, NULL);
  return (char **)g_ptr_array_free (lines, FALSE);
}
