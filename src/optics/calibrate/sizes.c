#include "optics/calibrate/sizes.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>

#include "base/number.h"
#include "image/taken.h"
#include "optics/calibration.h"

static gboolean refuse (GError **error, const char *format, ...) G_GNUC_PRINTF (2, 3);

static gboolean
refuse (GError **error, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autoptr (GError) cause = g_error_new_valist (WS_ERROR, WS_ERROR_DATA, format, arguments);
  va_end (arguments);
  g_propagate_error (error, g_steal_pointer (&cause));
  return FALSE;
}

/* ---- Measuring ------------------------------------------------------------------------- */

static void
seen_free (gpointer data)
{
  WsShotSeen *seen = data;
  g_free (seen->name);
  g_free (seen->sha256);
  g_free (seen->rejected);
  g_free (seen);
}

static char *
measure_picture (const WsSizesMethod *method, const WsImage *image, WsSizesDone *done, guint shot,
                 WsShotSeen *seen)
{
  if (done->picture_width == 0)
  {
    done->picture_width = image->width;
    done->picture_height = image->height;
    done->taken = wsi_taken_copy (image->taken);
  }
  if (image->width != done->picture_width || image->height != done->picture_height)
    return g_strdup_printf ("%u x %u pixels, not %u x %u like the first", image->width,
                            image->height, done->picture_width, done->picture_height);
  char *difference = wsi_taken_difference (done->taken, image->taken, "the first");
  return difference != NULL ? difference : method->measure (image, done, shot, seen);
}

/* A damaged picture is left out like one that can't be measured; one that is missing means that
 * the call is wrong. */
static gboolean
measure_shot (const WsSizesMethod *method, WsSizesDone *done, guint i, const WsSteps *steps,
              GError **error)
{
  const WsShot *shot = g_ptr_array_index (done->shots, i);
  WsShotSeen *seen = g_new0 (WsShotSeen, 1);
  g_ptr_array_add (done->seen, seen);
  seen->name = g_path_get_basename (shot->path);
  const WsStep step = { NULL, seen->name, i + 1, done->shots->len };
  if (!ws_steps_tell (steps, &step, error))
    return FALSE;
  GError *local = NULL;
  g_autoptr (WsImage) image = ws_image_load (shot->path, NULL, WS_IMAGE_GREY, &local);
  if (image != NULL)
  {
    seen->sha256 = g_strdup (image->sha256);
    seen->rejected = measure_picture (method, image, done, i, seen);
    return TRUE;
  }
  if (ws_error_exit_status (local) != WS_ERROR_DATA)
  {
    g_propagate_error (error, local);
    return FALSE;
  }
  seen->rejected = g_strdup (local->message);
  g_error_free (local);
  return TRUE;
}

static gboolean
measure_all (const WsSizesMethod *method, WsSizesDone *done, const WsSteps *steps, GError **error)
{
  done->seen = g_ptr_array_new_with_free_func (seen_free);
  done->widths = g_array_new (FALSE, FALSE, sizeof (WsShotWidth));
  done->marks = g_array_new (FALSE, FALSE, sizeof (WsShotMark));
  done->lines = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < done->shots->len; i++)
    if (!measure_shot (method, done, i, steps, error))
      return FALSE;
  if (done->widths->len > 0)
    return TRUE;
  const WsShotSeen *first = g_ptr_array_index (done->seen, 0);
  return refuse (error, "no picture can be measured; %s: %s", first->name,
                 first->rejected != NULL ? first->rejected : "no size is known");
}

/* ---- The fit ----------------------------------------------------------------------------- */

static WsShotWidth *
width_at (const WsSizesDone *done, guint i)
{
  return &g_array_index (done->widths, WsShotWidth, i);
}

static gboolean
same_artefact (const WsShotWidth *a, const WsShotWidth *b)
{
  const double rounding = 1e-9; /* mm */
  return g_str_equal (a->part, b->part) && fabs (a->width.size_mm - b->width.size_mm) < rounding &&
         fabs (a->width.u_mm - b->width.u_mm) < rounding;
}

/* Equal sizes are taken for the same thing, whose error doesn't average out. */
static void
number_artefacts (WsSizesDone *done)
{
  guint next = 0;
  for (guint i = 0; i < done->widths->len; i++)
  {
    WsShotWidth *width = width_at (done, i);
    guint k = 0;
    while (k < i && !same_artefact (width, width_at (done, k)))
      k++;
    width->width.artefact = k < i ? width_at (done, k)->width.artefact : next++;
  }
}

static double
u_shift (const WsSizesDone *done)
{
  double greatest = 0;
  for (guint i = 0; i < done->widths->len; i++)
  {
    const WsShotSeen *seen = g_ptr_array_index (done->seen, width_at (done, i)->shot);
    greatest = MAX (greatest, wsi_scale_fit_u_shift (seen->blur_px, seen->is_clipped));
  }
  return greatest;
}

