/*
 * What a calibration by a chessboard says: remarks, summary, picture of residuals.
 */
#include "cli/calibrate_target.h"

#include <math.h>
#include <stdio.h>

#include "base/geometry.h"
#include "base/number.h"
#include "optics/lens.h"
#include "optics/propagate.h"
#include "report/chart/residuals.h"

#define COVERAGE 2.0

/* Share of the picture that the corners should span.  Own choice. */
#define GOOD_SPAN 0.6

/* degrees: a board tilted more has its scale less well.  Own choice. */
#define GOOD_TILT_DEG 1.5

WsTargetShot *
ws_target_shot (const WsTargetJob *job, guint i)
{
  return g_ptr_array_index (job->shots, i);
}

WsTargetView **
ws_target_views (const WsTargetJob *job)
{
  WsTargetView **views = g_new (WsTargetView *, job->shots->len);
  for (guint i = 0; i < job->shots->len; i++)
    views[i] = ws_target_shot (job, i)->view;
  return views;
}

/* ---- Remarks ---------------------------------------------------------------------------- */

static void remark (WsTargetJob *job, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
remark (WsTargetJob *job, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  ws_calibration_add_remark (job->calibration, g_strdup_vprintf (format, arguments));
  va_end (arguments);
}

void
ws_target_add_remarks (WsTargetJob *job)
{
  const WsTargetBoard *board = &job->options->board;
  const WsTargetResult *result = &job->result;
  g_autofree WsTargetView **views = ws_target_views (job);
  const WsTargetView *const *seen = (const WsTargetView *const *)views;
  if (!(board->u_square_mm > 0))
    remark (job, "no uncertainty is given for the squares (--square-u); it is taken as 0, so U of "
                 "all lengths may be too small");
  remark (job, "a chessboard can't tell how much edges bloom: edge shift taken as 0; check with a "
               "pin of known diameter");
  if (ws_target_span (board, seen, job->shots->len, 0) < GOOD_SPAN ||
      ws_target_span (board, seen, job->shots->len, 1) < GOOD_SPAN)
    remark (job, "the boards leave much of the picture's rim empty, where the distortion is only "
                 "extrapolated; measure in the middle, or take views with the board there");
  if (result->tilt_deg > GOOD_TILT_DEG)
    remark (job,
            "the board seems to be tilted by %.1f degrees; it makes the scale less certain, so lay "
            "it flat",
            result->tilt_deg);
}

/* ---- Summary ----------------------------------------------------------------------------------
 */

static void
print_value (const char *name, double value, double u)
{
  const double U = COVERAGE * u;
  const guint places = U > 0 ? (guint)CLAMP (1 - floor (log10 (U)), 0, 12) : 6;
  g_autofree char *shown = ws_number_format (value, places);
  g_autofree char *with = ws_number_format (U, places);
  printf ("%-24s %14s   U %s\n", name, shown, with);
}

static void
print_fixed (const char *name)
{
  printf ("%-24s %14s\n", name, "0, not needed");
}

static void
print_intrinsics (const WsLens *lens)
{
  const guint n = ws_lens_n_parameters (lens->model);
  const guint last = lens->model == WS_LENS_PINHOLE ? WS_LENS_P_K3 : WS_LENS_T_K1;
  for (guint i = WS_LENS_EDGE_SHIFT + 1; i <= last; i++)
  {
    const double variance = lens->covariance[i * n + i];
    if (lens->model == WS_LENS_TELECENTRIC && i == WS_LENS_T_SCALE)
      continue;
    if (variance > 0)
      print_value (ws_lens_parameter_name (lens->model, i), lens->parameters[i], sqrt (variance));
    else
      print_fixed (ws_lens_parameter_name (lens->model, i));
  }
}

static double
distance_through (const WsLens *lens, gconstpointer data)
{
  (void)data;
  return ws_lens_distance_mm (lens, NULL);
}

static void
print_views (const WsTargetJob *job)
{
  printf ("\n%-28s %8s\n", "picture", "RMS px");
  for (guint i = 0; i < job->shots->len; i++)
  {
    const WsTargetShot *shot = ws_target_shot (job, i);
    g_autofree char *rms =
      isfinite (shot->view->rms_px) ? ws_number_format (shot->view->rms_px, 3) : g_strdup ("-");
    printf ("%-28s %8s%s%s%s\n", shot->name, rms, i == job->plane ? "  measuring plane" : "",
            shot->view->rejected != NULL ? "  rejected: " : "",
            shot->view->rejected != NULL ? shot->view->rejected : "");
  }
}

static void
print_rms (const WsTargetResult *result)
{
  g_autofree char *all = ws_number_format (result->rms_all_px, 3);
  g_autofree char *kept = ws_number_format (result->rms_px, 3);
  if (result->n_found > result->n_views)
    printf ("RMS %s px over all %u boards found, %s px over the %u that it rests on\n", all,
            result->n_found, kept, result->n_views);
  else
    printf ("RMS %s px over %u board%s\n", kept, result->n_views, result->n_views == 1 ? "" : "s");
}

void
ws_target_print (const WsTargetJob *job)
{
  const WsCalibration *calibration = job->calibration;
  const WsLens *lens = &calibration->lens;
  g_autofree char *made = g_date_time_format (calibration->made, "%Y-%m-%d %H:%M:%S UTC");
  g_autofree char *until = g_date_time_format (calibration->expires, "%Y-%m-%d");
  printf ("%s, by %s, %s, valid until %s\n%s\n\n", calibration->camera, calibration->method, made,
          until, calibration->id);
  print_rms (&job->result);
  print_value ("mm_per_px in the plane", ws_lens_mm_per_px (lens), ws_lens_u_mm_per_px (lens));
  if (lens->model == WS_LENS_PINHOLE)
    print_value ("distance_mm", ws_lens_distance_mm (lens, NULL),
                 ws_lens_propagate (lens, distance_through, NULL));
  print_intrinsics (lens);
  print_views (job);
  for (guint i = 0; i < calibration->remarks->len; i++)
    printf ("%s- %s\n", i == 0 ? "\n" : "",
            (const char *)g_ptr_array_index (calibration->remarks, i));
}

/* ---- Picture ------------------------------------------------------------------------------------
 */

static char *
subtitle_of (const WsTargetJob *job)
{
  g_autofree char *px = ws_number_format (job->result.rms_px, 3);
  g_autofree char *scale = ws_number_format (1000 * ws_lens_mm_per_px (&job->result.lens), 4);
  return g_strdup_printf ("%s · %s µm/px in the measuring plane · corners: RMS %s px in %u views",
                          job->calibration->id, scale, px, job->result.n_views);
}

/* Of WsResidual: all corners of all boards found. */
static GArray *
residuals_of (const WsTargetJob *job)
{
  const guint n = job->options->board.columns * job->options->board.rows;
  GArray *residuals = g_array_new (FALSE, FALSE, sizeof (WsResidual));
  for (guint v = 0; v < job->shots->len; v++)
  {
    const WsTargetView *view = ws_target_shot (job, v)->view;
    for (guint i = 0; view->residuals != NULL && i < n; i++)
    {
      const WsResidual residual = { view->corners[i], view->residuals[i], view->rejected != NULL };
      g_array_append_val (residuals, residual);
    }
  }
  return residuals;
}

GBytes *
ws_target_chart (const WsTargetJob *job, GError **error)
{
  g_autofree char *subtitle = subtitle_of (job);
  g_autofree char *title =
    g_strdup_printf ("%s: residuals of the calibration by a chessboard", job->calibration->camera);
  g_autoptr (GArray) residuals = residuals_of (job);
  const WsResidualChart chart = { .title = title,
                                  .subtitle = subtitle,
                                  .width = job->result.lens.width,
                                  .height = job->result.lens.height,
                                  .mm_per_px = ws_lens_mm_per_px (&job->result.lens),
                                  .residuals = (const WsResidual *)(const void *)residuals->data,
                                  .n_residuals = residuals->len };
  return ws_report_residuals (&chart, error);
}
