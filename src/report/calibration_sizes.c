/*
 * What a calibration by pins, rings or discs says: text, JSON, picture of residuals.
 */
#include <jansson.h>
#include <math.h>

#include <whetsight/report.h>

#include "base/geometry.h"
#include "base/language.h"
#include "base/number.h"
#include "base/told_text.h"
#include "optics/calibrate/sizes.h"
#include "optics/calibration.h"
#include "report/chart/residuals.h"

/* ---- Text ---------------------------------------------------------------------------------- */

static void
add_value (GString *text, const char *name, double value, double U)
{
  const guint places = U > 0 ? (guint)CLAMP (1 - floor (log10 (U)), 0, 12) : 6;
  g_autofree char *shown = wsi_number_format (value, places);
  g_autofree char *with = wsi_number_format (U, places);
  g_string_append_printf (text, "%-16s %14s   U %s\n", name, shown, with);
}

static void
add_parameters (const WsSizesDone *done, GString *text)
{
  const WsLens *lens = &done->calibration->lens;
  static const guint order[] = { WS_LENS_T_SCALE, WS_LENS_EDGE_SHIFT, WS_LENS_T_K1 };
  for (guint i = 0; i < G_N_ELEMENTS (order); i++)
    add_value (text, wsi_lens_parameter_name (lens->model, order[i]), done->fit.value[order[i]],
               wsi_sizes_U (done, order[i]));
  g_autofree char *px = wsi_number_format (done->fit.residual_px, 4);
  g_autofree char *um = wsi_number_format (wsi_sizes_um (done, done->fit.residual_px), 3);
  g_string_append_printf (text, _ ("%-16s %14s um = %s px, of %u widths\n"), _ ("residual RMS"), um,
                          px, done->fit.n_used);
}

static void
add_width_row (const WsSizesDone *done, const WsShotWidth *width, GString *text)
{
  g_autofree char *size = wsi_number_format (width->width.size_mm, 4);
  g_autofree char *seen = wsi_number_format (width->width.width_px, 3);
  g_autofree char *px = wsi_number_format (width->residual.px, 4);
  g_autofree char *um = wsi_number_format (wsi_sizes_um (done, width->residual.px), 2);
  g_string_append_printf (text, "%-28s %-6s %10s %11s %10s %10s%s\n",
                          wsi_sizes_seen (done, width->shot)->name, _ (width->part), size, seen, um,
                          px, width->residual.rejected ? _ ("  left out") : "");
}

