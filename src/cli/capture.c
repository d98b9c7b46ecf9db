/*
 * capture: takes a picture from the bench's camera.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <whetsight/calibration.h>
#include <whetsight/job.h>
#include <whetsight/report.h>

#include "base/language.h"
#include "base/told_text.h"
#include "camera/bench.h"
#include "camera/expose.h"
#include "camera/shot_file.h"
#include "camera/stack.h"
#include "cli/live.h"
#include "cli/say.h"
#include "cli/verbs.h"
#include "image/taken.h"
#include "report/words.h"

#define MOST_FRAMES 256

/* Longer than any exposure that suits a bench, shorter than anybody waits. */
#define TIMEOUT_MS 5000

/* Frames that may be lost on the way before the cable is to blame. */
#define MOST_LOST 4

/* As typed. */
typedef struct
{
  char *camera, *bench, *calib, *station, *out;
  double exposure, gain, check_hours;
  gboolean expose, keep, colour;
  int frames;
  gboolean live, json;
  char *tool, *view;
  double rate;
} Options;

typedef struct
{
  const Options *options;
  WsCamera *camera;
  WsCameraSettings settings;
  WsBench bench; /* its address is NULL without one */
  WsFrame frame;
  WsStack *stack;
  WsBenchCheck check; /* of the bench's calibration */
  /* Of what is set up live: */
  WsToolCard *card;
  WsCalibration *calibration;
  WsJob job;
} Capture;

static void
capture_clear (Capture *capture)
{
  wsi_camera_close (capture->camera);
  wsi_bench_clear (&capture->bench);
  wsi_frame_clear (&capture->frame);
  wsi_stack_free (capture->stack);
  ws_tool_card_free (capture->card);
  ws_calibration_free (capture->calibration);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Capture, capture_clear)

static void
tell_findings (const WsCamera *camera, const WsCameraSettings *settings)
{
  /* Video devices follow the sRGB curve, and count gamma in numbers of their own. */
  const gboolean linear = g_str_equal (wsi_camera_identity (camera)->kind, "genicam");
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
  {
    const WsSetting *setting = &settings->of[name];
    if (setting->state == WS_SETTING_WANDERING)
      wsi_say_aside ("whetsight: the camera changes its %s by itself and can't be kept from it; "
                     "pictures won't be alike\n",
                     _ (wsi_setting_name (name)));
    else if (setting->state == WS_SETTING_FIXED &&
             ((name == WS_SETTING_GAMMA && linear && fabs (setting->value - 1.0) > 0.01) ||
              (name == WS_SETTING_SHARPENING && setting->value > setting->least)))
      wsi_say_aside ("whetsight: the camera's %s stays at %g and moves edges; calibrate with it, "
                     "and don't change it\n",
                     _ (wsi_setting_name (name)), setting->value);
  }
}

/* What whoever works at the bench has to know before anything is measured there. */
static void
tell_check (const WsBench *bench, const WsBenchCheck *check)
{
  const char *station = bench->station != NULL ? bench->station : _ ("the bench");
  g_autofree char *time = wsi_words_local_time (check->last.time);
  if (check->last.state == WS_CHECKED_FAILED)
    wsi_say_aside ("whetsight: %s: the calibration failed its check on %s; nothing is judged by it "
                   "until a check passes: whetsight verify\n",
                   station, time);
  else if (check->due && check->last.state == WS_CHECKED_NEVER)
    wsi_say_aside (
      "whetsight: %s: the calibration was never checked; nothing is judged by it until "
      "a check passes: whetsight verify\n",
      station);
  else if (check->due)
    wsi_say_aside ("whetsight: %s: the morning check is due, the last passed on %s; nothing is "
                   "judged until it passes again: whetsight verify\n",
                   station, time);
}

static gboolean
open_bench (Capture *capture, GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  WsBench *bench = &capture->bench;
  if (!wsi_bench_load (capture->options->bench, bench, error) ||
      !wsi_bench_check (bench, now, &capture->check, error))
    return FALSE;
  tell_check (bench, &capture->check);
  capture->camera = wsi_bench_open (bench, &capture->settings, error);
  return capture->camera != NULL;
}

