/*
 * calibrate target: a camera from pictures of a chessboard.
 */
#include "cli/calibrate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <whetsight/calibration.h>
#include <whetsight/error.h>
#include <whetsight/image.h>

#include "base/number.h"
#include "base/sha256.h"
#include "cli/verbs.h"
#include "optics/propagate.h"
#include "optics/target.h"

#define COVERAGE 2.0

/* Wear and temperature change a set-up; a year is common practice, no source. */
#define VALID_DAYS "365"
#define MAX_VALID_DAYS 36500.0

#define MAX_MM 1000.0 /* own choice */

/* Share of the picture that the corners should span.  Own choice. */
#define GOOD_SPAN 0.6

/* degrees: a board tilted more has its scale less well.  Own choice. */
#define GOOD_TILT_DEG 1.5

#define SUFFIX ".calib"

typedef struct
{
  char *columns, *rows, *square, *square_u, *valid_days; /* as typed */
  char *plane;
  char *out;
  char *camera;
  char *certificate;
  gboolean telecentric;
  char **pictures;
  WsTargetBoard board;
  double days;
} Options;

static void
options_clear (Options *options)
{
  g_free (options->columns);
  g_free (options->rows);
  g_free (options->square);
  g_free (options->square_u);
  g_free (options->valid_days);
  g_free (options->plane);
  g_free (options->out);
  g_free (options->camera);
  g_free (options->certificate);
  g_strfreev (options->pictures);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Options, options_clear)

/* One picture. */
typedef struct
{
  char *path;
  char *name;
  char *sha256;
  WsTargetView *view;
} Shot;

static Shot *
shot_new (const char *path)
{
  Shot *shot = g_new0 (Shot, 1);
  shot->path = g_strdup (path);
  shot->name = g_path_get_basename (path);
  shot->view = ws_target_view_new ();
  return shot;
}

static void
shot_free (gpointer data)
{
  Shot *shot = data;
  g_free (shot->path);
  g_free (shot->name);
  g_free (shot->sha256);
  ws_target_view_free (shot->view);
  g_free (shot);
}

typedef struct
{
  const Options *options;
  GPtrArray *shots; /* of Shot */
  guint plane;      /* index */
  WsTargetResult result;
  WsCalibration *calibration; /* NULL before the fit */
} Job;