char *
ws_report_sizes_text (const WsSizesDone *done)
{
  const WsCalibration *calibration = done->calibration;
  GString *text = g_string_new (NULL);
  g_autoptr (GDateTime) local = g_date_time_to_local (calibration->made);
  g_autofree char *made = g_date_time_format (local, "%Y-%m-%d %H:%M:%S %Z");
  g_autofree char *until = g_date_time_format (calibration->expires, "%Y-%m-%d");
  g_string_append_printf (text, _ ("%s, by %s, %s, valid until %s\n%s\n\n"), calibration->camera,
                          _ (calibration->method), made, until, calibration->id);
  add_parameters (done, text);
  g_string_append_printf (text, "\n%-28s %-6s %10s %11s %10s %10s\n", _ ("picture"), _ ("part"),
                          _ ("size mm"), _ ("width px"), _ ("off um"), _ ("off px"));
  for (guint i = 0; i < done->widths->len; i++)
    add_width_row (done, wsi_sizes_width (done, i), text);
  for (guint i = 0; i < done->seen->len; i++)
    if (wsi_sizes_seen (done, i)->rejected != NULL)
    {
      g_autofree char *why = wsi_told_text (wsi_sizes_seen (done, i)->rejected);
      g_string_append_printf (text, _ ("rejected: %s: %s\n"), wsi_sizes_seen (done, i)->name, why);
    }
  for (guint i = 0; i < calibration->remarks->len; i++)
  {
    g_autofree char *remark = wsi_told_text (g_ptr_array_index (calibration->remarks, i));
    g_string_append_printf (text, "%s- %s\n", i == 0 ? "\n" : "", remark);
  }
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
width_json (const WsSizesDone *done, const WsShotWidth *width)
{
  json_t *entry = json_object ();
  json_object_set_new (entry, "file", text_or_null (wsi_sizes_seen (done, width->shot)->name));
  json_object_set_new (entry, "part", json_string (width->part));
  json_object_set_new (entry, "size_mm", json_real (width->width.size_mm));
  json_object_set_new (entry, "u_mm", json_real (width->width.u_mm));
  json_object_set_new (entry, "width_px", json_real (width->width.width_px));
  json_object_set_new (entry, "u_px", json_real (width->width.u_px));
  json_object_set_new (entry, "residual_px", json_real (width->residual.px));
  json_object_set_new (entry, "residual_um", json_real (wsi_sizes_um (done, width->residual.px)));
  json_object_set_new (entry, "used", json_boolean (!width->residual.rejected));
  return entry;
}

static json_t *
rejected_json (const WsSizesDone *done)
{
  json_t *rejected = json_array ();
  for (guint i = 0; i < done->seen->len; i++)
  {
    const WsShotSeen *seen = wsi_sizes_seen (done, i);
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
set_parameters (const WsSizesDone *done, json_t *object)
{
  for (guint p = 0; p < WS_LENS_T_N; p++)
  {
    const char *name = wsi_lens_parameter_name (WS_LENS_TELECENTRIC, p);
    g_autofree char *U_name = g_strdup_printf ("U_%s", name);
    json_object_set_new (object, name, json_real (done->fit.value[p]));
    json_object_set_new (object, U_name, json_real (wsi_sizes_U (done, p)));
  }
  json_object_set_new (object, "residual_rms_px", json_real (done->fit.residual_px));
  json_object_set_new (object, "residual_rms_um",
                       json_real (wsi_sizes_um (done, done->fit.residual_px)));
}

char *
ws_report_sizes_json (const WsSizesDone *done, const char *path)
{
  const WsCalibration *calibration = done->calibration;
  json_t *object = json_object ();
  json_object_set_new (object, "id", text_or_null (calibration->id));
  json_object_set_new (object, "file", text_or_null (path));
  json_object_set_new (object, "sha256", text_or_null (calibration->sha256));
  json_object_set_new (object, "method", text_or_null (calibration->method));
  json_object_set_new (object, "camera", text_or_null (calibration->camera));
  set_parameters (done, object);
  json_t *widths = json_array (), *remarks = json_array ();
  for (guint i = 0; i < done->widths->len; i++)
    json_array_append_new (widths, width_json (done, wsi_sizes_width (done, i)));
  for (guint i = 0; i < calibration->remarks->len; i++)
    json_array_append_new (remarks, text_or_null (g_ptr_array_index (calibration->remarks, i)));
  json_object_set_new (object, "widths", widths);
  json_object_set_new (object, "rejected", rejected_json (done));
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
subtitle_of (const WsSizesDone *done)
{
  g_autofree char *px = wsi_number_format (done->fit.residual_px, 4);
  g_autofree char *um = wsi_number_format (wsi_sizes_um (done, done->fit.residual_px), 3);
  g_autofree char *scale = wsi_number_format (1000 * done->fit.value[WS_LENS_T_SCALE], 5);
  return g_strdup_printf (_ ("%s · %s µm/px · widths: RMS %s µm = %s px; half of it at each edge"),
                          done->calibration->id, scale, um, px);
}

GBytes *
ws_report_sizes_chart (const WsSizesDone *done, GError **error)
{
  g_autofree char *subtitle = subtitle_of (done);
  g_autofree char *title =
    g_strdup_printf (_ ("%s: residuals of the calibration by %s"), done->calibration->camera,
                     _ (done->calibration->method));
  g_autofree WsResidual *residuals = g_new (WsResidual, done->marks->len);
  for (guint i = 0; i < done->marks->len; i++)
  {
    const WsShotMark *mark = &g_array_index (done->marks, WsShotMark, i);
    const WsScaleResidual *off = &wsi_sizes_width (done, mark->width)->residual;
    residuals[i] =
      (WsResidual){ .where = mark->where,
                    .off = wsi_point (0.5 * off->px * mark->out.x, 0.5 * off->px * mark->out.y),
                    .left_out = off->rejected };
  }
  const WsResidualChart chart = { .title = title,
                                  .subtitle = subtitle,
                                  .width = done->picture_width,
                                  .height = done->picture_height,
                                  .mm_per_px = done->fit.value[WS_LENS_T_SCALE],
                                  .residuals = residuals,
                                  .n_residuals = done->marks->len,
                                  .lines = (const WsPoint *)(const void *)done->lines->data,
                                  .n_lines = done->lines->len / 2 };
  return wsi_report_residuals (&chart, error);
}
