#include <math.h>
#include <string.h>

#include <glib/gstdio.h>
#include <whetsight/whetsight.h>

#include "cli/archive.h"
#include "cli/config.h"
#include "cli/deliver.h"
#include "cli/regrind.h"
#include "cli/verbs.h"
#include "report/words.h"

#define MODE_NEW_FOLDER 0777 /* less the umask */

/* As typed. */
typedef struct
{
  WsTaskSpec said;
  char *plan;
  char *units;
  double max_megapixels;
  char *tone;
  char *out;
  gboolean json;
  gboolean details;
  char *archive;
  char *station;
  char *grinder;
  char *measured_by;
  char *machine;
  double length, length_u;
  WsSealing sealing;
  gboolean reverse;
  gboolean reground;
  char *set_out_by;
  gboolean resume;
  gboolean again;
  int jobs;
  char **images;
} Options;

static void
delivery_clear (WsDelivery *delivery)
{
  wsi_plan_free (delivery->plan);
  ws_archive_free (delivery->archive);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsDelivery, delivery_clear)

static WsImageLimits
limits_of (const Options *options)
{
  WsImageLimits limits = WS_IMAGE_LIMITS_DEFAULT;
  limits.max_megapixels = wsi_option_number (options->max_megapixels, limits.max_megapixels);
  return limits;
}

