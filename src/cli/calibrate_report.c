/*
 * What a calibration by shots says: remarks, summary, picture of residuals.
 */
#include "cli/calibrate_shots.h"

#include <jansson.h>
#include <math.h>

#include "base/geometry.h"
#include "base/number.h"
#include "optics/lens.h"
#include "report/chart/residuals.h"

#define COVERAGE 2.0

static const WsShotWidth *
width_at (const WsCalibrateJob *job, guint i)
{
  return &g_array_index (job->widths, WsShotWidth, i);
}

static const WsShotSeen *
seen_of (const WsCalibrateJob *job, guint shot)
{
  return g_ptr_array_index (job->seen, shot);
}

static double
U_of (const WsCalibrateJob *job, guint parameter)
{
  return COVERAGE * sqrt (job->fit.covariance[parameter * WS_LENS_T_N + parameter]);
}

static double
um_of (const WsCalibrateJob *job, double px)
{
  return 1000 * px * job->fit.value[WS_LENS_T_SCALE];
}

/* ---- Remarks ----------------------------------------------------------------------------- */

static void remark (WsCalibrateJob *job, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
remark (WsCalibrateJob *job, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  ws_calibration_add_remark (job->calibration, g_strdup_vprintf (format, arguments));
  va_end (arguments);
}

/* Shots that count, and those of them with clipped light. */
static void
count_clipped (const WsCalibrateJob *job, guint *clipped, guint *measured)
{
  *clipped = *measured = 0;
  for (guint i = 0; i < job->shots->len; i++)
  {
    const WsShotSeen *seen = seen_of (job, i);
    if (seen->rejected != NULL)
      continue;
    *measured += 1;
    *clipped += seen->is_clipped ? 1 : 0;
  }
}

static void
remark_light (WsCalibrateJob *job)
{
  guint clipped, measured;
  count_clipped (job, &clipped, &measured);
  if (clipped == 0)
    return;
  remark (
    job,
    "warning: the light is clipped (at full scale) in %u of %u pictures, so that edges bloom; "
    "the edge shift holds only for this very light and exposure; better expose the ground "
    "to 80 %% of full scale and calibrate again",
    clipped, measured);
}

static void
remark_shift (WsCalibrateJob *job)
{
  if (job->fit.has_shift)
    return;
  g_autofree char *U = ws_number_format (U_of (job, WS_LENS_EDGE_SHIFT), 1);
  remark (job,
          "one diameter can't tell how much edges bloom: edge shift taken as 0 with U = %s px; add "
          "a second diameter to know it",
          U);
}

static void
remark_certificates (WsCalibrateJob *job)
{
  guint without = 0;
  for (guint i = 0; i < job->shots->len; i++)
    without += ((const WsShot *)g_ptr_array_index (job->shots, i))->u_mm > 0 ? 0 : 1;
  if (without > 0)
    remark (
      job,
      "no uncertainty is given for the sizes in %u of %u pictures; it is taken as 0, so U may "
      "be too small",
      without, job->shots->len);
}

static void
remark_left_out (WsCalibrateJob *job)
{
  for (guint i = 0; i < job->widths->len; i++)
  {
    const WsShotWidth *width = width_at (job, i);
    const WsShotSeen *seen = seen_of (job, width->shot);
    if (!width->residual.rejected || seen->rejected != NULL)
      continue;
    g_autofree char *um = ws_number_format (um_of (job, width->residual.px), 1);
    remark (job, "%s: the %s diameter is left out, %s um off", seen->name, width->part, um);
  }
}

void
ws_calibrate_add_remarks (WsCalibrateJob *job)
{
  remark_light (job);
  remark_shift (job);
  remark_certificates (job);
  remark_left_out (job);
}

/* ---- Text ---------------------------------------------------------------------------------- */

static void
add_value (GString *text, const char *name, double value, double U)
{
  const guint places = U > 0 ? (guint)CLAMP (1 - floor (log10 (U)), 0, 12) : 6;
  g_autofree char *shown = ws_number_format (value, places);
  g_autofree char *with = ws_number_format (U, places);
  g_string_append_printf (text, "%-16s %14s   U %s\n", name, shown, with);
}

static void
add_parameters (const WsCalibrateJob *job, GString *text)
{
  const WsLens *lens = &job->calibration->lens;
  static const guint order[] = { WS_LENS_T_SCALE, WS_LENS_EDGE_SHIFT, WS_LENS_T_K1 };
  for (guint i = 0; i < G_N_ELEMENTS (order); i++)
    add_value (text, ws_lens_parameter_name (lens->model, order[i]), job->fit.value[order[i]],
               U_of (job, order[i]));
  g_autofree char *px = ws_number_format (job->fit.residual_px, 4);
  g_autofree char *um = ws_number_format (um_of (job, job->fit.residual_px), 3);
  g_string_append_printf (text, "%-16s %14s um = %s px, of %u widths\n", "residual RMS", um, px,
                          job->fit.n_used);
}

static void
add_width_row (const WsCalibrateJob *job, const WsShotWidth *width, GString *text)
{
  g_autofree char *size = ws_number_format (width->width.size_mm, 4);
  g_autofree char *seen = ws_number_format (width->width.width_px, 3);
  g_autofree char *px = ws_number_format (width->residual.px, 4);
  g_autofree char *um = ws_number_format (um_of (job, width->residual.px), 2);
  g_string_append_printf (text, "%-28s %-6s %10s %11s %10s %10s%s\n",
                          seen_of (job, width->shot)->name, width->part, size, seen, um, px,
                          width->residual.rejected ? "  left out" : "");
}

char *
ws_calibrate_text (const WsCalibrateJob *job)
{
  const WsCalibration *calibration = job->calibration;
  GString *text = g_string_new (NULL);
  g_autofree char *made = g_date_time_format (calibration->made, "%Y-%m-%d %H:%M:%S UTC");
  g_autofree char *until = g_date_time_format (calibration->expires, "%Y-%m-%d");
  g_string_append_printf (text, "%s, by %s, %s, valid until %s\n%s\n\n", calibration->camera,
                          calibration->method, made, until, calibration->id);
  add_parameters (job, text);
  g_string_append_printf (text, "\n%-28s %-6s %10s %11s %10s %10s\n", "picture", "part", "size mm",
                          "width px", "off um", "off px");
  for (guint i = 0; i < job->widths->len; i++)
    add_width_row (job, width_at (job, i), text);
  for (guint i = 0; i < job->shots->len; i++)
    if (seen_of (job, i)->rejected != NULL)
      g_string_append_printf (text, "rejected: %s: %s\n", seen_of (job, i)->name,
                              seen_of (job, i)->rejected);
  for (guint i = 0; i < calibration->remarks->len; i++)
    g_string_append_printf (text, "%s- %s\n", i == 0 ? "\n" : "",
                            (const char *)g_ptr_array_index (calibration->remarks, i));
  return g_string_free (text, FALSE);
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static json_t *
text_or_null (const char *text)
{
  g_autofree char *valid = text != NULL ? g_utf8_make_valid (text, -1) : NULL;
  return valid != NULL ? json_string (valid) : json_null ();
}

static json_t *
width_json (const WsCalibrateJob *job, const WsShotWidth *width)
{
  json_t *entry = json_object ();
  json_object_set_new (entry, "file", text_or_null (seen_of (job, width->shot)->name));
  json_object_set_new (entry, "part", json_string (width->part));
  json_object_set_new (entry, "size_mm", json_real (width->width.size_mm));
  json_object_set_new (entry, "u_mm", json_real (width->width.u_mm));
  json_object_set_new (entry, "width_px", json_real (width->width.width_px));
  json_object_set_new (entry, "u_px", json_real (width->width.u_px));
  json_object_set_new (entry, "residual_px", json_real (width->residual.px));
  json_object_set_new (entry, "residual_um", json_real (um_of (job, width->residual.px)));
  json_object_set_new (entry, "used", json_boolean (!width->residual.rejected));
  return entry;
}

static json_t *
rejected_json (const WsCalibrateJob *job)
{
  json_t *rejected = json_array ();
  for (guint i = 0; i < job->shots->len; i++)
  {
    const WsShotSeen *seen = seen_of (job, i);
    if (seen->rejected == NULL)
      continue;
    json_t *entry = json_object ();
    json_object_set_new (entry, "file", text_or_null (seen->name));
    json_object_set_new (entry, "reason", text_or_null (seen->rejected));
    json_array_append_new (rejected, entry);
  }
  return rejected;
}

static void
set_parameters (const WsCalibrateJob *job, json_t *object)
{
  for (guint p = 0; p < WS_LENS_T_N; p++)
  {
    const char *name = ws_lens_parameter_name (WS_LENS_TELECENTRIC, p);
    g_autofree char *U_name = g_strdup_printf ("U_%s", name);
    json_object_set_new (object, name, json_real (job->fit.value[p]));
    json_object_set_new (object, U_name, json_real (U_of (job, p)));
  }
  json_object_set_new (object, "residual_rms_px", json_real (job->fit.residual_px));
  json_object_set_new (object, "residual_rms_um", json_real (um_of (job, job->fit.residual_px)));
}

char *
ws_calibrate_json (const WsCalibrateJob *job, const char *path)
{
  const WsCalibration *calibration = job->calibration;
  json_t *object = json_object ();
  json_object_set_new (object, "id", text_or_null (calibration->id));
  json_object_set_new (object, "file", text_or_null (path));
  json_object_set_new (object, "sha256", text_or_null (calibration->sha256));
  json_object_set_new (object, "method", text_or_null (calibration->method));
  json_object_set_new (object, "camera", text_or_null (calibration->camera));
  set_parameters (job, object);
  json_t *widths = json_array (), *remarks = json_array ();
  for (guint i = 0; i < job->widths->len; i++)
    json_array_append_new (widths, width_json (job, width_at (job, i)));
  for (guint i = 0; i < calibration->remarks->len; i++)
    json_array_append_new (remarks, text_or_null (g_ptr_array_index (calibration->remarks, i)));
  json_object_set_new (object, "widths", widths);
  json_object_set_new (object, "rejected", rejected_json (job));
  json_object_set_new (object, "remarks", remarks);
  char *dump = json_dumps (object, JSON_COMPACT);
  char *line = g_strdup (dump);
  free (dump);
  json_decref (object);
  return line;
}

/* ---- Picture ----------------------------------------------------------------------------------
 */

static char *
subtitle_of (const WsCalibrateJob *job)
{
  g_autofree char *px = ws_number_format (job->fit.residual_px, 4);
  g_autofree char *um = ws_number_format (um_of (job, job->fit.residual_px), 3);
  g_autofree char *scale = ws_number_format (1000 * job->fit.value[WS_LENS_T_SCALE], 5);
  return g_strdup_printf ("%s · %s µm/px · widths: RMS %s µm = %s px; half of it at each edge",
                          job->calibration->id, scale, um, px);
}

GBytes *
ws_calibrate_chart (const WsCalibrateJob *job, GError **error)
{
  g_autofree char *subtitle = subtitle_of (job);
  g_autofree char *title = g_strdup_printf ("%s: residuals of the calibration by %s",
                                            job->calibration->camera, job->calibration->method);
  g_autofree WsResidual *residuals = g_new (WsResidual, job->marks->len);
  for (guint i = 0; i < job->marks->len; i++)
  {
    const WsShotMark *mark = &g_array_index (job->marks, WsShotMark, i);
    const WsScaleResidual *off = &width_at (job, mark->width)->residual;
    residuals[i] =
      (WsResidual){ .where = mark->where,
                    .off = ws_point (0.5 * off->px * mark->out.x, 0.5 * off->px * mark->out.y),
                    .left_out = off->rejected };
  }
  const WsResidualChart chart = { .title = title,
                                  .subtitle = subtitle,
                                  .width = job->picture_width,
                                  .height = job->picture_height,
                                  .mm_per_px = job->fit.value[WS_LENS_T_SCALE],
                                  .residuals = residuals,
                                  .n_residuals = job->marks->len,
                                  .lines = (const WsPoint *)(const void *)job->lines->data,
                                  .n_lines = job->lines->len / 2 };
  return ws_report_residuals (&chart, error);
}
