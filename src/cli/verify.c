#include <math.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>
#include <whetsight/whetsight.h>

#include "base/language.h"
#include "base/number.h"
#include "base/shown.h"
#include "base/told_text.h"
#include "camera/bench.h"
#include "cli/say.h"
#include "cli/verbs.h"
#include "image/taken.h"
#include "report/words.h"

#define SIGNIFICANT_DIGITS 12

/* As typed. */
typedef struct
{
  char *calib, *bench;
  char *shots;
  double pin;
  double outer;
  double inner;
  double diameter_u;
  gboolean target;
  int columns, rows;
  double square;
  double square_u;
  char *chart;
  gboolean json;
  char **images;
} Options;

/* One call. */
typedef struct
{
  char *calibration_path;
  WsTaken *taken; /* how the bench takes pictures; NULL without one */
  const char *chart;
  gboolean json;
  WsCalibration *calibration;
  WsVerify *verify;
  GPtrArray *shots; /* of WsShot */
} Job;

static void
job_clear (Job *job)
{
  ws_verify_free (job->verify);
  ws_calibration_free (job->calibration);
  wsi_taken_free (job->taken);
  g_free (job->calibration_path);
  g_clear_pointer (&job->shots, g_ptr_array_unref);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Job, job_clear)

/* ---- Options ---------------------------------------------------------------------- */

/* The sizes that --pin, --outer and --inner tell. */
static gboolean
read_diameters (const Options *options, WsShot *shot, GError **error)
{
  shot->kind = !isnan (options->pin) ? WS_SHOT_PIN : WS_SHOT_DISC;
  if (!isnan (options->square) || !isnan (options->square_u) || options->columns != 0 ||
      options->rows != 0)
    return wsi_refuse_usage (error, "--columns, --rows, --square and --square-u go with --target");
  shot->size_mm = wsi_option_number (options->pin, options->outer);
  shot->hole_mm = options->inner;
  shot->u_mm = wsi_option_number (options->diameter_u, 0);
  if (shot->hole_mm >= shot->size_mm)
    return wsi_refuse_usage (error, "--inner: expected less than --outer");
  return TRUE;
}

/* The board that --target and its companions describe. */
static gboolean
read_board (const Options *options, WsShot *shot, GError **error)
{
  shot->kind = WS_SHOT_BOARD;
  if (options->columns < WS_TARGET_MIN_SIDE || options->columns > WS_TARGET_MAX_SIDE ||
      options->rows < WS_TARGET_MIN_SIDE || options->rows > WS_TARGET_MAX_SIDE)
    return wsi_refuse_usage (error, "--target: give --columns and --rows, inner corners, %d to %d",
                             WS_TARGET_MIN_SIDE, WS_TARGET_MAX_SIDE);
  if (isnan (options->square) || !isnan (options->diameter_u))
    return wsi_refuse_usage (error, "--target: give --square, and its uncertainty as --square-u");
  shot->columns = (guint)options->columns;
  shot->rows = (guint)options->rows;
  shot->size_mm = options->square;
  shot->u_mm = wsi_option_number (options->square_u, 0);
  return TRUE;
}

/* What every picture of the call shows, without a list. */
static gboolean
read_short_form (const Options *options, Job *job, GError **error)
{
  g_autoptr (WsShot) shown = ws_shot_new (NULL, WS_SHOT_PIN);
  const gboolean is_disc = !isnan (options->outer) || !isnan (options->inner);
  const int n_kinds = (!isnan (options->pin)) + (options->target != FALSE) + is_disc;
  if (n_kinds != 1)
    return wsi_refuse_usage (error,
                             "say what the pictures show, one of: --shots LIST.csv, --pin MM, "
                             "--outer MM with --inner MM, --target");
  if (options->images == NULL)
    return wsi_refuse_usage (error, "name a picture; see whetsight verify --help");
  if (options->target ? !read_board (options, shown, error)
                      : !read_diameters (options, shown, error))
    return FALSE;
  job->shots = ws_shots_new ();
  for (char **image = options->images; *image != NULL; image++)
  {
    WsShot *shot = g_memdup2 (shown, sizeof *shown);
    shot->path = g_strdup (*image);
    g_ptr_array_add (job->shots, shot);
  }
  return TRUE;
}

