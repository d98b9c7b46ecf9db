/*
 * calibrate target: a camera from pictures of a chessboard.
 */
#include "cli/calibrate_target.h"
#include "cli/calibrate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <whetsight/error.h>
#include <whetsight/image.h>

#include "base/file.h"
#include "base/number.h"
#include "base/sha256.h"
#include "cli/verbs.h"

#define MAX_MM 1000.0 /* own choice */

static void
options_clear (WsTargetOptions *options)
{
  g_free (options->columns);
  g_free (options->rows);
  g_free (options->square);
  g_free (options->square_u);
  g_free (options->valid_days);
  g_free (options->plane);
  g_free (options->out);
  g_free (options->residuals);
  g_free (options->camera);
  g_free (options->certificate);
  g_strfreev (options->pictures);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsTargetOptions, options_clear)

static WsTargetShot *
shot_new (const char *path)
{
  WsTargetShot *shot = g_new0 (WsTargetShot, 1);
  shot->path = g_strdup (path);
  shot->name = g_path_get_basename (path);
  shot->view = ws_target_view_new ();
  return shot;
}

static void
shot_free (gpointer data)
{
  WsTargetShot *shot = data;
  g_free (shot->path);
  g_free (shot->name);
  g_free (shot->sha256);
  ws_target_view_free (shot->view);
  g_free (shot);
}

static void
job_clear (WsTargetJob *job)
{
  g_clear_pointer (&job->shots, g_ptr_array_unref);
  ws_calibration_free (job->calibration);
}

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsTargetJob, job_clear)

/* ---- WsTargetOptions
 * ------------------------------------------------------------------------------ */

static gboolean
parse_options (char ***arguments, WsTargetOptions *options, GError **error)
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
    { "residuals", 0, 0, G_OPTION_ARG_FILENAME, &options->residuals,
      "Write the picture of residuals there, NAME.residuals.png by default", "FILE.png" },
    { "camera", 0, 0, G_OPTION_ARG_STRING, &options->camera,
      "What you call this camera in this place; NAME by default", "TEXT" },
    { "certificate", 0, 0, G_OPTION_ARG_STRING, &options->certificate,
      "Number of the board's certificate", "TEXT" },
    { "valid-days", 0, 0, G_OPTION_ARG_STRING, &options->valid_days,
      "Days until it expires, " WS_CALIBRATE_VALID_DAYS " by default", "N" },
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
  return ws_refuse (error, WS_ERROR_USAGE,
                    "%s: give the number of inner corners, %d to %d, where four squares meet",
                    option, WS_TARGET_MIN_SIDE, WS_TARGET_MAX_SIDE);
}

static gboolean
read_mm (const char *option, const char *text, double least, double *value, GError **error)
{
  if (text != NULL && ws_number_parse (text, value) && *value >= least && *value <= MAX_MM)
    return TRUE;
  return ws_refuse (error, WS_ERROR_USAGE, "%s: give millimetres with a decimal point%s%s%s",
                    option, text != NULL ? "; found \"" : "", text != NULL ? text : "",
                    text != NULL ? "\"" : "");
}

static gboolean
read_board (WsTargetOptions *options, GError **error)
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
         ws_refuse (error, WS_ERROR_USAGE, "--square-u: expected less than --square");
}

/* Index of the shot, which is added unless it is there already. */
static guint
add_shot (WsTargetJob *job, const char *path)
{
  for (guint i = 0; i < job->shots->len; i++)
    if (ws_calibrate_same_file (path, ws_target_shot (job, i)->path))
      return i;
  g_ptr_array_add (job->shots, shot_new (path));
  return job->shots->len - 1;
}

