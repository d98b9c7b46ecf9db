/*
 * calibrate target: a camera from pictures of a chessboard.
 */
#include "cli/calibrate_target.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <whetsight/error.h>
#include <whetsight/image.h>

#include "base/file.h"
#include "base/number.h"
#include "base/sha256.h"
#include "cli/calibrate.h"
#include "cli/fail.h"

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

/* ---- Options ------------------------------------------------------------------------------ */

static const WsOptionCheck is_side = {
  .phrase = "give the number of inner corners, " G_STRINGIFY (
    WS_TARGET_MIN_SIDE) " to " G_STRINGIFY (WS_TARGET_MAX_SIDE) ", where four squares meet",
  .least = WS_TARGET_MIN_SIDE,
  .most = WS_TARGET_MAX_SIDE,
  .whole = TRUE
};

static const WsOptionCheck is_square = { .phrase = "give millimetres with a decimal point",
                                         .least = 1e-3, /* own choice, below any that can be seen */
                                         .most = 1000.0 };

static const WsOption target_options[] = {
  { WS_OPTION_NUMBER, "columns", 0, G_STRUCT_OFFSET (WsTargetOptions, columns), "N",
    "Inner corners along a row", &is_side },
  { WS_OPTION_NUMBER, "rows", 0, G_STRUCT_OFFSET (WsTargetOptions, rows), "N",
    "Inner corners along a column", &is_side },
  { WS_OPTION_NUMBER, "square", 0, G_STRUCT_OFFSET (WsTargetOptions, square), "MM",
    "Side of a square", &is_square },
  { WS_OPTION_NUMBER, "square-u", 0, G_STRUCT_OFFSET (WsTargetOptions, square_u), "MM",
    "Its standard uncertainty by the certificate, as mean over the board", &ws_check_mm_or_0 },
  { WS_OPTION_FILE, "plane", 0, G_STRUCT_OFFSET (WsTargetOptions, plane), "PICTURE",
    "The picture whose board lies in the measuring plane", NULL },
  { WS_OPTION_FLAG, "telecentric", 0, G_STRUCT_OFFSET (WsTargetOptions, telecentric), NULL,
    "The lens is telecentric: one picture of the board in the measuring plane will do", NULL },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (WsTargetOptions, out), "NAME.calib",
    "Write the calibration there", NULL },
  { WS_OPTION_FILE, "residuals", 0, G_STRUCT_OFFSET (WsTargetOptions, residuals), "FILE.png",
    "Write the picture of residuals there, NAME.residuals.png by default", NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (WsTargetOptions, camera), "TEXT",
    "What you call this camera in this place; NAME by default", NULL },
  { WS_OPTION_TEXT, "certificate", 0, G_STRUCT_OFFSET (WsTargetOptions, certificate), "TEXT",
    "Number of the board's certificate", NULL },
  { WS_OPTION_NUMBER, "valid-days", 0, G_STRUCT_OFFSET (WsTargetOptions, valid_days), "N",
    "Days until it expires, " G_STRINGIFY (WS_CALIBRATE_VALID_DAYS) " by default", &ws_check_days },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (WsTargetOptions, pictures), "PICTURE…", NULL, NULL },
  WS_OPTIONS_END
};

static gboolean
read_board (WsTargetOptions *given, GError **error)
{
  WsTargetBoard *board = &given->board;
  if (!ws_options_require (target_options, "columns", given, error) ||
      !ws_options_require (target_options, "rows", given, error) ||
      !ws_options_require (target_options, "square", given, error))
    return FALSE;
  board->columns = (guint)given->columns;
  board->rows = (guint)given->rows;
  board->square_mm = given->square;
  board->u_square_mm = ws_option_number (given->square_u, 0);
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
  return read_board (options, error) && list_shots (options, job, error) &&
         check_output (job, options->out, error) && check_output (job, options->residuals, error);
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
  job->calibration->expires = g_date_time_add_days (
    job->calibration->made, (int)ws_option_number (options->valid_days, WS_CALIBRATE_VALID_DAYS));
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
make (WsTargetOptions *given, WsTargetJob *job, GError **error)
{
  job->options = given;
  if (!prepare (given, job, error))
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

static int
run (gpointer given, char **words)
{
  g_auto (WsTargetJob) job = { .options = NULL };
  GError *error = NULL;
  (void)words;
  return make (given, &job, &error) ? WS_EXIT_ACCEPT : ws_fail (error);
}

const WsCommand ws_calibrate_target = {
  .name = "target",
  .summary = "by a chessboard seen from several sides",
  .about = "Finds a camera's lens and its place before the measuring plane from pictures of a "
           "chessboard.",
  .notes = "Take ten or so pictures of the whole board, tilted by 15 to 30 degrees to different "
           "sides, also in\nthe picture's corners, and one with the board in the measuring "
           "plane. Corners where four\nsquares meet count: a board of 12 x 9 squares has 11 x 8.",
  .groups = { { target_options, 0 } },
  .size = sizeof (WsTargetOptions),
  .run = run,
};