static gboolean
read_shots (const Options *options, Job *job, GError **error)
{
  if (options->shots == NULL)
    return read_short_form (options, job, error);
  if (!isnan (options->pin) || !isnan (options->outer) || !isnan (options->inner) ||
      options->target || !isnan (options->diameter_u) || !isnan (options->square) ||
      options->images != NULL)
    return wsi_refuse_usage (error,
                             "--shots: the list names pictures and sizes; leave out the others");
  job->shots = ws_shots_load (options->shots, error);
  return job->shots != NULL;
}

static gboolean
is_svg (const char *path)
{
  return g_str_has_suffix (path, ".svg");
}

/* The bench's, as it was kept with. */
static gboolean
read_bench (const Options *options, Job *job, GError **error)
{
  g_auto (WsBench) bench = { 0 };
  if (!wsi_bench_load (options->bench, &bench, error) ||
      !wsi_bench_check_calibration (&bench, error))
    return FALSE;
  if (bench.calibration == NULL)
    return wsi_refuse (error, WS_ERROR_DATA,
                       "%s: has no calibration yet; keep it with one: whetsight capture --keep",
                       options->bench);
  job->calibration_path = g_strdup (bench.calibration);
  job->taken = wsi_bench_taken (&bench);
  return TRUE;
}

static gboolean
read_job (const Options *options, Job *job, GError **error)
{
  if ((options->calib == NULL) == (options->bench == NULL))
    return wsi_refuse_usage (error, "name the calibration to check: --calib NAME.calib, or --bench "
                                    "FILE.conf for the bench's");
  if (options->chart != NULL && !is_svg (options->chart) &&
      !g_str_has_suffix (options->chart, ".png"))
    return wsi_refuse_usage (
      error, "--chart: expected a name that ends in .png or .svg, found \"%s\"", options->chart);
  job->json = options->json;
  job->chart = options->chart;
  job->calibration_path = g_strdup (options->calib);
  if ((options->bench != NULL && !read_bench (options, job, error)) ||
      !read_shots (options, job, error))
    return FALSE;
  job->calibration = ws_calibration_load (job->calibration_path, error);
  if (job->calibration == NULL)
    return FALSE;
  job->verify = ws_verify_new (job->calibration);
  ws_verify_expect (job->verify, job->taken);
  return TRUE;
}

/* ---- Printing --------------------------------------------------------------------- */

static void
print_json (json_t *object)
{
  char *text = json_dumps (object, JSON_COMPACT | JSON_REAL_PRECISION (SIGNIFICANT_DIGITS));
  wsi_say_json (text);
  free (text);
  json_decref (object);
}

/* File names need not be UTF-8; JSON must be. */
static json_t *
text_value (const char *text)
{
  g_autofree char *valid = g_utf8_make_valid (text, -1);
  return json_string (valid);
}

static void
print_check_json (const WsCheck *check)
{
  json_t *object = json_object ();
  json_object_set_new (object, "file", text_value (check->file));
  json_object_set_new (object, "quantity", json_string (check->quantity));
  json_object_set_new (object, "value", json_real (check->value));
  json_object_set_new (object, "U", json_real (check->U));
  json_object_set_new (object, "reference", json_real (check->reference));
  json_object_set_new (object, "U_reference", json_real (check->U_reference));
  json_object_set_new (object, "deviation", json_real (check->deviation));
  json_object_set_new (object, "E_n", json_real (check->E_n));
  json_object_set_new (object, "pass", json_boolean (check->pass));
  json_object_set_new (object, "run", json_string (check->run));
  json_object_set_new (object, "time", json_string (check->time));
  json_object_set_new (object, "calibration", text_value (check->calibration));
  print_json (object);
}

static void
print_check_text (const WsCheck *check)
{
  const guint places = wsi_number_places (fmin (check->U, 0.001));
  g_autofree char *value = wsi_number_format (check->value, places);
  g_autofree char *U = wsi_number_format (check->U, places);
  g_autofree char *reference = wsi_number_format (check->reference, places);
  g_autofree char *number = wsi_number_format (check->U_reference, places);
  g_autofree char *U_reference = check->U_reference > 0 ? g_strdup_printf ("± %s mm", number)
                                                        : g_strdup (_ ("mm taken as exact"));
  g_autofree char *deviation = wsi_number_format (check->deviation, places);
  g_autofree char *E_n = wsi_number_format (check->E_n, 2);
  g_autofree char *file = wsi_shown (check->file);
  g_autofree char *stem =
    g_strndup (check->quantity, (gsize)(strrchr (check->quantity, '_') - check->quantity));
  wsi_say ("%s: %s %s ± %s mm, reference %s %s, deviation %s mm, E_n %s: %s\n", file, _ (stem),
           value, U, reference, U_reference, deviation, E_n, check->pass ? _ ("pass") : _ ("FAIL"));
}