static gboolean
list_shots (const WsTargetOptions *options, WsTargetJob *job, GError **error)
{
  job->shots = g_ptr_array_new_with_free_func (shot_free);
  for (gsize i = 0; options->pictures != NULL && options->pictures[i] != NULL; i++)
    add_shot (job, options->pictures[i]);
  if (options->plane != NULL)
    job->plane = add_shot (job, options->plane);
  else if (!options->telecentric)
    return ws_refuse (error, WS_ERROR_USAGE,
                      "--plane: name the picture whose board lies in the measuring plane");
  if (job->shots->len == 0)
    return ws_refuse (error, WS_ERROR_USAGE, "name at least one picture");
  if (options->telecentric && job->shots->len > 1)
    return ws_refuse (error, WS_ERROR_USAGE,
                      "--telecentric: name one picture, of the board in the measuring plane");
  return TRUE;
}

/* Nothing that was read may be overwritten, and a long job shouldn't fail at its end. */
static gboolean
check_output (const WsTargetJob *job, const char *path, GError **error)
{
  if (!ws_calibrate_check_folder (path, error))
    return FALSE;
  for (guint i = 0; i < job->shots->len; i++)
    if (!ws_calibrate_check_input (path, ws_target_shot (job, i)->path, error))
      return FALSE;
  return TRUE;
}

static gboolean
prepare (WsTargetOptions *options, WsTargetJob *job, GError **error)
{
  if (options->out == NULL)
    return ws_refuse (error, WS_ERROR_USAGE, "--out: name the calibration to write");
  g_autofree char *stem = ws_calibrate_stem (options->out);
  if (options->camera == NULL)
    options->camera = g_path_get_basename (stem);
  if (options->residuals == NULL)
    options->residuals = g_strconcat (stem, ".residuals.png", NULL);
  if (ws_calibrate_same_file (options->out, options->residuals))
    return ws_refuse (error, WS_ERROR_USAGE, "--residuals: give it another name than --out");
  return read_board (options, error) &&
         ws_calibrate_read_days (options->valid_days, &options->days, error) &&
         list_shots (options, job, error) && check_output (job, options->out, error) &&
         check_output (job, options->residuals, error);
}

/* ---- Pictures ----------------------------------------------------------------------------- */

/* Without the file's name, which is told beside it. */
static char *
reason_of (const char *message, const char *path)
{
  g_autofree char *prefix = g_strconcat (path, ": ", NULL);
  return g_strdup (g_str_has_prefix (message, prefix) ? message + strlen (prefix) : message);
}

/* NULL without an error when the picture can't be used but the others may be; one that is missing
 * means that the call is wrong. */
static WsImage *
load (WsTargetShot *shot, GError **error)
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
  ws_target_view_reject (shot->view, reason_of (local->message, shot->path));
  g_error_free (local);
  if (shot->sha256 == NULL && g_file_get_contents (shot->path, &bytes, &n_bytes, NULL))
  {
    shot->sha256 = g_malloc (WS_SHA256_HEX_SIZE);
    ws_sha256_hex (bytes, n_bytes, shot->sha256);
  }
  return NULL;
}

static void
tell_progress (const WsTargetJob *job, guint i, const char *what)
{
  if (isatty (STDERR_FILENO))
    fprintf (stderr, "%s %u/%u: %s\n", what, i + 1, job->shots->len, ws_target_shot (job, i)->name);
}

/* Twice the same picture would count twice. */
static gboolean
is_repeated (const WsTargetJob *job, guint i)
{
  for (guint k = 0; k < i; k++)
    if (g_strcmp0 (ws_target_shot (job, k)->sha256, ws_target_shot (job, i)->sha256) == 0)
      return TRUE;
  return FALSE;
}

