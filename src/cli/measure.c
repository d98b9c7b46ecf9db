#include <math.h>
#include <string.h>

#include <glib/gstdio.h>
#include <whetsight/whetsight.h>

#include "cli/deliver.h"
#include "cli/suggest.h"
#include "cli/verbs.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */

/* As typed. */
typedef struct
{
  char *tool;
  char *view;
  double scale;
  double scale_u;
  char *calib;
  char *camera;
  gboolean allow_expired;
  gboolean ignore_check;
  double max_megapixels;
  char *out;
  gboolean json;
  gboolean details;
  char *archive;
  char *station;
  char *grinder;
  gboolean reground;
  gboolean resume;
  gboolean again;
  int jobs;
  char **images;
} Options;

static void
delivery_clear (WsDelivery *delivery)
{
  ws_tool_card_free (delivery->card);
  ws_calibration_free (delivery->calibration);
  ws_archive_free (delivery->archive);
  g_free (delivery->settings);
  g_clear_pointer (&delivery->job.stored, g_hash_table_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsDelivery, delivery_clear)

/* A microscope with its strongest lens shows 0.0001 mm a pixel, and a drill of 100 mm, the largest
 * of its standards, is measured over 100 pixels at least. */
#define LEAST_MM_PER_PX 0.0001
#define MOST_MM_PER_PX 1.0

/* Most who are that far off count pixels in a millimetre instead. */
static gboolean
check_scale (double scale, GError **error)
{
  if (isnan (scale) || (scale >= LEAST_MM_PER_PX && scale <= MOST_MM_PER_PX))
    return TRUE;
  return wsi_refuse_usage (
    error,
    "--scale: %g mm a pixel; no tool of this trade is seen with pixels "
    "larger than %g mm or smaller than %g mm; %g pixels a millimetre would be "
    "--scale %.4g",
    scale, MOST_MM_PER_PX, LEAST_MM_PER_PX, scale, 1 / scale);
}

static gboolean
read_optics (const Options *options, WsOptics *optics, GError **error)
{
  *optics = (WsOptics)WS_OPTICS_UNKNOWN;
  optics->has_scale = !isnan (options->scale);
  if (!isnan (options->scale_u) && !optics->has_scale)
    return wsi_refuse_usage (error, "--scale-u: makes sense with --scale only");
  if (!check_scale (options->scale, error))
    return FALSE;
  optics->mm_per_px = wsi_option_number (options->scale, optics->mm_per_px);
  optics->u_mm_per_px = wsi_option_number (options->scale_u, optics->u_mm_per_px);
  return TRUE;
}

static gboolean
check_camera (const Options *options, const WsCalibration *calibration, GError **error)
{
  if (options->camera == NULL || g_str_equal (options->camera, ws_calibration_camera (calibration)))
    return TRUE;
  g_set_error (error, WS_ERROR, WS_ERROR_DATA,
               "%s: made for the camera \"%s\", not \"%s\"; use that camera's own calibration",
               options->calib, ws_calibration_camera (calibration), options->camera);
  return FALSE;
}

static gboolean
check_expiry (const Options *options, const WsCalibrationUse *use, GError **error)
{
  if (!use->expired || options->allow_expired)
    return TRUE;
  g_autofree char *day = g_date_time_format (ws_calibration_expires (use->calibration), "%Y-%m-%d");
  return wsi_refuse (error, WS_ERROR_DATA,
                     "%s: expired on %s; calibrate again, or use it all the same with "
                     "--allow-expired",
                     options->calib, day);
}

/* Told once a call; what it means for verdicts, the job sees to. */
static void
tell_failed_check (const Options *options, WsCalibrationUse *use)
{
  if (!g_str_equal (use->check, "failed"))
    return;
  use->check_ignored = options->ignore_check;
  g_printerr ("whetsight: %s: failed its check on %s; %s\n", options->calib, use->check_time,
              options->ignore_check ? "used all the same, as asked"
                                    : "nothing is accepted until a check passes");
}

static gboolean
read_calibration (const Options *options, WsDelivery *delivery, GError **error)
{
  WsCalibrationUse *use = &delivery->job.use;
  if (options->calib == NULL)
  {
    if (options->camera != NULL || options->allow_expired || options->ignore_check)
      return wsi_refuse_usage (error,
                               "--camera, --allow-expired and --ignore-failed-check make sense "
                               "with --calib only");
    return TRUE;
  }
  if (!isnan (options->scale))
    return wsi_refuse_usage (error, "give --calib or --scale, not both");
  delivery->calibration = ws_calibration_load (options->calib, error);
  if (delivery->calibration == NULL || !check_camera (options, delivery->calibration, error) ||
      !ws_job_use_calibration (&delivery->job, delivery->calibration, options->calib, error) ||
      !check_expiry (options, use, error))
    return FALSE;
  tell_failed_check (options, use);
  return TRUE;
}

static WsImageLimits
limits_of (const Options *options)
{
  WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  limits.max_megapixels = wsi_option_number (options->max_megapixels, limits.max_megapixels);
  return limits;
}

/* Full names of what the views for a kind measure, ending in NULL. */
static GPtrArray *
quantity_names (WsToolKind kind)
{
  GPtrArray *names = g_ptr_array_new_with_free_func (g_free);
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    for (gsize i = 0; (*view)->kinds & 1U << kind && i < (*view)->n_quantities; i++)
    {
      const WsQuantityInfo *info = &(*view)->quantities[i];
      const char *unit = ws_unit_suffix (info->unit, TRUE);
      g_ptr_array_add (names, g_strdup_printf ("%s_%s", info->stem, unit));
    }
  g_ptr_array_add (names, NULL);
  return names;
}

static gboolean
check_limit_name (const char *path, const WsToolCard *card, const char *quantity, GError **error)
{
  g_autoptr (GPtrArray) names = quantity_names (card->kind);
  const char *const *candidates = (const char *const *)names->pdata;
  g_autofree char *family = ws_quantity_family (quantity);
  if (g_strv_contains (candidates, quantity) || g_strv_contains (candidates, family))
    return TRUE;
  g_autofree char *hint = wsi_suggest_or (quantity, candidates, "whetsight views lists the names");
  g_set_error (error, WS_ERROR, WS_ERROR_DATA, "%s: [limits] %s: not measured on a %s; %s", path,
               quantity, ws_tool_kind_name (card->kind), hint);
  return FALSE;
}

/* The kind that a view is for, where there is no card to say it. */
static WsToolKind
kind_shown (const char *view_name)
{
  const WsView *view = view_name != NULL ? ws_view_find (view_name) : NULL;
  WsToolKind kind = WS_KIND_TWIST_DRILL;
  for (guint i = 0; view != NULL && i < WS_N_KINDS && !(view->kinds & 1U << kind); i++)
    kind = (WsToolKind)i;
  return kind;
}

static gboolean
read_card (const Options *options, WsDelivery *delivery, GError **error)
{
  if (options->tool == NULL)
  {
    delivery->card = ws_tool_card_new (kind_shown (options->view));
    return TRUE;
  }
  delivery->card = ws_tool_card_load (options->tool, error);
  if (delivery->card == NULL)
    return FALSE;
  for (guint i = 0; i < delivery->card->limits->len; i++)
  {
    const WsLimit *limit = &g_array_index (delivery->card->limits, WsLimit, i);
    if (!check_limit_name (options->tool, delivery->card, limit->quantity, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
refuse_view (const char *name, GError **error)
{
  g_autoptr (GPtrArray) names = g_ptr_array_new ();
  for (const WsView *const *view = ws_views (); *view != NULL; view++)
    g_ptr_array_add (names, (gpointer)(*view)->name);
  g_ptr_array_add (names, NULL);
  g_autofree char *hint =
    wsi_suggest_or (name, (const char *const *)names->pdata, "whetsight views lists them");
  return wsi_refuse_usage (error, "--view: no view \"%s\"; %s", name, hint);
}

static gboolean
choose_view (const Options *options, WsDelivery *delivery, GError **error)
{
  WsJob *job = &delivery->job;
  const char *kind = ws_tool_kind_name (delivery->card->kind);
  job->card = delivery->card;
  job->view =
    options->view != NULL ? ws_view_find (options->view) : ws_view_for_kind (job->card->kind);
  if (job->view == NULL && options->view != NULL)
    return refuse_view (options->view, error);
  if (job->view == NULL)
    return wsi_refuse_usage (error, "no view measures a %s", kind);
  if (!(job->view->kinds & 1U << job->card->kind))
    return wsi_refuse_usage (error, "--view: %s doesn't show a %s", job->view->name, kind);
  return TRUE;
}

/* A name that nobody has yet, or the two inputs that would write to it. */
static gboolean
claim (GHashTable *owners, char *path, const char *image, GError **error)
{
  const char *owner = g_hash_table_lookup (owners, path);
  if (owner == NULL)
  {
    g_hash_table_insert (owners, path, (gpointer)image);
    return TRUE;
  }
  wsi_refuse_usage (error,
                    "--out: \"%s\" and \"%s\" would both be written to %s; measure them apart",
                    owner, image, path);
  g_free (path);
  return FALSE;
}

static gboolean
spare (GHashTable *owners, const char *image, GError **error)
{
  g_autofree char *path = g_canonicalize_filename (image, NULL);
  if (!g_hash_table_contains (owners, path))
    return TRUE;
  return wsi_refuse_usage (error, "--out: would overwrite the input \"%s\"; choose another folder",
                           image);
}

/* Nothing may be lost because two inputs share a name, or one is named like an output. */
static gboolean
check_outputs (const WsDelivery *delivery, char **images, GError **error)
{
  g_autoptr (GHashTable) owners = g_hash_table_new_full (g_str_hash, g_str_equal, g_free, NULL);
  for (gsize i = 0; images[i] != NULL; i++)
  {
    g_autofree char *picture = wsi_delivery_picture_path (delivery, images[i]);
    g_autofree char *record = wsi_delivery_record_path (delivery, images[i]);
    if (!claim (owners, g_canonicalize_filename (picture, NULL), images[i], error) ||
        !claim (owners, g_canonicalize_filename (record, NULL), images[i], error))
      return FALSE;
  }
  for (gsize i = 0; images[i] != NULL; i++)
    if (!spare (owners, images[i], error))
      return FALSE;
  return TRUE;
}

static gboolean
prepare_out (const WsDelivery *delivery, char **images, GError **error)
{
  if (delivery->out == NULL)
    return TRUE;
  if (!check_outputs (delivery, images, error))
    return FALSE;
  if (g_mkdir_with_parents (delivery->out, MODE_NEW_FOLDER) != 0)
  {
    g_set_error (error, WS_ERROR, WS_ERROR_CANT_WRITE, "%s: can't make the folder", delivery->out);
    return FALSE;
  }
  return TRUE;
}

static gboolean
prepare (const Options *options, char **images, WsDelivery *delivery, GError **error)
{
  delivery->json = options->json;
  delivery->details = options->details;
  delivery->out = options->out;
  delivery->job.limits = limits_of (options);
  if (images == NULL)
    return wsi_refuse_usage (error, "name at least one picture; see whetsight measure --help");
  return read_optics (options, &delivery->job.optics, error) &&
         read_calibration (options, delivery, error) && read_card (options, delivery, error) &&
         choose_view (options, delivery, error) && prepare_out (delivery, images, error);
}

static gboolean
prepare_archive_options (const Options *options, GError **error)
{
  const gboolean needs = options->station != NULL || options->grinder != NULL ||
                         options->reground || options->resume || options->again;
  if (needs && options->archive == NULL)
    return wsi_refuse_usage (error,
                             "--station, --grinder, --reground, --resume and --again make sense "
                             "with --archive only");
  if (options->resume && options->again)
    return wsi_refuse_usage (error, "give --resume or --again, not both");
  return TRUE;
}

/* An archive that can't be used doesn't keep anybody from measuring.  Returns the exit status. */
static int
open_archive (const Options *options, gboolean has_folders, WsDelivery *delivery)
{
  GError *error = NULL;
  if (options->archive == NULL)
    return WS_EXIT_ACCEPT;
  delivery->settings = ws_job_settings (&delivery->job, options->tool);
  delivery->notes = (WsJobNotes){ .settings = delivery->settings,
                                  .station = options->station,
                                  .grinder = options->grinder,
                                  .reground = options->reground };
  delivery->archive = ws_archive_open (options->archive, WS_ARCHIVE_WRITE, &error);
  if (delivery->archive != NULL && (options->resume || (has_folders && !options->again)))
    delivery->job.stored = ws_job_stored (delivery->archive, delivery->settings, &error);
  if (error == NULL)
    return WS_EXIT_ACCEPT;
  g_prefix_error (&error, "results are not archived: ");
  g_clear_pointer (&delivery->archive, ws_archive_free);
  return wsi_fail (error);
}

static WsJobWants
wants_of (const WsDelivery *delivery, guint n_images)
{
  guint wants = WS_JOB_RECORD_ONLY;
  if (!delivery->json && delivery->details)
    wants |= WS_JOB_DETAILS;
  else if (!delivery->json)
    wants |= n_images > 1 ? WS_JOB_LINE : WS_JOB_TEXT;
  if (delivery->out != NULL || delivery->archive != NULL)
    wants |= WS_JOB_PICTURE;
  if (delivery->archive != NULL)
    wants |= WS_JOB_ORIGINAL;
  return (WsJobWants)wants;
}

static int
measure (gpointer data, char **words)
{
  const Options *options = data;
  g_auto (WsDelivery) delivery = { 0 };
  g_auto (GStrv) images = NULL;
  gboolean has_folders = FALSE;
  GError *error = NULL;
  (void)words;
  if (!prepare_archive_options (options, &error))
    return wsi_fail (error);
  if (options->images != NULL)
    images = ws_batch_expand (options->images, &has_folders, &error);
  if (error != NULL || !prepare (options, images, &delivery, &error))
    return wsi_fail (error);
  const int opened = open_archive (options, has_folders, &delivery);
  delivery.job.wants = wants_of (&delivery, g_strv_length (images));
  const int status = wsi_deliver_all (&delivery, images, (guint)options->jobs, has_folders);
  return MAX (opened, status);
}

static const WsOptionCheck is_jobs = { .phrase = "expected a number above 0", .most = G_MAXINT };

static const WsOption options[] = {
  { WS_OPTION_FILE, "tool", 't', G_STRUCT_OFFSET (Options, tool), "CARD",
    "Tool card; without it, a tool of unknown size that the view shows", NULL },
  { WS_OPTION_TEXT, "view", 'v', G_STRUCT_OFFSET (Options, view), "VIEW",
    "View; the usual one for the kind of tool by default (see: whetsight views)", &wsi_check_view },
  { WS_OPTION_NUMBER, "scale", 's', G_STRUCT_OFFSET (Options, scale), "MM_PER_PX",
    "Millimetres a pixel; without it lengths are in pixels", &wsi_check_above_zero },
  { WS_OPTION_NUMBER, "scale-u", 0, G_STRUCT_OFFSET (Options, scale_u), "MM_PER_PX",
    "Standard uncertainty of the scale, 0 by default", &wsi_check_above_zero },
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (Options, calib), "NAME.calib",
    "Calibration of the camera (see: whetsight calibrate); in place of --scale", NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (Options, camera), "NAME",
    "Refuse a calibration made for another camera than NAME", NULL },
  { WS_OPTION_FLAG, "allow-expired", 0, G_STRUCT_OFFSET (Options, allow_expired), NULL,
    "Use an expired calibration; the record says so", NULL },
  { WS_OPTION_FLAG, "ignore-failed-check", 0, G_STRUCT_OFFSET (Options, ignore_check), NULL,
    "Accept tools although the calibration failed its last check; the record says so", NULL },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (Options, out), "DIR",
    "Write NAME.annotated.png and NAME.record.json there", NULL },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL,
    "Print records, one a line, instead of text", NULL },
  { WS_OPTION_FLAG, "details", 'd', G_STRUCT_OFFSET (Options, details), NULL,
    "Print all there is to say of each picture: every quantity, what was found, sources of limits, "
    "scale, camera",
    NULL },
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "Keep each result with its pictures in this archive (see: whetsight archive)", NULL },
  { WS_OPTION_TEXT, "station", 0, G_STRUCT_OFFSET (Options, station), "NAME",
    "Where it was measured, for the archive", NULL },
  { WS_OPTION_TEXT, "grinder", 0, G_STRUCT_OFFSET (Options, grinder), "NAME",
    "Who or what ground the tool, for the archive", NULL },
  { WS_OPTION_FLAG, "reground", 0, G_STRUCT_OFFSET (Options, reground), NULL,
    "The tool was reground since it was last measured, for the archive", NULL },
  { WS_OPTION_FLAG, "resume", 0, G_STRUCT_OFFSET (Options, resume), NULL,
    "Skip pictures that the archive holds, measured the same way; folders always do", NULL },
  { WS_OPTION_FLAG, "again", 0, G_STRUCT_OFFSET (Options, again), NULL,
    "Measure all pictures of a folder, whatever the archive holds", NULL },
  { WS_OPTION_COUNT, "jobs", 0, G_STRUCT_OFFSET (Options, jobs), "N",
    "Measure so many pictures at once, one a processor by default", &is_jobs },
  { WS_OPTION_NUMBER, "max-megapixels", 0, G_STRUCT_OFFSET (Options, max_megapixels), "N",
    "Refuse larger pictures, 100 by default", &wsi_check_above_zero },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, images), "IMAGE|FOLDER…", NULL, NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_measure = {
  .name = "measure",
  .summary = "measure tools in pictures, judge them, say what to grind",
  .about = "Measures the tool in each picture, judges it by its card, and says what to grind.",
  .exits =
    "Exit status: 0 accept, 1 reject, 2 undecided, 3 retake the picture, 64 and above for "
    "errors;\nwith several pictures the worst in the order accept, undecided, reject, retake, "
    "error.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = measure,
};