static void
print_check (const Job *job, const WsCheck *check)
{
  if (job->json)
    print_check_json (check);
  else
    print_check_text (check);
}

static void
print_unusable (const Job *job, const WsShot *shot, WsRetake reason, const char *detail)
{
  g_autofree char *name = g_path_get_basename (shot->path);
  g_autofree char *shown = wsi_shown (name);
  /* The sentence for a wrong view is about tools; the detail says it all. */
  g_autofree char *told = wsi_told_text (detail);
  if (reason == WS_RETAKE_WRONG_VIEW && *detail != '\0')
    wsi_say_aside ("whetsight: %s: can't be measured: %s\n", shown, told);
  else
    wsi_say_aside ("whetsight: %s: can't be measured: %s%s%s%s\n", shown,
                   _ (ws_retake_sentence (reason)), *detail != '\0' ? " (" : "", told,
                   *detail != '\0' ? ")" : "");
  if (!job->json)
    return;
  json_t *object = json_object ();
  json_object_set_new (object, "file", text_value (name));
  json_object_set_new (object, "reason", json_string (ws_retake_code (reason)));
  json_object_set_new (object, "pass", json_null ());
  print_json (object);
}

/* What the last point of each series says beside pass and fail. */
static void
print_signals (const Job *job, const GPtrArray *checks)
{
  g_auto (GStrv) signals = ws_report_checks_signals (job->calibration, checks);
  for (char **signal = signals; *signal != NULL; signal++)
    wsi_say_aside ("whetsight: %s; look for what changed, or calibrate again\n", *signal);
}

static void
print_state (const Job *job, const WsCheckState *state)
{
  g_autofree char *since = wsi_words_local_time (state->time);
  if (job->json)
    return;
  if (state->state == WS_CHECKED_PASSED)
    wsi_say ("PASSED: the calibration holds.\n");
  else
    wsi_say (
      "FAILED since %s: nothing is accepted with this calibration until a check passes. Wipe "
      "artefact and light, look for what moved, check again; if it fails again, calibrate "
      "again and measure anew what was measured since the last pass.\n",
      since);
}

/* ---- Doing ------------------------------------------------------------------------ */

static void
warn_of_expiry (const Job *job)
{
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  if (ws_calibration_expired (job->calibration, now))
    wsi_say_aside ("whetsight: %s: has expired; a check doesn't make it valid again\n",
                   job->calibration_path);
}

/* Adds what the picture shows to the job's checks; returns the exit status. */
static int
run_shot (const Job *job, const WsShot *shot)
{
  GError *error = NULL;
  g_auto (WsVerifySeen) seen = { 0 };
  if (!ws_verify_shot (job->verify, shot, &seen, &error))
  {
    if (error != NULL)
      return wsi_fail (error);
    print_unusable (job, shot, seen.reason, seen.detail);
    return WS_EXIT_RETAKE;
  }
  /* Told, not refused: the history shows what it was. */
  if (seen.made_it)
    fprintf (
      stderr,
      _ ("whetsight: %s: the calibration was made from this very picture, so that it agrees by "
         "construction; take another\n"),
      shot->path);
  int status = WS_EXIT_ACCEPT;
  for (guint i = 0; i < seen.n; i++)
  {
    const WsCheck *check = g_ptr_array_index (ws_verify_checks (job->verify), seen.first + i);
    print_check (job, check);
    status = check->pass ? status : WS_EXIT_REJECT;
  }
  return status;
}

static gboolean
draw_chart (const Job *job, const GPtrArray *checks, GError **error)
{
  if (job->chart == NULL)
    return TRUE;
  const WsChartFormat format = is_svg (job->chart) ? WS_CHART_SVG : WS_CHART_PNG;
  g_autoptr (GBytes) chart = ws_report_checks_chart (job->calibration, checks, format, error);
  return chart != NULL && ws_report_save (job->chart, g_bytes_get_data (chart, NULL),
                                          g_bytes_get_size (chart), error);
}

/* Keeps what was found, says what it means; returns the exit status. */
static int
conclude (const Job *job)
{
  GError *error = NULL;
  const GPtrArray *checks = ws_verify_checks (job->verify);
  if (checks->len == 0)
    return WS_EXIT_ACCEPT;
  g_autoptr (GPtrArray) all = ws_checks_append (job->calibration_path, checks, &error);
  if (all == NULL)
    return wsi_fail (error);
  const WsCheckState state = ws_checks_state (all, ws_calibration_id (job->calibration));
  print_state (job, &state);
  print_signals (job, all);
  if (!draw_chart (job, all, &error))
    return wsi_fail (error);
  return WS_EXIT_ACCEPT;
}