static void
job_clear (Job *job)
{
  g_clear_pointer (&job->shots, g_ptr_array_unref);
  ws_calibration_free (job->calibration);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (Job, job_clear)

static Shot *
shot_at (const Job *job, guint i)
{
  return g_ptr_array_index (job->shots, i);
}

static gboolean refuse (GError **error, WsErrorCode code, const char *format, ...)
  G_GNUC_PRINTF (3, 4);

static gboolean
refuse (GError **error, WsErrorCode code, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  g_autofree char *message = g_strdup_vprintf (format, arguments);
  va_end (arguments);
  g_set_error_literal (error, WS_ERROR, (gint)code, message);
  return FALSE;
}

/* ---- Options ------------------------------------------------------------------------------ */

static gboolean
parse_options (char ***arguments, Options *options, GError **error)
{
  const GOptionEntry entries[] = {
    { "columns", 0, 0, G_OPTION_ARG_STRING, &options->columns, "Inner corners along a row", "N" },
    { "rows", 0, 0, G_OPTION_ARG_STRING, &options->rows, "Inner corners along a column", "N" },
    { "square", 0, 0, G_OPTION_ARG_STRING, &options->square, "Side of a square", "MM" },
    { "square-u", 0, 0, G_OPTION_ARG_STRING, &options->square_u,
      "Its standard uncertainty by the certificate, as mean over the board", "MM" },
    { "plane", 0, 0, G_OPTION_ARG_FILENAME, &options->plane,
      "The picture whose board lies in the measuring plane", "PICTURE" },
    { "telecentric", 0, 0, G_OPTION_ARG_NONE, &options->telecentric,
      "The lens is telecentric: one picture of the board in the measuring plane will do", NULL },
    { "out", 'o', 0, G_OPTION_ARG_FILENAME, &options->out, "Write the calibration there",
      "NAME.calib" },
    { "camera", 0, 0, G_OPTION_ARG_STRING, &options->camera,
      "What you call this camera in this place; NAME by default", "TEXT" },
    { "certificate", 0, 0, G_OPTION_ARG_STRING, &options->certificate,
      "Number of the board's certificate", "TEXT" },
    { "valid-days", 0, 0, G_OPTION_ARG_STRING, &options->valid_days,
      "Days until it expires, " VALID_DAYS " by default", "N" },
    { G_OPTION_REMAINING, 0, 0, G_OPTION_ARG_FILENAME_ARRAY, &options->pictures, NULL, "PICTURE…" },
    { NULL, 0, 0, G_OPTION_ARG_NONE, NULL, NULL, NULL },
  };
  g_autoptr (GOptionContext) context = g_option_context_new (NULL);
  g_option_context_set_summary (context, "Finds a camera's lens and its place before the measuring "
                                         "plane from pictures of a chessboard.");
  g_option_context_set_description (
    context,
    "Take ten or so pictures of the whole board, tilted by 15 to 30 degrees to different "
    "sides, also in\nthe picture's corners, and one with the board in the measuring "
    "plane. Corners where four\nsquares meet count: a board of 12 x 9 squares has 11 x 8.");
  g_option_context_add_main_entries (context, entries, NULL);
  return g_option_context_parse_strv (context, arguments, error);
}

static gboolean
read_count (const char *option, const char *text, guint *count, GError **error)
{
  double value;
  if (text != NULL && ws_number_parse (text, &value) && value >= WS_TARGET_MIN_SIDE &&
      value <= WS_TARGET_MAX_SIDE && !(fabs (value - round (value)) > 0))
  {
    *count = (guint)value;
    return TRUE;
  }
  return refuse (error, WS_ERROR_USAGE,
                 "%s: give the number of inner corners, %d to %d, where four squares meet", option,
                 WS_TARGET_MIN_SIDE, WS_TARGET_MAX_SIDE);
}

static gboolean
read_mm (const char *option, const char *text, double least, double *value, GError **error)
{
  if (text != NULL && ws_number_parse (text, value) && *value >= least && *value <= MAX_MM)
    return TRUE;
  return refuse (error, WS_ERROR_USAGE, "%s: give millimetres with a decimal point%s%s%s", option,
                 text != NULL ? "; found \"" : "", text != NULL ? text : "",
                 text != NULL ? "\"" : "");
}

static gboolean
read_days (Options *options, GError **error)
{
  const char *text = options->valid_days != NULL ? options->valid_days : VALID_DAYS;
  if (ws_number_parse (text, &options->days) && options->days >= 1 &&
      options->days <= MAX_VALID_DAYS && !(fabs (options->days - round (options->days)) > 0))
    return TRUE;
  return refuse (error, WS_ERROR_USAGE,
                 "--valid-days: expected a whole number of days, found \"%s\"", text);
}

static gboolean
read_board (Options *options, GError **error)
{
  const double smallest = 1e-3; /* mm: own choice, below any square that can be seen */
  WsTargetBoard *board = &options->board;
  if (!read_count ("--columns", options->columns, &board->columns, error) ||
      !read_count ("--rows", options->rows, &board->rows, error) ||
      !read_mm ("--square", options->square, smallest, &board->square_mm, error))
    return FALSE;
  if (options->square_u == NULL)
    return TRUE;
  if (!read_mm ("--square-u", options->square_u, 0, &board->u_square_mm, error))
    return FALSE;
  return board->u_square_mm < board->square_mm ||
         refuse (error, WS_ERROR_USAGE, "--square-u: expected less than --square");
}

static gboolean
same_file (const char *a, const char *b)
{
  g_autofree char *first = g_canonicalize_filename (a, NULL);
  g_autofree char *second = g_canonicalize_filename (b, NULL);
  return g_str_equal (first, second);
}

/* Index of the shot, which is added unless it is there already. */
static guint
add_shot (Job *job, const char *path)
{
  for (guint i = 0; i < job->shots->len; i++)
    if (same_file (path, shot_at (job, i)->path))
      return i;
  g_ptr_array_add (job->shots, shot_new (path));
  return job->shots->len - 1;
}

static gboolean
list_shots (const Options *options, Job *job, GError **error)
{
  job->shots = g_ptr_array_new_with_free_func (shot_free);
  for (gsize i = 0; options->pictures != NULL && options->pictures[i] != NULL; i++)
    add_shot (job, options->pictures[i]);
  if (options->plane != NULL)
    job->plane = add_shot (job, options->plane);
  else if (!options->telecentric)
    return refuse (error, WS_ERROR_USAGE,
                   "--plane: name the picture whose board lies in the measuring plane");
  if (job->shots->len == 0)
    return refuse (error, WS_ERROR_USAGE, "name at least one picture");
  if (options->telecentric && job->shots->len > 1)
    return refuse (error, WS_ERROR_USAGE,
                   "--telecentric: name one picture, of the board in the measuring plane");
  return TRUE;
}

/* Nothing that was read may be overwritten, and a long job shouldn't fail at its end. */
static gboolean
check_output (const Options *options, const Job *job, GError **error)
{
  g_autofree char *folder = g_path_get_dirname (options->out);
  if (!g_file_test (folder, G_FILE_TEST_IS_DIR))
    return refuse (error, WS_ERROR_CANT_WRITE, "%s: there is no such folder", folder);
  for (guint i = 0; i < job->shots->len; i++)
    if (same_file (options->out, shot_at (job, i)->path))
      return refuse (error, WS_ERROR_USAGE, "--out: \"%s\" is an input; choose another name",
                     options->out);
  return TRUE;
}

static gboolean
prepare (Options *options, Job *job, GError **error)
{
  if (options->out == NULL)
    return refuse (error, WS_ERROR_USAGE, "--out: name the calibration to write");
  if (options->camera == NULL)
  {
    options->camera = g_path_get_basename (options->out);
    if (g_str_has_suffix (options->camera, SUFFIX))
      options->camera[strlen (options->camera) - strlen (SUFFIX)] = '\0';
  }
  return read_board (options, error) && read_days (options, error) &&
         list_shots (options, job, error) && check_output (options, job, error);
}

/* ---- Pictures ----------------------------------------------------------------------------- */

/* NULL without an error when the picture can't be used but the others may be; one that is missing
 * means that the call is wrong. */
static WsImage *
load (Shot *shot, GError **error)
{
  GError *local = NULL;
  g_autofree char *bytes = NULL;
  gsize n_bytes = 0;
  WsImage *image = ws_image_load (shot->path, NULL, WS_IMAGE_GREY, &local);
  if (image != NULL)
  {
    if (shot->sha256 == NULL)
      shot->sha256 = g_strdup (image->sha256);
    return image;
  }
  if (ws_error_exit_status (local) != WS_ERROR_DATA)
  {
    g_propagate_error (error, local);
    return NULL;
  }
  ws_target_view_reject (shot->view, g_strdup (local->message));
  g_error_free (local);
  if (shot->sha256 == NULL && g_file_get_contents (shot->path, &bytes, &n_bytes, NULL))
  {
    shot->sha256 = g_malloc (WS_SHA256_HEX_SIZE);
    ws_sha256_hex (bytes, n_bytes, shot->sha256);
  }
  return NULL;
}

static void
tell_progress (const Job *job, guint i, const char *what)
{
  if (isatty (STDERR_FILENO))
    fprintf (stderr, "%s %u/%u: %s\n", what, i + 1, job->shots->len, shot_at (job, i)->name);
}

/* Twice the same picture would count twice. */
static gboolean
is_repeated (const Job *job, guint i)
{
  for (guint k = 0; k < i; k++)
    if (g_strcmp0 (shot_at (job, k)->sha256, shot_at (job, i)->sha256) == 0)
      return TRUE;
  return FALSE;
}

static gboolean
find_in (Job *job, guint i, GError **error)
{
  Shot *shot = shot_at (job, i);
  GError *local = NULL;
  tell_progress (job, i, "looking for the board");
  g_autoptr (WsImage) image = load (shot, &local);
  if (image == NULL)
  {
    if (local != NULL)
      g_propagate_error (error, local);
    return local == NULL;
  }
  if (is_repeated (job, i))
  {
    shot->view->width = image->width;
    shot->view->height = image->height;
    ws_target_view_reject (shot->view, g_strdup ("the same picture was given before"));
    return TRUE;
  }
  return ws_target_find (image, &job->options->board, shot->view, error);
}

static void
reject_other_sizes (Job *job)
{
  const WsTargetView *plane = shot_at (job, job->plane)->view;
  for (guint i = 0; plane->width > 0 && i < job->shots->len; i++)
  {
    WsTargetView *view = shot_at (job, i)->view;
    if (view->width > 0 && (view->width != plane->width || view->height != plane->height))
      ws_target_view_reject (
        view, g_strdup_printf ("%u x %u pixels, but the measuring plane's picture has %u x %u",
                               view->width, view->height, plane->width, plane->height));
  }
}

/* Free with g_free(); the views stay the shots'. */
static WsTargetView **
views_of (const Job *job)
{
  WsTargetView **views = g_new (WsTargetView *, job->shots->len);
  for (guint i = 0; i < job->shots->len; i++)
    views[i] = shot_at (job, i)->view;
  return views;
}

/* Pictures are read again, so that no more than one is in memory at a time. */
static gboolean
refine_all (Job *job, guint window, GError **error)
{
  for (guint i = 0; i < job->shots->len; i++)
  {
    Shot *shot = shot_at (job, i);
    if (shot->view->rejected != NULL)
      continue;
    tell_progress (job, i, "refining corners");
    g_autoptr (WsImage) image = load (shot, error);
    if (image == NULL)
      return shot->view->rejected != NULL;
    if (strcmp (image->sha256, shot->sha256) != 0)
      return refuse (error, WS_ERROR_DATA, "%s: the file has changed meanwhile; start again",
                     shot->path);
    if (!ws_target_refine (image, &job->options->board, window, shot->view, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
fit (Job *job, WsTargetView *const *views, GError **error)
{
  const WsTargetBoard *board = &job->options->board;
  if (job->options->telecentric)
    return ws_target_calibrate_flat (board, views[0], &job->result, error);
  return ws_target_calibrate (board, views, job->shots->len, job->plane, &job->result, error);
}

static gboolean
calibrate (Job *job, GError **error)
{
  for (guint i = 0; i < job->shots->len; i++)
    if (!find_in (job, i, error))
      return FALSE;
  reject_other_sizes (job);
  g_autofree WsTargetView **views = views_of (job);
  const WsTargetView *const *seen = (const WsTargetView *const *)views;
  ws_target_reject_blurred (views, job->shots->len);
  const guint window = ws_target_window (seen, job->shots->len);
  return refine_all (job, window, error) && fit (job, views, error);
}

/* ---- The calibration ------------------------------------------------------------------------ */

static void remark (Job *job, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
remark (Job *job, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  ws_calibration_add_remark (job->calibration, g_strdup_vprintf (format, arguments));
  va_end (arguments);
}

static void
add_remarks (Job *job)
{
  const WsTargetBoard *board = &job->options->board;
  const WsTargetResult *result = &job->result;
  g_autofree WsTargetView **views = views_of (job);
  const WsTargetView *const *seen = (const WsTargetView *const *)views;
  if (!(board->u_square_mm > 0))
    remark (job, "no uncertainty is given for the squares (--square-u); it is taken as 0, so U of "
                 "all lengths may be too small");
  remark (job, "a chessboard can't tell how much edges bloom: edge shift taken as 0; check with a "
               "pin of known diameter");
  if (ws_target_span (board, seen, job->shots->len, 0) < GOOD_SPAN ||
      ws_target_span (board, seen, job->shots->len, 1) < GOOD_SPAN)
    remark (job, "the boards leave much of the picture's rim empty, where the distortion is only "
                 "extrapolated; measure in the middle, or take views with the board there");
  if (result->tilt_deg > GOOD_TILT_DEG)
    remark (job,
            "the board seems to be tilted by %.1f degrees; it makes the scale less certain, so lay "
            "it flat",
            result->tilt_deg);
}

static void
add_sources (Job *job)
{
  for (guint i = 0; i < job->shots->len; i++)
  {
    const Shot *shot = shot_at (job, i);
    ws_calibration_add_source (job->calibration, shot->name, shot->sha256, shot->view->rejected,
                               shot->view->rms_px);
  }
}

static void
make_calibration (Job *job)
{
  const Options *options = job->options;
  const WsTargetBoard *board = &options->board;
  job->calibration = ws_calibration_new ("target", options->camera);
  job->calibration->expires = g_date_time_add_days (job->calibration->made, (int)options->days);
  job->calibration->lens = job->result.lens;
  g_autofree char *size = ws_number_format (board->square_mm, 4);
  g_autofree char *what =
    g_strdup_printf ("chessboard %u x %u, %s mm", board->columns, board->rows, size);
  ws_calibration_add_artefact (job->calibration, what, options->certificate, board->square_mm,
                               board->u_square_mm);
  add_sources (job);
  add_remarks (job);
}

/* ---- Summary ----------------------------------------------------------------------------------
 */

static void
print_value (const char *name, double value, double u)
{
  const double U = COVERAGE * u;
  const guint places = U > 0 ? (guint)CLAMP (1 - floor (log10 (U)), 0, 12) : 6;
  g_autofree char *shown = ws_number_format (value, places);
  g_autofree char *with = ws_number_format (U, places);
  printf ("%-24s %14s   U %s\n", name, shown, with);
}

static void
print_fixed (const char *name)
{
  printf ("%-24s %14s\n", name, "0, not needed");
}

static void
print_intrinsics (const WsLens *lens)
{
  const guint n = ws_lens_n_parameters (lens->model);
  const guint last = lens->model == WS_LENS_PINHOLE ? WS_LENS_P_K3 : WS_LENS_T_K1;
  for (guint i = WS_LENS_EDGE_SHIFT + 1; i <= last; i++)
  {
    const double variance = lens->covariance[i * n + i];
    if (lens->model == WS_LENS_TELECENTRIC && i == WS_LENS_T_SCALE)
      continue;
    if (variance > 0)
      print_value (ws_lens_parameter_name (lens->model, i), lens->parameters[i], sqrt (variance));
    else
      print_fixed (ws_lens_parameter_name (lens->model, i));
  }
}

static double
distance_through (const WsLens *lens, gconstpointer data)
{
  (void)data;
  return ws_lens_distance_mm (lens, NULL);
}

static void
print_views (const Job *job)
{
  printf ("\n%-28s %8s\n", "picture", "RMS px");
  for (guint i = 0; i < job->shots->len; i++)
  {
    const Shot *shot = shot_at (job, i);
    g_autofree char *rms =
      isfinite (shot->view->rms_px) ? ws_number_format (shot->view->rms_px, 3) : g_strdup ("-");
    printf ("%-28s %8s%s%s%s\n", shot->name, rms, i == job->plane ? "  measuring plane" : "",
            shot->view->rejected != NULL ? "  rejected: " : "",
            shot->view->rejected != NULL ? shot->view->rejected : "");
  }
}

static void
print_rms (const WsTargetResult *result)
{
  g_autofree char *all = ws_number_format (result->rms_all_px, 3);
  g_autofree char *kept = ws_number_format (result->rms_px, 3);
  if (result->n_found > result->n_views)
    printf ("RMS %s px over all %u boards found, %s px over the %u that it rests on\n", all,
            result->n_found, kept, result->n_views);
  else
    printf ("RMS %s px over %u boards\n", kept, result->n_views);
}

static void
print_summary (const Job *job)
{
  const WsCalibration *calibration = job->calibration;
  const WsLens *lens = &calibration->lens;
  g_autofree char *made = g_date_time_format (calibration->made, "%Y-%m-%d %H:%M:%S UTC");
  g_autofree char *until = g_date_time_format (calibration->expires, "%Y-%m-%d");
  printf ("%s, by %s, %s, valid until %s\n%s\n\n", calibration->camera, calibration->method, made,
          until, calibration->id);
  print_rms (&job->result);
  print_value ("mm_per_px in the plane", ws_lens_mm_per_px (lens), ws_lens_u_mm_per_px (lens));
  if (lens->model == WS_LENS_PINHOLE)
    print_value ("distance_mm", ws_lens_distance_mm (lens, NULL),
                 ws_lens_propagate (lens, distance_through, NULL));
  print_intrinsics (lens);
  print_views (job);
  for (guint i = 0; i < calibration->remarks->len; i++)
    printf ("%s- %s\n", i == 0 ? "\n" : "",
            (const char *)g_ptr_array_index (calibration->remarks, i));
}

/* Why pictures were left out, when too few are left: what the user has to know then. */
static void
tell_rejected (const Job *job)
{
  for (guint i = 0; job->shots != NULL && i < job->shots->len; i++)
    if (shot_at (job, i)->view->rejected != NULL)
      fprintf (stderr, "%s: %s\n", shot_at (job, i)->name, shot_at (job, i)->view->rejected);
}

static gboolean
run (char ***arguments, Options *options, Job *job, GError **error)
{
  job->options = options;
  if (!parse_options (arguments, options, error) || !prepare (options, job, error))
    return FALSE;
  if (!calibrate (job, error))
  {
    tell_rejected (job);
    return FALSE;
  }
  make_calibration (job);
  if (!ws_calibration_save (job->calibration, options->out, error))
    return FALSE;
  print_summary (job);
  return TRUE;
}

int
ws_calibrate_target (char ***arguments)
{
  g_auto (Options) options = { .plane = NULL };
  g_auto (Job) job = { .options = NULL };
  GError *error = NULL;
  return run (arguments, &options, &job, &error) ? WS_EXIT_ACCEPT : ws_fail (error);
}
