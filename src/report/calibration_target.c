/*
 * What a calibration by a chessboard says: text, picture of residuals.
 */
#include <math.h>

#include <whetsight/report.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/number.h"
#include "base/told_text.h"
#include "optics/calibrate/board_job.h"
#include "optics/calibration.h"
#include "optics/lens.h"
#include "optics/propagate.h"
#include "report/chart/residuals.h"

#define COVERAGE 2.0

/* ---- Summary ----------------------------------------------------------------------------------
 */

static void
add_value (GString *text, const char *name, double value, double u)
{
  const double U = COVERAGE * u;
  const guint places = U > 0 ? (guint)CLAMP (1 - floor (log10 (U)), 0, 12) : 6;
  g_autofree char *shown = wsi_number_format (value, places);
  g_autofree char *with = wsi_number_format (U, places);
  g_string_append_printf (text, "%-24s %14s   U %s\n", name, shown, with);
}

static void
add_fixed (GString *text, const char *name)
{
  g_string_append_printf (text, "%-24s %14s\n", name, _ ("0, not needed"));
}

static void
add_intrinsics (GString *text, const WsLens *lens)
{
  const guint n = wsi_lens_n_parameters (lens->model);
  const guint last = lens->model == WS_LENS_PINHOLE ? WS_LENS_P_K3 : WS_LENS_T_K1;
  for (guint i = WS_LENS_EDGE_SHIFT + 1; i <= last; i++)
  {
    const double variance = lens->covariance[i * n + i];
    if (lens->model == WS_LENS_TELECENTRIC && i == WS_LENS_T_SCALE)
      continue;
    if (variance > 0)
      add_value (text, wsi_lens_parameter_name (lens->model, i), lens->parameters[i],
                 sqrt (variance));
    else
      add_fixed (text, wsi_lens_parameter_name (lens->model, i));
  }
}

static double
distance_through (const WsLens *lens, gconstpointer data)
{
  (void)data;
  return ws_lens_distance_mm (lens, NULL);
}

static void
add_views (GString *text, const WsTargetDone *done)
{
  g_string_append_printf (text, "\n%-28s %8s\n", _ ("picture"), _ ("RMS px"));
  for (guint i = 0; i < done->shots->len; i++)
  {
    const WsTargetShot *shot = wsi_target_shot (done, i);
    g_autofree char *rms =
      isfinite (shot->view->rms_px) ? wsi_number_format (shot->view->rms_px, 3) : g_strdup ("-");
    g_autofree char *why = wsi_told_text (shot->view->rejected);
    g_string_append_printf (
      text, "%-28s %8s%s%s%s\n", shot->name, rms, i == done->plane ? _ ("  measuring plane") : "",
      shot->view->rejected != NULL ? _ ("  rejected: ") : "", why != NULL ? why : "");
  }
}

static void
add_rms (GString *text, const WsTargetResult *result)
{
  g_autofree char *all = wsi_number_format (result->rms_all_px, 3);
  g_autofree char *kept = wsi_number_format (result->rms_px, 3);
  if (result->n_found > result->n_views)
    g_string_append_printf (
      text, _ ("RMS %s px over all %u boards found, %s px over the %u that it rests on\n"), all,
      result->n_found, kept, result->n_views);
  else
    g_string_append_printf (text,
                            result->n_views == 1 ? _ ("RMS %s px over %u board\n")
                                                 : _ ("RMS %s px over %u boards\n"),
                            kept, result->n_views);
}

char *
ws_report_target_text (const WsTargetDone *done)
{
  GString *text = g_string_new (NULL);
  const WsCalibration *calibration = done->calibration;
  const WsLens *lens = &calibration->lens;
  g_autoptr (GDateTime) local = g_date_time_to_local (calibration->made);
  g_autofree char *made = g_date_time_format (local, "%Y-%m-%d %H:%M:%S %Z");
  g_autofree char *until = g_date_time_format (calibration->expires, "%Y-%m-%d");
  g_string_append_printf (text, _ ("%s, by %s, %s, valid until %s\n%s\n\n"), calibration->camera,
                          _ (calibration->method), made, until, calibration->id);
  add_rms (text, &done->result);
  add_value (text, _ ("mm_per_px in the plane"), ws_lens_mm_per_px (lens),
             ws_lens_u_mm_per_px (lens));
  if (lens->model == WS_LENS_PINHOLE)
    add_value (text, "distance_mm", ws_lens_distance_mm (lens, NULL),
               wsi_lens_propagate (lens, distance_through, NULL));
  add_intrinsics (text, lens);
  add_views (text, done);
  for (guint i = 0; i < calibration->remarks->len; i++)
  {
    g_autofree char *remark = wsi_told_text (g_ptr_array_index (calibration->remarks, i));
    g_string_append_printf (text, "%s- %s\n", i == 0 ? "\n" : "", remark);
  }
  return g_string_free (text, FALSE);
}

/* ---- Picture ------------------------------------------------------------------------------------
 */

static char *
subtitle_of (const WsTargetDone *done)
{
  g_autofree char *px = wsi_number_format (done->result.rms_px, 3);
  g_autofree char *scale = wsi_number_format (1000 * ws_lens_mm_per_px (&done->result.lens), 4);
  return g_strdup_printf (
    _ ("%s · %s µm/px in the measuring plane · corners: RMS %s px in %u views"),
    done->calibration->id, scale, px, done->result.n_views);
}

/* Of WsResidual: all corners of all boards found. */
static GArray *
residuals_of (const WsTargetDone *done)
{
  const guint n = done->board.columns * done->board.rows;
  GArray *residuals = g_array_new (FALSE, FALSE, sizeof (WsResidual));
  for (guint v = 0; v < done->shots->len; v++)
  {
    const WsTargetView *view = wsi_target_shot (done, v)->view;
    for (guint i = 0; view->residuals != NULL && i < n; i++)
    {
      const WsResidual residual = { view->corners[i], view->residuals[i], view->rejected != NULL };
      g_array_append_val (residuals, residual);
    }
  }
  return residuals;
}

GBytes *
ws_report_target_chart (const WsTargetDone *done, GError **error)
{
  g_autofree char *subtitle = subtitle_of (done);
  g_autofree char *title = g_strdup_printf (_ ("%s: residuals of the calibration by a chessboard"),
                                            done->calibration->camera);
  g_autoptr (GArray) residuals = residuals_of (done);
  const WsResidualChart chart = { .title = title,
                                  .subtitle = subtitle,
                                  .width = done->result.lens.width,
                                  .height = done->result.lens.height,
                                  .mm_per_px = ws_lens_mm_per_px (&done->result.lens),
                                  .residuals = (const WsResidual *)(const void *)residuals->data,
                                  .n_residuals = residuals->len };
  return wsi_report_residuals (&chart, error);
}
