#include "cli/calibrate_shots.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <whetsight/error.h>
#include <whetsight/report.h>

#include "base/file.h"
#include "base/number.h"
#include "cli/calibrate.h"
#include "cli/fail.h"
#include "maths/stats.h"
#include "optics/lens.h"

static void
seen_free (gpointer data)
{
  WsShotSeen *seen = data;
  g_free (seen->name);
  g_free (seen->sha256);
  g_free (seen->rejected);
  g_free (seen);
}

static void
job_clear (WsCalibrateJob *job)
{
  g_clear_pointer (&job->shots, g_ptr_array_unref);
  g_clear_pointer (&job->seen, g_ptr_array_unref);
  g_clear_pointer (&job->widths, g_array_unref);
  g_clear_pointer (&job->marks, g_array_unref);
  g_clear_pointer (&job->lines, g_array_unref);
  ws_calibration_free (job->calibration);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsCalibrateJob, job_clear)

/* ---- Options -------------------------------------------------------------------------- */

const WsOption ws_shots_options[] = {
  { WS_OPTION_NUMBER, "diameter-u", 0, G_STRUCT_OFFSET (WsShotsOptions, u), "MM",
    "Standard uncertainty of the diameters by their certificate", &ws_check_mm_or_0 },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (WsShotsOptions, out), "NAME.calib",
    "Write the calibration there", NULL },
  { WS_OPTION_FILE, "residuals", 0, G_STRUCT_OFFSET (WsShotsOptions, residuals), "FILE.png",
    "Write the picture of residuals there, NAME.residuals.png by default", NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (WsShotsOptions, camera), "TEXT",
    "What you call this camera in this place; NAME by default", NULL },
  { WS_OPTION_TEXT, "certificate", 0, G_STRUCT_OFFSET (WsShotsOptions, certificate), "TEXT",
    "Number of the certificate of the diameters", NULL },
  { WS_OPTION_NUMBER, "valid-days", 0, G_STRUCT_OFFSET (WsShotsOptions, valid_days), "N",
    "Days until it expires, " G_STRINGIFY (WS_CALIBRATE_VALID_DAYS) " by default", &ws_check_days },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (WsShotsOptions, json), NULL,
    "Print the summary as JSON", NULL },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (WsShotsOptions, images), "[PICTURE…]", NULL, NULL },
  WS_OPTIONS_END
};

const char ws_shots_notes[] =
  "u_mm is the standard uncertainty (k = 1) of each diameter; the list's file names are relative "
  "to\nits folder. Two or more diameters tell how much the edges bloom, too.";

static void
shot_destroy (gpointer data)
{
  ws_shot_free (data);
}

/* The same thing in all pictures. */
static gboolean
read_one_artefact (const WsCalibrateMethod *method, const WsShotsOptions *options,
                   WsCalibrateJob *job, GError **error)
{
  const double size = ws_option_number (options->diameter, options->outer);
  const double hole = options->inner, u = ws_option_number (options->u, 0);
  if (isnan (size) && isnan (hole))
    return ws_refuse (error, WS_ERROR_USAGE, "give --shots, or %s and pictures",
                      method->kind == WS_SHOT_PIN ? "--diameter" : "--outer, --inner");
  if (hole >= size)
    return ws_refuse (error, WS_ERROR_USAGE, "--inner: expected less than --outer");
  if (options->images == NULL)
    return ws_refuse (error, WS_ERROR_USAGE, "name at least one picture");
  job->shots = g_ptr_array_new_with_free_func (shot_destroy);
  for (gsize i = 0; options->images[i] != NULL; i++)
  {
    WsShot *shot = ws_shot_new (g_strdup (options->images[i]), method->kind);
    shot->size_mm = size;
    shot->hole_mm = hole;
    shot->u_mm = u;
    g_ptr_array_add (job->shots, shot);
  }
  return TRUE;
}

static gboolean
read_list (const WsCalibrateMethod *method, const WsShotsOptions *options, WsCalibrateJob *job,
           GError **error)
{
  if (options->images != NULL || !isnan (options->diameter) || !isnan (options->outer) ||
      !isnan (options->inner) || !isnan (options->u))
    return ws_refuse (error, WS_ERROR_USAGE,
                      "--shots: the list tells pictures and sizes; leave out the others");
  job->shots = ws_shots_load (options->shots, error);
  if (job->shots == NULL)
    return FALSE;
  const WsShot *first = g_ptr_array_index (job->shots, 0);
  if (first->kind == method->kind)
    return TRUE;
  return ws_refuse (error, WS_ERROR_DATA, "%s: %s", options->shots,
                    first->kind == WS_SHOT_PIN ? "lists pins; use whetsight calibrate pin"
                                               : "lists discs; use whetsight calibrate disc");
}