static gboolean
open_camera (Capture *capture, GError **error)
{
  const Options *options = capture->options;
  const gboolean kept = options->bench != NULL && !options->keep;
  if (kept && !open_bench (capture, error))
    return FALSE;
  if (!kept)
    capture->camera = wsi_camera_open (options->camera, options->colour, error);
  if (capture->camera == NULL)
    return FALSE;
  if (!kept && !wsi_camera_fix (capture->camera, options->exposure, options->gain,
                                &capture->settings, error))
    return FALSE;
  tell_findings (capture->camera, &capture->settings);
  return !options->expose || wsi_expose (capture->camera, TIMEOUT_MS, &capture->frame,
                                         &capture->settings.of[WS_SETTING_EXPOSURE], error);
}

/* Some give colour or not as they like: compressed pictures say so themselves. */
static gboolean
check_colour (const Capture *capture, GError **error)
{
  if (!capture->options->colour || capture->frame.image->has_colour)
    return TRUE;
  return wsi_refuse (error, WS_ERROR_DATA,
                     "the camera gives grey pictures; take them without --colour");
}

/* The next frame that came whole. */
static gboolean
grab (Capture *capture, guint *n_lost, GError **error)
{
  for (;;)
  {
    g_autoptr (GError) cause = NULL;
    if (wsi_camera_grab (capture->camera, &capture->frame, TIMEOUT_MS, &cause))
      return TRUE;
    if (!g_error_matches (cause, WS_ERROR, WS_ERROR_DATA) || ++*n_lost > MOST_LOST)
    {
      g_propagate_error (error, g_steal_pointer (&cause));
      return FALSE;
    }
    g_autofree char *told = wsi_told_text (cause->message);
    wsi_say_aside ("whetsight: %s\n", told);
  }
}

static gboolean
take_frames (Capture *capture, GError **error)
{
  const guint n = (guint)MAX (capture->options->frames, 1);
  guint n_lost = 0;
  capture->stack = wsi_stack_new ();
  for (guint i = 0; i < n; i++)
  {
    /* The first one is there already when it was waited for. */
    if (((i > 0 || !capture->options->live) && !grab (capture, &n_lost, error)) ||
        !check_colour (capture, error) || !wsi_stack_add (capture->stack, &capture->frame, error))
      return FALSE;
    if (i == 0 && capture->bench.address != NULL &&
        !wsi_bench_check_picture (&capture->bench, capture->frame.image, error))
      return FALSE;
  }
  return TRUE;
}

static WsTaken *
taken_of (const Capture *capture)
{
  WsTaken *taken = wsi_shot_taken (wsi_camera_identity (capture->camera), &capture->settings,
                                   capture->frame.image);
  taken->of[WS_TAKEN_CALIBRATION] = g_strdup (capture->bench.calibration_sha256);
  return taken;
}

static GBytes *
encode (const Capture *capture, const WsFrame *mean, guint n, GError **error)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_autoptr (WsTaken) taken = taken_of (capture);
  const WsShotNotes notes = { .taken = taken,
                              .n_frames = n,
                              .shift_px = n > 1 ? wsi_stack_shift_px (capture->stack) : NAN,
                              .time = time };
  return wsi_shot_encode (mean, &notes, error);
}

static gboolean
save_picture (const Capture *capture, GError **error)
{
  const Options *options = capture->options;
  const guint n = (guint)MAX (options->frames, 1);
  g_auto (WsFrame) mean = { 0 };
  if (!wsi_stack_mean (capture->stack, &mean, error))
    return FALSE;
  g_autoptr (GBytes) file = encode (capture, &mean, n, error);
  gsize n_bytes = 0;
  const void *bytes = file != NULL ? g_bytes_get_data (file, &n_bytes) : NULL;
  if (bytes == NULL || !ws_report_save (options->out, bytes, n_bytes, error))
    return FALSE;
  if (options->json)
    return TRUE;
  wsi_say ("%s: %u x %u pixels%s, %u frame%s, background at %.0f %% of full scale%s\n",
           options->out, mean.image->width, mean.image->height,
           mean.image->has_colour ? _ (" in colour") : "", n, n == 1 ? "" : "s",
           100.0 * wsi_background_level (mean.image),
           capture->frame.saturated ? _ (", saturated in places") : "");
  return TRUE;
}