/* A function, since MAX() would do what makes its arguments twice. */
static int
worse (int a, int b)
{
  return MAX (a, b);
}

static int
verify (gpointer options, char **words)
{
  GError *error = NULL;
  g_auto (Job) job = { 0 };
  (void)words;
  if (!read_job (options, &job, &error))
    return wsi_fail (error);
  warn_of_expiry (&job);
  int status = WS_EXIT_ACCEPT;
  for (guint i = 0; i < job.shots->len; i++)
    status = worse (status, run_shot (&job, g_ptr_array_index (job.shots, i)));
  status = worse (status, conclude (&job));
  if (fflush (stdout) != 0 || ferror (stdout))
    status = wsi_fail (
      g_error_new_literal (WS_ERROR, WS_ERROR_CANT_WRITE, "can't write to standard output"));
  return status;
}

static const WsOptionCheck is_size = {
  .phrase = "expected millimetres above 0 with a decimal point", .most = INFINITY, .above = TRUE
};
static const WsOptionCheck is_u = { .phrase = "expected millimetres with a decimal point",
                                    .most = INFINITY };

static const WsOption options[] = {
  { WS_OPTION_FILE, "calib", 'c', G_STRUCT_OFFSET (Options, calib), "NAME.calib",
    "Calibration to check", NULL },
  { WS_OPTION_FILE, "bench", 'b', G_STRUCT_OFFSET (Options, bench), "FILE.conf",
    "The bench whose calibration is to be checked, by pictures that it took", NULL },
  { WS_OPTION_FILE, "shots", 's', G_STRUCT_OFFSET (Options, shots), "LIST.csv",
    "Pictures and sizes: file,diameter_mm,u_mm or file,outer_mm,inner_mm,u_mm", NULL },
  { WS_OPTION_LENGTH, "pin", 0, G_STRUCT_OFFSET (Options, pin), "MM",
    "Diameter of the pin that every PICTURE shows", &is_size },
  { WS_OPTION_LENGTH, "outer", 0, G_STRUCT_OFFSET (Options, outer), "MM",
    "Outer diameter of the ring or disc that every PICTURE shows", &is_size },
  { WS_OPTION_LENGTH, "inner", 0, G_STRUCT_OFFSET (Options, inner), "MM", "Its inner diameter",
    &is_size },
  { WS_OPTION_LENGTH, "diameter-u", 0, G_STRUCT_OFFSET (Options, diameter_u), "MM",
    "Standard uncertainty of these diameters, 0 by default", &is_u },
  { WS_OPTION_FLAG, "target", 0, G_STRUCT_OFFSET (Options, target), NULL,
    "Every PICTURE shows a chessboard in the measuring plane", NULL },
  { WS_OPTION_COUNT, "columns", 0, G_STRUCT_OFFSET (Options, columns), "N",
    "Inner corners along a row", NULL },
  { WS_OPTION_COUNT, "rows", 0, G_STRUCT_OFFSET (Options, rows), "N",
    "Inner corners along a column", NULL },
  { WS_OPTION_LENGTH, "square", 0, G_STRUCT_OFFSET (Options, square), "MM", "Side of a square",
    &is_size },
  { WS_OPTION_LENGTH, "square-u", 0, G_STRUCT_OFFSET (Options, square_u), "MM",
    "Its standard uncertainty as mean over the board, 0 by default", &is_u },
  { WS_OPTION_FILE, "chart", 0, G_STRUCT_OFFSET (Options, chart), "FILE.png|FILE.svg",
    "Draw the control chart of all checks there", NULL },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL,
    "Print JSON, one line for each size, instead of text", NULL },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, images), "PICTURE…", NULL, NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_verb_verify = {
  .name = "verify",
  .summary = "check a calibration against things of known size",
  .about =
    "Checks a calibration against things of known size that it wasn't made with, and adds the "
    "outcome\nto NAME.checks.csv beside it.",
  .notes = "A size passes when |E_n| <= 1, with E_n = deviation / sqrt (U^2 + U_reference^2).",
  .exits =
    "Exit status: 0 all passed, 1 a size failed, 3 a picture can't be measured, 64 and above "
    "for errors;\nwith several pictures the worst in this order.",
  .groups = { { options, 0 } },
  .size = sizeof (Options),
  .run = verify,
};
