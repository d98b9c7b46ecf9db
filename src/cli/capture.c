/*
 * capture: takes a picture from the bench's camera.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <whetsight/calibration.h>
#include <whetsight/report.h>

#include "camera/bench.h"
#include "camera/expose.h"
#include "camera/shot_file.h"
#include "camera/stack.h"
#include "cli/say.h"
#include "cli/verbs.h"

#define MOST_FRAMES 256

/* Longer than any exposure that suits a bench, shorter than anybody waits. */
#define TIMEOUT_MS 5000

/* Frames that may be lost on the way before the cable is to blame. */
#define MOST_LOST 4

/* As typed. */
typedef struct
{
  char *camera, *bench, *calib, *station, *out;
  double exposure, gain;
  gboolean expose, keep;
  int frames;
} Options;

typedef struct
{
  const Options *options;
  WsCamera *camera;
  WsCameraSettings settings;
  WsBench bench; /* its address is NULL without one */
  WsFrame frame;
  WsStack *stack;
} Capture;

static void
capture_clear (Capture *capture)
{
  wsi_camera_close (capture->camera);
  wsi_bench_clear (&capture->bench);
  wsi_frame_clear (&capture->frame);
  wsi_stack_free (capture->stack);
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
                     wsi_setting_name (name));
    else if (setting->state == WS_SETTING_FIXED &&
             ((name == WS_SETTING_GAMMA && linear && fabs (setting->value - 1.0) > 0.01) ||
              (name == WS_SETTING_SHARPENING && setting->value > setting->least)))
      wsi_say_aside ("whetsight: the camera's %s stays at %g and moves edges; calibrate with it, "
                     "and don't change it\n",
                     wsi_setting_name (name), setting->value);
  }
}

