#include "camera/bench.h"

#include <math.h>
#include <string.h>

#include <whetsight/calibration.h>
#include <whetsight/error.h>

#include "base/file.h"
#include "base/key_file.h"
#include "base/shown.h"
#include "camera/shot_file.h"
#include "image/taken.h"
#include "image/taken_pixels.h"

#define MAX_BYTES 65536
#define KIND_OF_FILE "bench file"

/* Cameras set exposure and gain in steps: within this share it is the same. */
#define SAME_SHARE 0.01

#define CURE "calibrate again and keep it with --keep, or undo the change"

void
wsi_bench_clear (WsBench *bench)
{
  char *const texts[] = { bench->address, bench->name,        bench->serial,
                          bench->pixels,  bench->calibration, bench->calibration_sha256,
                          bench->station };
  for (gsize i = 0; i < G_N_ELEMENTS (texts); i++)
    g_free (texts[i]);
  for (guint i = 0; i < WS_N_SETTINGS; i++)
    g_free (bench->settings[i]);
  *bench = (WsBench){ 0 };
}

/* ---- The file ---------------------------------------------------------------------------- */

static gboolean refuse (GError **error, const char *format, ...) G_GNUC_PRINTF (2, 3);

static gboolean
refuse (GError **error, const char *format, ...)
{
  va_list words;
  va_start (words, format);
  g_autofree char *message = g_strdup_vprintf (format, words);
  va_end (words);
  g_set_error_literal (error, WS_ERROR, WS_ERROR_DATA, message);
  return FALSE;
}

/* A clock that was set may put a check a little into the future. */
#define CLOCK_SLACK_S 120.0

#define COLOUR "colour"

/* A text that may be missing. */
static char *
text_at (GKeyFile *file, const char *group, const char *key)
{
  g_autofree char *text = g_key_file_get_string (file, group, key, NULL);
  return text != NULL && *text != '\0' ? g_steal_pointer (&text) : NULL;
}

static gboolean
read_size (const char *path, GKeyFile *file, const char *key, guint *px, GError **error)
{
  g_autoptr (GError) cause = NULL;
  const int value = g_key_file_get_integer (file, "camera", key, &cause);
  if (cause != NULL || value <= 0)
    return refuse (error,
                   "%s: [camera] %s: expected a number of pixels; keep the bench anew with --keep",
                   path, key);
  *px = (guint)value;
  return TRUE;
}

/* Once a day when nothing is said. */
static gboolean
read_check (const char *path, GKeyFile *file, WsBench *bench, GError **error)
{
  g_autoptr (GError) cause = NULL;
  bench->check_hours = WS_BENCH_CHECK_HOURS;
  if (!g_key_file_has_key (file, "check", "every_hours", NULL))
    return TRUE;
  bench->check_hours = g_key_file_get_double (file, "check", "every_hours", &cause);
  if (cause == NULL && bench->check_hours >= 0.0 && isfinite (bench->check_hours))
    return TRUE;
  return refuse (error, "%s: [check] every_hours: expected a number of hours; 0 for no check",
                 path);
}

/* The calibration's path as the program opens it: beside the bench file. */
static char *
beside (const char *path, const char *name)
{
  if (name == NULL || g_path_is_absolute (name))
    return g_strdup (name);
  g_autofree char *folder = g_path_get_dirname (path);
  return g_build_filename (folder, name, NULL);
}

static gboolean
read_keys (const char *path, GKeyFile *file, WsBench *bench, GError **error)
{
  bench->address = text_at (file, "camera", "address");
  bench->name = text_at (file, "camera", "name");
  bench->serial = text_at (file, "camera", "serial");
  bench->pixels = text_at (file, "camera", "pixels");
  bench->station = text_at (file, "station", "name");
  bench->calibration_sha256 = text_at (file, "calibration", "sha256");
  g_autofree char *calibration = text_at (file, "calibration", "file");
  bench->calibration = beside (path, calibration);
  if (bench->address == NULL || bench->pixels == NULL)
    return refuse (error, "%s: [camera] %s: missing; keep the bench anew with --keep", path,
                   bench->address == NULL ? "address" : "pixels");
  bench->colour = g_str_has_prefix (bench->pixels, COLOUR);
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
  {
    bench->settings[name] = text_at (file, "settings", wsi_setting_name (name));
    if (bench->settings[name] == NULL)
      return refuse (error, "%s: [settings] %s: missing; keep the bench anew with --keep", path,
                     wsi_setting_name (name));
  }
  if ((bench->calibration == NULL) != (bench->calibration_sha256 == NULL))
    return refuse (
      error, "%s: [calibration] has one of file and sha256; keep the bench anew with --keep", path);
  return read_size (path, file, "width", &bench->width, error) &&
         read_size (path, file, "height", &bench->height, error) &&
         read_check (path, file, bench, error);
}