/* ---- The bench --------------------------------------------------------------------------- */

/* By its name alone where it lies beside the bench file, so that the folder may move. */
static char *
path_beside (const char *bench, const char *calibration)
{
  g_autofree char *whole = g_canonicalize_filename (calibration, NULL);
  g_autofree char *bench_whole = g_canonicalize_filename (bench, NULL);
  g_autofree char *folder = g_path_get_dirname (whole);
  g_autofree char *bench_folder = g_path_get_dirname (bench_whole);
  return g_str_equal (folder, bench_folder) ? g_path_get_basename (whole)
                                            : g_steal_pointer (&whole);
}

static gboolean
keep_bench (Capture *capture, GError **error)
{
  const Options *options = capture->options;
  WsBench *bench = &capture->bench;
  WsImage *image = capture->frame.image;
  bench->check_hours = wsi_option_number (options->check_hours, WS_BENCH_CHECK_HOURS);
  bench->address = g_strdup (options->camera);
  bench->station = g_strdup (options->station);
  wsi_bench_keep (bench, capture->camera, &capture->settings, image);
  if (options->calib != NULL)
  {
    g_autoptr (WsCalibration) calibration = ws_calibration_load (options->calib, error);
    image->taken = taken_of (capture);
    if (calibration == NULL || !ws_calibration_fits_picture (calibration, image, error))
      return FALSE;
    bench->calibration = path_beside (options->bench, options->calib);
    bench->calibration_sha256 = g_strdup (ws_calibration_sha256 (calibration));
  }
  return wsi_bench_save (options->bench, bench, error) &&
         (wsi_say ("%s: the bench is kept\n", options->bench), TRUE);
}

/* ---- Live -------------------------------------------------------------------------------- */

/* The bench's, which opening it compared with what it was, or as typed. */
static gboolean
load_calibration (Capture *capture, GError **error)
{
  const char *kept = capture->bench.calibration;
  const char *path = kept != NULL ? kept : capture->options->calib;
  if (path == NULL)
    return TRUE;
  capture->calibration = ws_calibration_load (path, error);
  if (capture->calibration == NULL ||
      !ws_job_use_calibration (&capture->job, capture->calibration, path, error))
    return FALSE;
  if (capture->check.due)
    ws_job_hold_until_checked (&capture->job);
  return TRUE;
}

static gboolean
prepare_live (Capture *capture, GError **error)
{
  const Options *options = capture->options;
  capture->card = options->tool != NULL ? ws_tool_card_load (options->tool, error)
                                        : ws_tool_card_new (WS_KIND_TWIST_DRILL);
  if (capture->card == NULL)
    return FALSE;
  const WsToolKind kind = capture->card->kind;
  const WsView *view =
    options->view != NULL ? ws_view_find (options->view) : ws_view_for_kind (kind);
  if (view == NULL || !(view->kinds & 1U << kind))
    return wsi_refuse_usage (error, "capture: name a --view that shows a %s",
                             ws_tool_kind_name (kind));
  if (view->needs & WS_IMAGE_COLOUR)
    return wsi_refuse_usage (
      error, "capture: --live is for silhouettes; take a picture for %s without it", view->name);
  capture->job = (WsJob){ .card = capture->card,
                          .view = view,
                          .optics = WS_OPTICS_UNKNOWN,
                          .limits = WS_IMAGE_LIMITS_DEFAULT,
                          .wants = options->json ? WS_JOB_RECORD_ONLY : WS_JOB_TEXT };
  return load_calibration (capture, error);
}

/* Until the frame in `capture` is to be taken. */
static gboolean
wait_live (Capture *capture, GError **error)
{
  if (!prepare_live (capture, error))
    return FALSE;
  const WsLiveWatch watch = { .card = capture->card,
                              .view = capture->job.view,
                              .optics = capture->job.optics,
                              .json = capture->options->json,
                              .rate = capture->options->rate };
  return wsi_live_wait (&watch, capture->camera, &capture->frame, error);
}