static gboolean
open_camera (Capture *capture, GError **error)
{
  const Options *options = capture->options;
  const gboolean kept = options->bench != NULL && !options->keep;
  if (kept)
    capture->camera = wsi_bench_load (options->bench, &capture->bench, error)
                        ? wsi_bench_open (&capture->bench, &capture->settings, error)
                        : NULL;
  else
    capture->camera = wsi_camera_open (options->camera, error);
  if (capture->camera == NULL)
    return FALSE;
  if (!kept && !wsi_camera_fix (capture->camera, options->exposure, options->gain,
                                &capture->settings, error))
    return FALSE;
  tell_findings (capture->camera, &capture->settings);
  return !options->expose || wsi_expose (capture->camera, TIMEOUT_MS, &capture->frame,
                                         &capture->settings.of[WS_SETTING_EXPOSURE], error);
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
    wsi_say_aside ("whetsight: %s\n", cause->message);
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
    if (!grab (capture, &n_lost, error) ||
        !wsi_stack_add (capture->stack, capture->frame.image, error))
      return FALSE;
    if (i == 0 && capture->bench.address != NULL &&
        !wsi_bench_check_picture (&capture->bench, capture->frame.image, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
save_picture (const Capture *capture, GError **error)
{
  const Options *options = capture->options;
  const guint n = (guint)MAX (options->frames, 1);
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  const WsShotNotes notes = { .identity = wsi_camera_identity (capture->camera),
                              .settings = &capture->settings,
                              .n_frames = n,
                              .shift_px = n > 1 ? wsi_stack_shift_px (capture->stack) : NAN,
                              .time = time };
  g_autoptr (WsImage) mean = wsi_stack_mean (capture->stack, error);
  if (mean == NULL)
    return FALSE;
  mean->tone = capture->frame.image->tone;
  g_autoptr (GBytes) file = wsi_shot_encode (mean, &notes, error);
  gsize n_bytes = 0;
  const void *bytes = file != NULL ? g_bytes_get_data (file, &n_bytes) : NULL;
  if (bytes == NULL || !ws_report_save (options->out, bytes, n_bytes, error))
    return FALSE;
  wsi_say ("%s: %u x %u pixels, %u frame%s, background at %.0f %% of full scale%s\n", options->out,
           mean->width, mean->height, n, n == 1 ? "" : "s", 100.0 * wsi_background_level (mean),
           capture->frame.saturated ? ", saturated in places" : "");
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
  const WsImage *image = capture->frame.image;
  bench->address = g_strdup (options->camera);
  bench->station = g_strdup (options->station);
  wsi_bench_keep (bench, capture->camera, &capture->settings, image);
  if (options->calib != NULL)
  {
    g_autoptr (WsCalibration) calibration = ws_calibration_load (options->calib, error);
    if (calibration == NULL ||
        !ws_calibration_fits (calibration, image->width, image->height, error))
      return FALSE;
    bench->calibration = path_beside (options->bench, options->calib);
    bench->calibration_sha256 = g_strdup (ws_calibration_sha256 (calibration));
  }
  return wsi_bench_save (options->bench, bench, error) &&
         (wsi_say ("%s: the bench is kept\n", options->bench), TRUE);
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
  if (!options->keep && (options->calib != NULL || options->station != NULL))
    return wsi_refuse_usage (error, "capture: --calib and --station go with --keep");
  if (!options->keep && options->bench != NULL &&
      (options->expose || !isnan (options->exposure) || !isnan (options->gain)))
    return wsi_refuse_usage (
      error,
      "capture: a bench has its exposure and gain; to change them calibrate again and --keep");
  if (options->expose && !isnan (options->exposure))
    return wsi_refuse_usage (error, "capture: --expose finds the exposure; leave out --exposure");
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
      !take_frames (&capture, &error) || (options->keep && !keep_bench (&capture, &error)) ||
      (options->out != NULL && !save_picture (&capture, &error)))
    return wsi_fail (error);
  return WS_EXIT_ACCEPT;
}

static const WsOptionCheck check_frames = {
  "expected a number of frames, 1 to 256", 1, MOST_FRAMES, FALSE, TRUE, NULL
};

static const WsOption options[] = {
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (Options, camera), "ADDRESS",
    "genicam:NAME or an address in the network, v4l2:/dev/video0, files:FOLDER", NULL },
  { WS_OPTION_FILE, "bench", 'b', G_STRUCT_OFFSET (Options, bench), "FILE.conf",
    "Bench file: camera, settings, calibration and station", NULL },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (Options, out), "PICTURE.png",
    "Where the picture goes", NULL },
  { WS_OPTION_COUNT, "frames", 'n', G_STRUCT_OFFSET (Options, frames), "N",
    "The mean of N frames, which has less noise", &check_frames },
  { WS_OPTION_FLAG, "expose", 0, G_STRUCT_OFFSET (Options, expose), NULL,
    "Set the exposure so that the background lies at 80 % of full scale", NULL },
  { WS_OPTION_NUMBER, "exposure", 0, G_STRUCT_OFFSET (Options, exposure), "S",
    "Exposure in seconds", &wsi_check_above_zero },
  { WS_OPTION_NUMBER, "gain", 0, G_STRUCT_OFFSET (Options, gain), "NUMBER",
    "Gain in the camera's unit", &wsi_check_number },
  WS_OPTIONS_END
};

static const WsOption bench_options[] = {
  { WS_OPTION_FLAG, "keep", 0, G_STRUCT_OFFSET (Options, keep), NULL,
    "Write the bench file from the camera as it is now", NULL },
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (Options, calib), "NAME.calib",
    "Calibration made with these settings", NULL },
  { WS_OPTION_TEXT, "station", 0, G_STRUCT_OFFSET (Options, station), "NAME",
    "Where the bench stands", NULL },
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
  .notes = "A bench file keeps the camera with its settings and its calibration; where one of them "
           "was\nchanged since, no picture is taken.",
  .exits = "Exit status: 0 taken, 64 wrong call, 65 not taken since something moved, was lost or "
           "was\nchanged, 66 no such camera, 73 can't write.",
  .groups = { { options, 0 }, { bench_options, 0 } },
  .size = sizeof (Options),
  .run = capture,
};