gboolean
wsi_bench_load (const char *path, WsBench *bench, GError **error)
{
  g_autofree char *shown = wsi_shown (path);
  *bench = (WsBench){ 0 };
  g_autofree char *text = wsi_file_read_text (path, KIND_OF_FILE, MAX_BYTES, error);
  g_autoptr (GKeyFile) file =
    text != NULL ? wsi_key_file_parse (shown, KIND_OF_FILE, text, error) : NULL;
  if (file != NULL && read_keys (path, file, bench, error))
    return TRUE;
  wsi_bench_clear (bench);
  return FALSE;
}

static void
set_text (GKeyFile *file, const char *group, const char *key, const char *text)
{
  if (text != NULL && *text != '\0')
    g_key_file_set_string (file, group, key, text);
}

gboolean
wsi_bench_save (const char *path, const WsBench *bench, GError **error)
{
  g_autoptr (GKeyFile) file = g_key_file_new ();
  set_text (file, "camera", "address", bench->address);
  set_text (file, "camera", "name", bench->name);
  set_text (file, "camera", "serial", bench->serial);
  g_key_file_set_integer (file, "camera", "width", (int)bench->width);
  g_key_file_set_integer (file, "camera", "height", (int)bench->height);
  set_text (file, "camera", "pixels", bench->pixels);
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
    set_text (file, "settings", wsi_setting_name (name), bench->settings[name]);
  set_text (file, "calibration", "file", bench->calibration);
  set_text (file, "calibration", "sha256", bench->calibration_sha256);
  set_text (file, "station", "name", bench->station);
  g_key_file_set_double (file, "check", "every_hours", bench->check_hours);
  gsize n = 0;
  g_autofree char *text = g_key_file_to_data (file, &n, NULL);
  return wsi_file_save (path, text, n, error);
}

void
wsi_bench_keep (WsBench *bench, const WsCamera *camera, const WsCameraSettings *settings,
                const WsImage *image)
{
  const WsCameraIdentity *identity = wsi_camera_identity (camera);
  g_free (bench->name);
  g_free (bench->serial);
  bench->name = g_strdup (identity->name);
  bench->serial = g_strdup (identity->serial);
  g_free (bench->pixels);
  bench->width = image->width;
  bench->height = image->height;
  bench->pixels = wsi_taken_pixels (image);
  bench->colour = image->has_colour;
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
  {
    g_free (bench->settings[name]);
    bench->settings[name] = wsi_setting_text (name, &settings->of[name]);
  }
}

/* ---- Holding the camera against it ------------------------------------------------------- */

/* The number that a kept setting begins with; NAN when it has none. */
static double
number_of (const char *text)
{
  char *end = NULL;
  const double number = g_ascii_strtod (text, &end);
  return end != text ? number : NAN;
}

static gboolean
check_camera (const WsBench *bench, const WsCamera *camera, GError **error)
{
  const WsCameraIdentity *identity = wsi_camera_identity (camera);
  const char *name = bench->name != NULL ? bench->name : "";
  const char *serial = bench->serial != NULL ? bench->serial : "";
  if (g_str_equal (name, identity->name) && g_str_equal (serial, identity->serial))
    return TRUE;
  return refuse (error, "another camera than the bench's: %s %s, not %s %s; " CURE, identity->name,
                 identity->serial, name, serial);
}

static gboolean
is_same (const char *kept, const char *now)
{
  const double was = number_of (kept), is = number_of (now);
  if (isnan (was) || isnan (is))
    return g_str_equal (kept, now);
  return fabs (is - was) <= SAME_SHARE * fabs (was) + 1e-9;
}