static const int statuses[] = {
  [WS_VERDICT_NONE] = WS_EXIT_ACCEPT,         [WS_VERDICT_ACCEPT] = WS_EXIT_ACCEPT,
  [WS_VERDICT_UNDECIDED] = WS_EXIT_UNDECIDED, [WS_VERDICT_REJECT] = WS_EXIT_REJECT,
  [WS_VERDICT_RETAKE] = WS_EXIT_RETAKE,
};

/* Measures the file, so that what is told of it is what `measure` says.  Returns the status. */
static int
measure_taken (const Capture *capture)
{
  g_autoptr (WsOutcome) outcome = ws_job_measure (&capture->job, capture->options->out);
  if (outcome->error != NULL)
    return wsi_fail (g_steal_pointer (&outcome->error));
  if (capture->options->json)
    wsi_say_json (outcome->record);
  else
    wsi_say ("%s", outcome->text);
  return statuses[outcome->verdict];
}

static gboolean
check_live (const Options *options, GError **error)
{
  if (options->live && options->keep)
    return wsi_refuse_usage (error, "capture: give --live or --keep, not both");
  if (options->live && options->bench != NULL && options->calib != NULL)
    return wsi_refuse_usage (error, "capture: a bench has its calibration; leave out --calib");
  if (!options->live &&
      (options->json || options->tool != NULL || options->view != NULL || !isnan (options->rate)))
    return wsi_refuse_usage (error, "capture: --json, --tool, --view and --rate go with --live");
  return TRUE;
}

/* ---- The verb ---------------------------------------------------------------------------- */

static gboolean
check_options (const Options *options, GError **error)
{
  if (options->keep && (options->bench == NULL || options->camera == NULL))
    return wsi_refuse_usage (
      error, "capture: --keep writes --bench FILE from --camera ADDRESS; name both");
  if (!options->keep && (options->bench == NULL) == (options->camera == NULL))
    return wsi_refuse_usage (error,
                             "capture: name the camera by --camera ADDRESS or by --bench FILE");
  if (!options->keep && ((options->calib != NULL && !options->live) || options->station != NULL ||
                         !isnan (options->check_hours)))
    return wsi_refuse_usage (error, "capture: --station and --check-every go with --keep, --calib "
                                    "with --keep or --live");
  if (!options->keep && options->bench != NULL &&
      (options->expose || options->colour || !isnan (options->exposure) || !isnan (options->gain)))
    return wsi_refuse_usage (error, "capture: a bench has its exposure, gain and colour; to change "
                                    "them calibrate again and --keep");
  if (options->expose && !isnan (options->exposure))
    return wsi_refuse_usage (error, "capture: --expose finds the exposure; leave out --exposure");
  if (!check_live (options, error))
    return FALSE;
  if (options->out == NULL && !options->keep)
    return wsi_refuse_usage (error, "capture: --out PICTURE.png is missing");
  return TRUE;
}

static int
capture (gpointer data, char **words)
{
  const Options *options = data;
  g_auto (Capture) capture = { .options = options };
  GError *error = NULL;
  if (words[1] != NULL)
    return wsi_fail (
      g_error_new (WS_ERROR, WS_ERROR_USAGE, "capture: %s: not an option", words[1]));
  if (!check_options (options, &error) || !open_camera (&capture, &error) ||
      (options->live && !wait_live (&capture, &error)) || !take_frames (&capture, &error) ||
      (options->keep && !keep_bench (&capture, &error)) ||
      (options->out != NULL && !save_picture (&capture, &error)))
    return wsi_fail (error);
  return options->live ? measure_taken (&capture) : WS_EXIT_ACCEPT;
}

static const WsOptionCheck check_frames = {
  "expected a number of frames, 1 to 256", 1, MOST_FRAMES, FALSE, TRUE, NULL
};