static gboolean
find_in (WsTargetJob *job, guint i, GError **error)
{
  WsTargetShot *shot = ws_target_shot (job, i);
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
reject_other_sizes (WsTargetJob *job)
{
  const WsTargetView *plane = ws_target_shot (job, job->plane)->view;
  for (guint i = 0; plane->width > 0 && i < job->shots->len; i++)
  {
    WsTargetView *view = ws_target_shot (job, i)->view;
    if (view->width > 0 && (view->width != plane->width || view->height != plane->height))
      ws_target_view_reject (
        view, g_strdup_printf ("%u x %u pixels, but the measuring plane's picture has %u x %u",
                               view->width, view->height, plane->width, plane->height));
  }
}

/* Pictures are read again, so that no more than one is in memory at a time. */
static gboolean
refine_all (WsTargetJob *job, guint window, GError **error)
{
  for (guint i = 0; i < job->shots->len; i++)
  {
    WsTargetShot *shot = ws_target_shot (job, i);
    if (shot->view->rejected != NULL)
      continue;
    tell_progress (job, i, "refining corners");
    g_autoptr (WsImage) image = load (shot, error);
    if (image == NULL)
      return shot->view->rejected != NULL;
    if (strcmp (image->sha256, shot->sha256) != 0)
      return ws_refuse (error, WS_ERROR_DATA, "%s: the file has changed meanwhile; start again",
                        shot->path);
    if (!ws_target_refine (image, &job->options->board, window, shot->view, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
fit (WsTargetJob *job, WsTargetView *const *views, GError **error)
{
  const WsTargetBoard *board = &job->options->board;
  if (job->options->telecentric)
    return ws_target_calibrate_flat (board, views[0], &job->result, error);
  return ws_target_calibrate (board, views, job->shots->len, job->plane, &job->result, error);
}

static gboolean
calibrate (WsTargetJob *job, GError **error)
{
  for (guint i = 0; i < job->shots->len; i++)
    if (!find_in (job, i, error))
      return FALSE;
  reject_other_sizes (job);
  g_autofree WsTargetView **views = ws_target_views (job);
  const WsTargetView *const *seen = (const WsTargetView *const *)views;
  ws_target_reject_blurred (views, job->shots->len);
  const guint window = ws_target_window (seen, job->shots->len);
  return refine_all (job, window, error) && fit (job, views, error);
}

/* ---- The calibration ------------------------------------------------------------------------ */

static void
add_sources (WsTargetJob *job)
{
  for (guint i = 0; i < job->shots->len; i++)
  {
    const WsTargetShot *shot = ws_target_shot (job, i);
    ws_calibration_add_source (job->calibration, shot->name, shot->sha256, shot->view->rejected,
                               shot->view->rms_px);
  }
}

static void
make_calibration (WsTargetJob *job)
{
  const WsTargetOptions *options = job->options;
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
  ws_target_add_remarks (job);
}

/* Why pictures were left out, when too few are left: what the user has to know then. */
static void
tell_rejected (const WsTargetJob *job)
{
  for (guint i = 0; job->shots != NULL && i < job->shots->len; i++)
    if (ws_target_shot (job, i)->view->rejected != NULL)
      fprintf (stderr, "%s: %s\n", ws_target_shot (job, i)->name,
               ws_target_shot (job, i)->view->rejected);
}

/* The picture last: it is of use with the calibration only. */
static gboolean
save (WsTargetJob *job, GError **error)
{
  gsize size = 0;
  g_autoptr (GBytes) chart = ws_target_chart (job, error);
  if (chart == NULL || !ws_calibration_save (job->calibration, job->options->out, error))
    return FALSE;
  const void *bytes = g_bytes_get_data (chart, &size);
  return ws_file_save (job->options->residuals, bytes, size, error);
}

static gboolean
run (char ***arguments, WsTargetOptions *options, WsTargetJob *job, GError **error)
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
  if (!save (job, error))
    return FALSE;
  ws_target_print (job);
  return TRUE;
}

int
ws_calibrate_target (char ***arguments)
{
  g_auto (WsTargetOptions) options = { .plane = NULL };
  g_auto (WsTargetJob) job = { .options = NULL };
  GError *error = NULL;
  return run (arguments, &options, &job, &error) ? WS_EXIT_ACCEPT : ws_fail (error);
}