static gboolean
check_settings (const WsBench *bench, const WsCameraSettings *settings, GError **error)
{
  for (WsSettingName name = 0; name < WS_N_SETTINGS; name++)
  {
    g_autofree char *now = wsi_setting_text (name, &settings->of[name]);
    if (!is_same (bench->settings[name], now))
      return refuse (error, "the camera's %s is %s, not %s as the bench was kept; " CURE,
                     wsi_setting_name (name), now, bench->settings[name]);
  }
  return TRUE;
}

gboolean
wsi_bench_check_calibration (const WsBench *bench, GError **error)
{
  if (bench->calibration == NULL)
    return TRUE;
  g_autoptr (WsCalibration) calibration = ws_calibration_load (bench->calibration, error);
  if (calibration == NULL)
    return FALSE;
  if (!g_str_equal (ws_calibration_sha256 (calibration), bench->calibration_sha256))
    return refuse (error, "%s: another calibration than the bench was kept with; " CURE,
                   bench->calibration);
  return ws_calibration_fits (calibration, bench->width, bench->height, error);
}

WsCamera *
wsi_bench_open (const WsBench *bench, WsCameraSettings *settings, GError **error)
{
  if (!wsi_bench_check_calibration (bench, error))
    return NULL;
  g_autoptr (WsCamera) camera = wsi_camera_open (bench->address, bench->colour, error);
  if (camera == NULL || !check_camera (bench, camera, error))
    return NULL;
  const double exposure = number_of (bench->settings[WS_SETTING_EXPOSURE]);
  const double gain = number_of (bench->settings[WS_SETTING_GAIN]);
  if (!wsi_camera_fix (camera, exposure, gain, settings, error) ||
      !check_settings (bench, settings, error))
    return NULL;
  return g_steal_pointer (&camera);
}

gboolean
wsi_bench_check_picture (const WsBench *bench, const WsImage *image, GError **error)
{
  g_autofree char *pixels = wsi_taken_pixels (image);
  if (image->width != bench->width || image->height != bench->height)
    return refuse (error,
                   "the camera gives %u x %u pixels, not %u x %u as the bench was kept; " CURE,
                   image->width, image->height, bench->width, bench->height);
  return g_str_equal (pixels, bench->pixels) ||
         refuse (error,
                 "the camera's pixel format is \"%s\", not \"%s\" as the bench was kept; " CURE,
                 pixels, bench->pixels);
}

/* ---- What it says of pictures and of its calibration --------------------------------------- */

WsTaken *
wsi_bench_taken (const WsBench *bench)
{
  const char *colon = strchr (bench->address, ':');
  const gsize n = colon != NULL ? (gsize)(colon - bench->address) : strlen (bench->address);
  g_autofree char *kind = g_strndup (bench->address, n);
  WsCameraIdentity identity = { .kind = kind,
                                .name = bench->name != NULL ? bench->name : (char *)"",
                                .serial = bench->serial != NULL ? bench->serial : (char *)"" };
  return wsi_shot_taken_of (&identity, bench->pixels, bench->settings, bench->calibration_sha256);
}

/* A check that lies in the future tells of a clock, not of the calibration. */
static gboolean
is_due (const WsBench *bench, const WsCheckState *last, GDateTime *now)
{
  g_autoptr (GDateTime) at = g_date_time_new_from_iso8601 (last->time, NULL);
  if (last->state != WS_CHECKED_PASSED || at == NULL)
    return TRUE;
  const double age_s = (double)g_date_time_difference (now, at) / G_TIME_SPAN_SECOND;
  return age_s > bench->check_hours * 3600.0 || age_s < -CLOCK_SLACK_S;
}

gboolean
wsi_bench_check (const WsBench *bench, GDateTime *now, WsBenchCheck *check, GError **error)
{
  *check = (WsBenchCheck){ .due = FALSE };
  if (bench->calibration == NULL)
    return TRUE;
  g_autoptr (WsCalibration) calibration = ws_calibration_load (bench->calibration, error);
  if (calibration == NULL ||
      !ws_checks_load_state (bench->calibration, ws_calibration_id (calibration), &check->last,
                             error))
    return FALSE;
  check->due = bench->check_hours > 0.0 && is_due (bench, &check->last, now);
  return TRUE;
}