static const WsOption options[] = {
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (Options, camera), "ADDRESS",
    "genicam:NAME or an address in the network, v4l2:/dev/video0, files:FOLDER or a video", NULL },
  { WS_OPTION_FILE, "bench", 'b', G_STRUCT_OFFSET (Options, bench), "FILE.conf",
    "Bench file: camera, settings, calibration and station", NULL },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (Options, out), "PICTURE.png",
    "Where the picture goes", NULL },
  { WS_OPTION_COUNT, "frames", 'n', G_STRUCT_OFFSET (Options, frames), "N",
    "The mean of N frames, which has less noise", &check_frames },
  { WS_OPTION_FLAG, "colour", 0, G_STRUCT_OFFSET (Options, colour), NULL,
    "Keep colour, which views lit from the front need; without it pictures are grey", NULL },
  { WS_OPTION_FLAG, "expose", 0, G_STRUCT_OFFSET (Options, expose), NULL,
    "Set the exposure so that the background lies at 80 % of full scale", NULL },
  { WS_OPTION_NUMBER, "exposure", 0, G_STRUCT_OFFSET (Options, exposure), "S",
    "Exposure in seconds", &wsi_check_above_zero },
  { WS_OPTION_NUMBER, "gain", 0, G_STRUCT_OFFSET (Options, gain), "NUMBER",
    "Gain in the camera's unit", &wsi_check_number },
  WS_OPTIONS_END
};

static const WsOptionCheck check_hours = { .phrase = "expected a number of hours, 0 to 8760",
                                           .least = 0.0,
                                           .most = 8760.0 };

static const WsOption bench_options[] = {
  { WS_OPTION_FLAG, "keep", 0, G_STRUCT_OFFSET (Options, keep), NULL,
    "Write the bench file from the camera as it is now", NULL },
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (Options, calib), "NAME.calib",
    "Calibration made with these settings", NULL },
  { WS_OPTION_TEXT, "station", 0, G_STRUCT_OFFSET (Options, station), "NAME",
    "Where the bench stands", NULL },
  { WS_OPTION_NUMBER, "check-every", 0, G_STRUCT_OFFSET (Options, check_hours), "HOURS",
    "How often the calibration has to be checked, 24 by default; 0 for never", &check_hours },
  WS_OPTIONS_END
};

static const WsOption live_options[] = {
  { WS_OPTION_FLAG, "live", 'l', G_STRUCT_OFFSET (Options, live), NULL,
    "Say what to do next; take the picture by itself, and measure it", NULL },
  { WS_OPTION_FILE, "tool", 't', G_STRUCT_OFFSET (Options, tool), "CARD",
    "Tool card; a twist drill without one", NULL },
  { WS_OPTION_WORD, "view", 0, G_STRUCT_OFFSET (Options, view), "VIEW",
    "View; without it the usual one of the card's kind", &wsi_check_view },
  { WS_OPTION_FLAG, "json", 0, G_STRUCT_OFFSET (Options, json), NULL,
    "A line of JSON a frame, then the record", NULL },
  { WS_OPTION_NUMBER, "rate", 0, G_STRUCT_OFFSET (Options, rate), "N",
    "Frames a second at which a folder's pictures were taken", &wsi_check_above_zero },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_capture = {
  .name = "capture",
  .summary = "take a picture from the bench's camera",
  .about =
    "Takes a picture, or the mean of several frames between which nothing moved, and saves it as "
    "a\n"
    "PNG of 16 bits in linear light with the camera's settings in it. Exposure and gain, gamma,\n"
    "sharpening and white balance are fixed and read back; what can't be fixed is told.",
  .notes =
    "A bench file keeps the camera with its settings and its calibration; where one of them "
    "was\nchanged since, no picture is taken.\n"
    "With --live it says, one thing at a time, what keeps the picture from being good: no tool, "
    "too\ndark, out of focus and whether that got better, too near the frame, turned, leaning, "
    "dirty. When\nit has been good and still for half a second it is taken and measured.",
  .exits = "Exit status: 0 taken, with --live the verdict's as of measure; 64 wrong call, 65 not "
           "taken\nsince something moved, was lost or was changed, 66 no such camera or no more "
           "frames, 73 can't\nwrite.",
  .groups = { { options, 0 }, { bench_options, 0 }, { live_options, 0 } },
  .size = sizeof (Options),
  .run = capture,
};