static gboolean
fit (WsSizesDone *done, GError **error)
{
  const guint n = done->widths->len;
  number_artefacts (done);
  g_autofree WsScaleWidth *widths = g_new (WsScaleWidth, n);
  g_autofree WsScaleResidual *residuals = g_new0 (WsScaleResidual, n);
  for (guint i = 0; i < n; i++)
    widths[i] = width_at (done, i)->width;
  if (!wsi_scale_fit (widths, n, u_shift (done), &done->fit, residuals))
    return refuse (error,
                   "the sizes don't agree: fewer than half of them fit one scale; check sizes and "
                   "pictures");
  for (guint i = 0; i < n; i++)
    width_at (done, i)->residual = residuals[i];
  return TRUE;
}

/* ---- The calibration ---------------------------------------------------------------------- */

/* A shot counts when one of its widths does. */
static void
judge_shot (WsSizesDone *done, guint shot, double *rms)
{
  WsShotSeen *seen = g_ptr_array_index (done->seen, shot);
  double squares = 0, worst = 0;
  guint used = 0, n = 0;
  for (guint i = 0; i < done->widths->len; i++)
  {
    const WsShotWidth *width = width_at (done, i);
    if (width->shot != shot)
      continue;
    n++;
    used += width->residual.rejected ? 0 : 1;
    squares += width->residual.rejected ? 0 : width->residual.px * width->residual.px;
    worst = fabs (width->residual.px) > fabs (worst) ? width->residual.px : worst;
  }
  *rms = used > 0 ? sqrt (squares / used) : (double)NAN;
  if (n == 0 || used > 0)
    return;
  g_autofree char *px = wsi_number_format (fabs (worst), 2);
  g_autofree char *um =
    wsi_number_format (1000 * fabs (worst) * done->fit.value[WS_LENS_T_SCALE], 1);
  seen->rejected =
    g_strdup_printf ("%s px (%s um) %s than the others say: wrong size, dirt, or out of place", px,
                     um, worst > 0 ? "wider" : "narrower");
}

static void
add_sources (WsSizesDone *done)
{
  for (guint i = 0; i < done->shots->len; i++)
  {
    double rms;
    judge_shot (done, i, &rms);
    const WsShotSeen *seen = g_ptr_array_index (done->seen, i);
    wsi_calibration_add_source (done->calibration, seen->name, seen->sha256, seen->rejected, rms);
  }
}

static void
add_artefacts (WsSizesDone *done, const char *certificate)
{
  guint next = 0;
  for (guint i = 0; i < done->widths->len; i++)
  {
    const WsShotWidth *width = width_at (done, i);
    if (width->width.artefact != next)
      continue;
    next++;
    g_autofree char *size = wsi_number_format (width->width.size_mm, 4);
    g_autofree char *what =
      g_str_equal (width->part, "pin")
        ? g_strdup_printf ("pin %s mm", size)
        : g_strdup_printf ("%s diameter of a ring or disc, %s mm", width->part, size);
    wsi_calibration_add_artefact (done->calibration, what, certificate, width->width.size_mm,
                                  width->width.u_mm);
  }
}

static void
make_calibration (const WsSizesMethod *method, const WsCalibrateOptions *options, WsSizesDone *done)
{
  WsCalibration *calibration = wsi_calibration_new (method->name, options->camera);
  done->calibration = calibration;
  calibration->expires = g_date_time_add_days (calibration->made, (int)options->valid_days);
  calibration->lens = wsi_scale_fit_lens (&done->fit, done->picture_width, done->picture_height);
  calibration->taken = wsi_taken_copy (done->taken);
  add_sources (done);
  add_artefacts (done, options->certificate);
  wsi_sizes_add_remarks (done);
}

static const WsSizesMethod *
method_for (const GPtrArray *shots, GError **error)
{
  const WsShotKind kind =
    shots->len > 0 ? ((const WsShot *)g_ptr_array_index (shots, 0))->kind : WS_SHOT_BOARD;
  for (guint i = 0; i < shots->len; i++)
    if (((const WsShot *)g_ptr_array_index (shots, i))->kind != kind || kind == WS_SHOT_BOARD)
      break;
    else if (i + 1 == shots->len)
      return kind == WS_SHOT_PIN ? &wsi_sizes_pin : &wsi_sizes_disc;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                       "expected pictures that all show pins, or all rings and discs");
  return NULL;
}

WsSizesDone *
ws_calibrate_sizes (const GPtrArray *shots, const WsCalibrateOptions *options, GError **error)
{
  const WsSizesMethod *method = method_for (shots, error);
  if (method == NULL)
    return NULL;
  g_autoptr (WsSizesDone) done = g_new0 (WsSizesDone, 1);
  done->shots = shots;
  if (!measure_all (method, done, &options->steps, error) || !fit (done, error))
    return NULL;
  make_calibration (method, options, done);
  done->shots = NULL;
  return g_steal_pointer (&done);
}