static WsImageFlags
told_of (const Options *options)
{
  if (options->tone == NULL)
    return 0;
  return g_str_equal (options->tone, "linear") ? WS_IMAGE_TOLD_LINEAR : WS_IMAGE_TOLD_SRGB;
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

/* What a plan says of each picture can't be said of all. */
static gboolean
check_plan_options (const Options *options, GError **error)
{
  const WsTaskSpec *said = &options->said;
  if (options->images != NULL)
    return wsi_refuse_usage (error, "--plan: names the pictures; name none beside it");
  if (said->tool != NULL || said->view != NULL)
    return wsi_refuse_usage (error,
                             "--plan: names each picture's card and view; leave --tool and --view "
                             "out");
  if (!isnan (said->known_diameter) || !isnan (said->known_width))
    return wsi_refuse_usage (error, "--plan: a known size is one tool's; give it in the plan's "
                                    "column known_diameter or known_width");
  return TRUE;
}

/* Two pictures that are measured as one. */
static gboolean
check_reverse (Options *options, GError **error)
{
  if (!options->reverse)
    return TRUE;
  if (options->plan != NULL || options->said.view != NULL)
    return wsi_refuse_usage (error, "--reverse: is a view of its own; leave --view and --plan out");
  if (options->images == NULL || g_strv_length (options->images) != 2)
    return wsi_refuse_usage (error, "--reverse: name two pictures, half a turn apart");
  options->said.view = g_strdup ("drill-reverse");
  return TRUE;
}

static WsPlan *
read_plan (const Options *options, GError **error)
{
  if (options->plan != NULL)
    return check_plan_options (options, error)
             ? wsi_plan_load (options->plan, &options->said, error)
             : NULL;
  if (options->images != NULL)
    return wsi_plan_of_one (&options->said, options->images, error);
  wsi_refuse_usage (error, "name at least one picture; see whetsight measure --help");
  return NULL;
}

static gboolean
prepare (const Options *options, WsDelivery *delivery, GError **error)
{
  delivery->json = options->json;
  delivery->details = options->details;
  delivery->out = options->out;
  delivery->plan = read_plan (options, error);
  if (delivery->plan == NULL)
    return FALSE;
  for (guint i = 0; i < delivery->plan->different->len; i++)
    ((WsTask *)g_ptr_array_index (delivery->plan->different, i))->job.told = told_of (options);
  return prepare_out (delivery, delivery->plan->images, error);
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
  if ((options->sealing.output != NULL && options->archive == NULL) ||
      ((options->sealing.key != NULL || options->sealing.every != 0) &&
       options->sealing.output == NULL))
    return wsi_refuse_usage (error, "--seal-to makes sense with --archive only, --seal-key and "
                                    "--seal-every with --seal-to");
  if (!wsi_archive_sealing_check (&options->sealing, error))
    return FALSE;
  if (options->set_out_by != NULL && !options->reground)
    return wsi_refuse_usage (error, "--set-out-by: makes sense with --archive and --reground only");
  if (options->resume && options->again)
    return wsi_refuse_usage (error, "give --resume or --again, not both");
  return TRUE;
}

/* The tool's newest picture from before, in the view that is measured now. */
static gboolean
find_before (const Options *options, WsArchive *archive, WsTask *task, GError **error)
{
  const WsRegrindAsked asked = { .tool = task->card->id,
                                 .view = task->job.view->name,
                                 .after_is_new = TRUE,
                                 .calibration = task->calibration };
  WsRegrindShot shots[2];
  memset (shots, 0, sizeof shots);
  if (options->set_out_by == NULL)
    return TRUE;
  if (task->card->id == NULL || !ws_set_out_sees (task->job.view))
    return wsi_refuse_usage (error, "--set-out-by: needs --tool with an id, and a silhouette from "
                                    "above or from the side");
  const gboolean found = wsi_regrind_find (archive, &asked, shots, error);
  task->before_shot = shots[0];
  if (!found)
    return FALSE;
  task->before = (WsJobBefore){
    .path = task->before_shot.path,
    .since = wsi_words_local (task->before_shot.time, "%Y-%m-%d"),
    .optics = task->before_shot.optics,
    .reference = (WsReference)wsi_option_word_index (&wsi_check_reference, options->set_out_by, 0),
  };
  task->job.before = &task->before;
  return TRUE;
}

/* Sets what the archive has to know of each task, and what it holds of it already. */
static gboolean
prepare_tasks (const Options *options, WsDelivery *delivery, GError **error)
{
  const WsPlan *plan = delivery->plan;
  const gboolean skips =
    !plan->is_series && (options->resume || (plan->has_folders && !options->again));
  for (guint i = 0; i < plan->different->len; i++)
  {
    WsTask *task = g_ptr_array_index (plan->different, i);
    task->settings = ws_job_settings (&task->job, task->card_path);
    if (skips)
      task->job.stored = ws_job_stored (delivery->archive, task->settings, error);
    if ((skips && task->job.stored == NULL) ||
        !find_before (options, delivery->archive, task, error))
      return FALSE;
  }
  return TRUE;
}

/* An archive that can't be used doesn't keep anybody from measuring.  Returns the exit status. */
static int
open_archive (const Options *options, WsDelivery *delivery)
{
  GError *error = NULL;
  if (options->archive == NULL)
    return WS_EXIT_ACCEPT;
  delivery->notes = (WsJobNotes){ .station = options->station,
                                  .grinder = options->grinder,
                                  .reground = options->reground };
  delivery->archive = ws_archive_open (options->archive, WS_ARCHIVE_WRITE, &error);
  if (delivery->archive != NULL && prepare_tasks (options, delivery, &error))
    return WS_EXIT_ACCEPT;
  g_prefix_error (&error, "results are not archived: ");
  g_clear_pointer (&delivery->archive, ws_archive_free);
  return wsi_fail (error);
}

static WsJobWants
wants_of (const WsDelivery *delivery)
{
  guint wants = WS_JOB_RECORD_ONLY;
  if (!delivery->json && delivery->details)
    wants |= WS_JOB_DETAILS;
  else if (!delivery->json)
    wants |=
      delivery->plan->tasks->len > 1 && !delivery->plan->is_series ? WS_JOB_LINE : WS_JOB_TEXT;
  if (delivery->out != NULL || delivery->archive != NULL)
    wants |= WS_JOB_PICTURE;
  if (delivery->archive != NULL)
    wants |= WS_JOB_ORIGINAL;
  return (WsJobWants)wants;
}

static void
set_length (const Options *options, WsJob *job)
{
  if (isnan (options->length))
    return;
  job->length_mm = options->length;
  job->u_length_mm = isnan (options->length_u) ? WSI_U_LENGTH : options->length_u;
}

static int
measure (gpointer data, char **words)
{
  const Options *options = data;
  g_auto (WsDelivery) delivery = { 0 };
  GError *error = NULL;
  (void)words;
  WsUnits units;
  if (!check_reverse (data, &error) || !prepare_archive_options (options, &error) ||
      !wsi_config_units (options->units, WS_UNITS_MM, &units, &error) ||
      !prepare (options, &delivery, &error))
    return wsi_fail (error);
  const int opened = open_archive (options, &delivery);
  for (guint i = 0; i < delivery.plan->different->len; i++)
  {
    WsTask *task = g_ptr_array_index (delivery.plan->different, i);
    task->job.limits = limits_of (options);
    task->job.wants = wants_of (&delivery);
    task->job.units = units;
    task->job.measured_by = options->measured_by;
    task->job.machine = options->machine;
    set_length (options, &task->job);
  }
  const gboolean many = delivery.plan->has_folders || options->plan != NULL;
  const int status = wsi_deliver_all (&delivery, (guint)options->jobs, many);
  const int sealed = delivery.archive != NULL && options->sealing.output != NULL
                       ? wsi_archive_seal (delivery.archive, &options->sealing)
                       : WS_EXIT_ACCEPT;
  return MAX (MAX (opened, sealed), status);
}

static const WsOptionCheck is_jobs = { .phrase = "expected a number above 0", .most = G_MAXINT };

static const WsOptionCheck is_rows = {
  .phrase = "expected a whole number, 1 or more", .least = 1.0, .most = G_MAXINT, .whole = TRUE
};

static const char *
tone_word (guint i)
{
  static const char *const words[] = { "srgb", "linear", NULL };
  return words[i];
}

static const WsOptionCheck is_tone = { .word = tone_word };

static const WsOption options[] = {
  { WS_OPTION_FILE, "plan", 'p', G_STRUCT_OFFSET (Options, plan), "NAME.csv",
    "Pictures of several tools or views, a line each with picture, card and view", NULL },
  { WS_OPTION_FLAG, "reverse", 0, G_STRUCT_OFFSET (Options, reverse), NULL,
    "Two pictures of a drill's point, half a turn apart, measured as one: the view drill-reverse",
    NULL },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (Options, out), "DIR",
    "Write NAME.annotated.png and NAME.record.json there", NULL },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL,
    "Print records, one a line, instead of text", NULL },
  { WS_OPTION_FLAG, "details", 'd', G_STRUCT_OFFSET (Options, details), NULL,
    "Print all there is to say of each picture: every quantity, what was found, sources of limits, "
    "scale, camera",
    NULL },
  { WS_OPTION_WORD, "units", 'u', G_STRUCT_OFFSET (Options, units), "UNITS",
    "Lengths in texts and pictures: mm, in or both; by default as whetsight.conf says, else mm",
    &wsi_check_units },
  { WS_OPTION_FILE, "archive", 'a', G_STRUCT_OFFSET (Options, archive), "DIR",
    "Keep each result with its pictures in this archive (see: whetsight archive)", NULL },
  { WS_OPTION_TEXT, "station", 0, G_STRUCT_OFFSET (Options, station), "NAME",
    "Where it was measured, for the archive", NULL },
  { WS_OPTION_FILE, "seal-to", 0, G_STRUCT_OFFSET (Options, sealing.output), "FILE",
    "When all is measured, seal the archive there (see: whetsight archive seal)", NULL },
  { WS_OPTION_FILE, "seal-key", 0, G_STRUCT_OFFSET (Options, sealing.key), "FILE",
    "and sign it with this key", NULL },
  { WS_OPTION_COUNT, "seal-every", 0, G_STRUCT_OFFSET (Options, sealing.every), "N",
    "but only when N rows or more came since the last seal", &is_rows },
  { WS_OPTION_TEXT, "measured-by", 0, G_STRUCT_OFFSET (Options, measured_by), "NAME",
    "Who measures, for the record", NULL },
  { WS_OPTION_TEXT, "machine", 0, G_STRUCT_OFFSET (Options, machine), "NAME",
    "The machine that the tool works on, for the record", NULL },
  { WS_OPTION_LENGTH, "length", 0, G_STRUCT_OFFSET (Options, length), "LENGTH",
    "The tool's length as measured by hand, for its history", &wsi_check_above_zero },
  { WS_OPTION_LENGTH, "length-u", 0, G_STRUCT_OFFSET (Options, length_u), "LENGTH",
    "Standard uncertainty of that, 0.03 mm by default", &wsi_check_above_zero },
  { WS_OPTION_TEXT, "grinder", 0, G_STRUCT_OFFSET (Options, grinder), "NAME",
    "Who or what ground the tool, for the archive", NULL },
  { WS_OPTION_FLAG, "reground", 0, G_STRUCT_OFFSET (Options, reground), NULL,
    "The tool was reground since it was last measured, for the archive", NULL },
  { WS_OPTION_WORD, "set-out-by", 0, G_STRUCT_OFFSET (Options, set_out_by), "BY",
    "With --reground: say how far to set the tool out, by the archive's picture before and by what "
    "stayed: tool, stop, camera (see: whetsight explain set-out)",
    &wsi_check_reference },
  { WS_OPTION_FLAG, "resume", 0, G_STRUCT_OFFSET (Options, resume), NULL,
    "Skip pictures that the archive holds, measured the same way; folders always do", NULL },
  { WS_OPTION_FLAG, "again", 0, G_STRUCT_OFFSET (Options, again), NULL,
    "Measure all pictures of a folder, whatever the archive holds", NULL },
  { WS_OPTION_COUNT, "jobs", 0, G_STRUCT_OFFSET (Options, jobs), "N",
    "Measure so many pictures at once, one a processor by default", &is_jobs },
  { WS_OPTION_NUMBER, "max-megapixels", 0, G_STRUCT_OFFSET (Options, max_megapixels), "N",
    "Refuse larger pictures, 100 by default", &wsi_check_above_zero },
  { WS_OPTION_WORD, "tone", 0, G_STRUCT_OFFSET (Options, tone), "TONE",
    "How the pictures' numbers stand for light, whatever the files say: srgb or linear", &is_tone },
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
    "error.  A tool\nwhose card names several views ends with 2 while one of them is missing.",
  .notes = "Lengths are millimetres, or inches where they say so: 0.25in, \"0.25 in\", 1/4.",
  .groups = { { wsi_task_options, G_STRUCT_OFFSET (Options, said) }, { options, 0 } },
  .size = sizeof (Options),
  .run = measure,
};