/* Nothing that was read may be overwritten, and a long job shouldn't fail at its end. */
static gboolean
check_output (const WsShotsOptions *options, const WsCalibrateJob *job, const char *path,
              GError **error)
{
  if (!ws_calibrate_check_folder (path, error) ||
      (options->shots != NULL && !ws_calibrate_check_input (path, options->shots, error)))
    return FALSE;
  for (guint i = 0; i < job->shots->len; i++)
  {
    const WsShot *shot = g_ptr_array_index (job->shots, i);
    if (!ws_calibrate_check_input (path, shot->path, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
prepare (const WsCalibrateMethod *method, WsShotsOptions *options, WsCalibrateJob *job,
         GError **error)
{
  if (options->out == NULL)
    return ws_refuse (error, WS_ERROR_USAGE, "--out: name the calibration to write");
  g_autofree char *stem = ws_calibrate_stem (options->out);
  if (options->residuals == NULL)
    options->residuals = g_strconcat (stem, ".residuals.png", NULL);
  if (options->camera == NULL)
    options->camera = g_path_get_basename (stem);
  const gboolean listed = options->shots != NULL;
  if (!(listed ? read_list : read_one_artefact) (method, options, job, error))
    return FALSE;
  if (ws_calibrate_same_file (options->out, options->residuals))
    return ws_refuse (error, WS_ERROR_USAGE, "--residuals: give it another name than --out");
  return check_output (options, job, options->out, error) &&
         check_output (options, job, options->residuals, error);
}

/* ---- Measuring ------------------------------------------------------------------------- */

guint
ws_calibrate_add_width (WsCalibrateJob *job, const WsShotWidth *width)
{
  g_array_append_vals (job->widths, width, 1);
  return job->widths->len - 1;
}

static char *
measure_picture (const WsCalibrateMethod *method, const WsImage *image, WsCalibrateJob *job,
                 guint shot, WsShotSeen *seen)
{
  if (job->picture_width == 0)
  {
    job->picture_width = image->width;
    job->picture_height = image->height;
  }
  if (image->width != job->picture_width || image->height != job->picture_height)
    return g_strdup_printf ("%u x %u pixels, not %u x %u like the first", image->width,
                            image->height, job->picture_width, job->picture_height);
  return method->measure (image, job, shot, seen);
}

/* A damaged picture is left out like one that can't be measured; one that is missing means that
 * the call is wrong. */
static gboolean
measure_shot (const WsCalibrateMethod *method, WsCalibrateJob *job, guint i, GError **error)
{
  const WsShot *shot = g_ptr_array_index (job->shots, i);
  WsShotSeen *seen = g_new0 (WsShotSeen, 1);
  g_ptr_array_add (job->seen, seen);
  seen->name = g_path_get_basename (shot->path);
  if (isatty (STDERR_FILENO))
    fprintf (stderr, "%u/%u %s\n", i + 1, job->shots->len, seen->name);
  GError *local = NULL;
  g_autoptr (WsImage) image = ws_image_load (shot->path, NULL, WS_IMAGE_GREY, &local);
  if (image != NULL)
  {
    seen->sha256 = g_strdup (image->sha256);
    seen->rejected = measure_picture (method, image, job, i, seen);
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
measure_all (const WsCalibrateMethod *method, WsCalibrateJob *job, GError **error)
{
  job->seen = g_ptr_array_new_with_free_func (seen_free);
  job->widths = g_array_new (FALSE, FALSE, sizeof (WsShotWidth));
  job->marks = g_array_new (FALSE, FALSE, sizeof (WsShotMark));
  job->lines = g_array_new (FALSE, FALSE, sizeof (WsPoint));
  for (guint i = 0; i < job->shots->len; i++)
    if (!measure_shot (method, job, i, error))
      return FALSE;
  if (job->widths->len > 0)
    return TRUE;
  const WsShotSeen *first = g_ptr_array_index (job->seen, 0);
  return ws_refuse (error, WS_ERROR_DATA, "no picture can be measured; %s: %s", first->name,
                    first->rejected != NULL ? first->rejected : "no size is known");
}

/* ---- The fit ----------------------------------------------------------------------------- */

static WsShotWidth *
width_at (const WsCalibrateJob *job, guint i)
{
  return &g_array_index (job->widths, WsShotWidth, i);
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
number_artefacts (WsCalibrateJob *job)
{
  guint next = 0;
  for (guint i = 0; i < job->widths->len; i++)
  {
    WsShotWidth *width = width_at (job, i);
    guint k = 0;
    while (k < i && !same_artefact (width, width_at (job, k)))
      k++;
    width->width.artefact = k < i ? width_at (job, k)->width.artefact : next++;
  }
}

static double
u_shift (const WsCalibrateJob *job)
{
  double greatest = 0;
  for (guint i = 0; i < job->widths->len; i++)
  {
    const WsShotSeen *seen = g_ptr_array_index (job->seen, width_at (job, i)->shot);
    greatest = MAX (greatest, ws_scale_fit_u_shift (seen->blur_px, seen->is_clipped));
  }
  return greatest;
}

static gboolean
fit (WsCalibrateJob *job, GError **error)
{
  const guint n = job->widths->len;
  number_artefacts (job);
  g_autofree WsScaleWidth *widths = g_new (WsScaleWidth, n);
  g_autofree WsScaleResidual *residuals = g_new0 (WsScaleResidual, n);
  for (guint i = 0; i < n; i++)
    widths[i] = width_at (job, i)->width;
  if (!ws_scale_fit (widths, n, u_shift (job), &job->fit, residuals))
    return ws_refuse (
      error, WS_ERROR_DATA,
      "the sizes don't agree: fewer than half of them fit one scale; check sizes and "
      "pictures");
  for (guint i = 0; i < n; i++)
    width_at (job, i)->residual = residuals[i];
  return TRUE;
}

/* ---- The calibration ---------------------------------------------------------------------- */

/* A shot counts when one of its widths does. */
static void
judge_shot (WsCalibrateJob *job, guint shot, double *rms)
{
  WsShotSeen *seen = g_ptr_array_index (job->seen, shot);
  double squares = 0, worst = 0;
  guint used = 0, n = 0;
  for (guint i = 0; i < job->widths->len; i++)
  {
    const WsShotWidth *width = width_at (job, i);
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
  g_autofree char *px = ws_number_format (fabs (worst), 2);
  g_autofree char *um = ws_number_format (1000 * fabs (worst) * job->fit.value[WS_LENS_T_SCALE], 1);
  seen->rejected =
    g_strdup_printf ("%s px (%s um) %s than the others say: wrong size, dirt, or out of place", px,
                     um, worst > 0 ? "wider" : "narrower");
}

static void
add_sources (WsCalibrateJob *job)
{
  for (guint i = 0; i < job->shots->len; i++)
  {
    double rms;
    judge_shot (job, i, &rms);
    const WsShotSeen *seen = g_ptr_array_index (job->seen, i);
    ws_calibration_add_source (job->calibration, seen->name, seen->sha256, seen->rejected, rms);
  }
}

static void
add_artefacts (WsCalibrateJob *job, const char *certificate)
{
  guint next = 0;
  for (guint i = 0; i < job->widths->len; i++)
  {
    const WsShotWidth *width = width_at (job, i);
    if (width->width.artefact != next)
      continue;
    next++;
    g_autofree char *size = ws_number_format (width->width.size_mm, 4);
    g_autofree char *what =
      g_str_equal (width->part, "pin")
        ? g_strdup_printf ("pin %s mm", size)
        : g_strdup_printf ("%s diameter of a ring or disc, %s mm", width->part, size);
    ws_calibration_add_artefact (job->calibration, what, certificate, width->width.size_mm,
                                 width->width.u_mm);
  }
}

static void
make_calibration (const WsCalibrateMethod *method, const WsShotsOptions *options,
                  WsCalibrateJob *job)
{
  const double days = ws_option_number (options->valid_days, WS_CALIBRATE_VALID_DAYS);
  WsCalibration *calibration = ws_calibration_new (method->name, options->camera);
  job->calibration = calibration;
  calibration->expires = g_date_time_add_days (calibration->made, (int)days);
  calibration->lens = ws_scale_fit_lens (&job->fit, job->picture_width, job->picture_height);
  add_sources (job);
  add_artefacts (job, options->certificate);
  ws_calibrate_add_remarks (job);
}

static gboolean
save_chart (const WsCalibrateJob *job, const char *path, GError **error)
{
  g_autoptr (GBytes) png = ws_calibrate_chart (job, error);
  return png != NULL &&
         ws_file_save (path, g_bytes_get_data (png, NULL), g_bytes_get_size (png), error);
}

static gboolean
print (const WsCalibrateJob *job, const WsShotsOptions *options, GError **error)
{
  g_autofree char *words =
    options->json ? ws_calibrate_json (job, options->out) : ws_calibrate_text (job);
  const int wrote = options->json
                      ? printf ("%s\n", words)
                      : printf ("%s\nwritten: %s, %s\n", words, options->out, options->residuals);
  return (wrote >= 0 && fflush (stdout) == 0) ||
         ws_refuse (error, WS_ERROR_CANT_WRITE, "can't write to standard output");
}

int
ws_calibrate_by_shots (const WsCalibrateMethod *method, WsShotsOptions *options)
{
  g_auto (WsCalibrateJob) job = { 0 };
  GError *error = NULL;
  if (!prepare (method, options, &job, &error) || !measure_all (method, &job, &error) ||
      !fit (&job, &error))
    return ws_fail (error);
  make_calibration (method, options, &job);
  if (!ws_calibration_save (job.calibration, options->out, &error) ||
      !save_chart (&job, options->residuals, &error) || !print (&job, options, &error))
    return ws_fail (error);
  return WS_EXIT_ACCEPT;
}
