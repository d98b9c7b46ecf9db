#include "optics/calibrate/board_job.h"

#include <math.h>
#include <string.h>

#include <whetsight/error.h>
#include <whetsight/image.h>

#include "base/number.h"
#include "base/sha256.h"
#include "image/taken.h"
#include "optics/calibration.h"

/* Share of the picture that the corners should span.  Own choice. */
#define GOOD_SPAN 0.6

/* degrees: a board tilted more has its scale less well.  Own choice. */
#define GOOD_TILT_DEG 1.5

static WsTargetShot *
shot_new (const char *path)
{
  WsTargetShot *shot = g_new0 (WsTargetShot, 1);
  shot->path = g_strdup (path);
  shot->name = g_path_get_basename (path);
  shot->view = wsi_target_view_new ();
  return shot;
}

static void
shot_free (gpointer data)
{
  WsTargetShot *shot = data;
  g_free (shot->path);
  g_free (shot->name);
  g_free (shot->sha256);
  wsi_taken_free (shot->taken);
  wsi_target_view_free (shot->view);
  g_free (shot);
}

void
ws_target_done_free (WsTargetDone *done)
{
  if (done == NULL)
    return;
  g_clear_pointer (&done->shots, g_ptr_array_unref);
  ws_calibration_free (done->calibration);
  g_free (done);
}

WsCalibration *
ws_target_done_calibration (const WsTargetDone *done)
{
  return done->calibration;
}

WsTargetShot *
wsi_target_shot (const WsTargetDone *done, guint i)
{
  return g_ptr_array_index (done->shots, i);
}

/* Free with g_free(); the views stay the shots'. */
static WsTargetView **
views_of (const WsTargetDone *done)
{
  WsTargetView **views = g_new (WsTargetView *, done->shots->len);
  for (guint i = 0; i < done->shots->len; i++)
    views[i] = wsi_target_shot (done, i)->view;
  return views;
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
    {
      shot->sha256 = g_strdup (image->sha256);
      shot->taken = wsi_taken_copy (image->taken);
    }
    return image;
  }
  if (ws_error_exit_status (local) != WS_ERROR_DATA)
  {
    g_propagate_error (error, local);
    return NULL;
  }
  wsi_target_view_reject (shot->view, reason_of (local->message, shot->path));
  g_error_free (local);
  if (shot->sha256 == NULL && g_file_get_contents (shot->path, &bytes, &n_bytes, NULL))
  {
    shot->sha256 = g_malloc (WS_SHA256_HEX_SIZE);
    wsi_sha256_hex (bytes, n_bytes, shot->sha256);
  }
  return NULL;
}

static gboolean
tell (const WsTargetDone *done, guint i, const char *doing, const WsSteps *steps, GError **error)
{
  const WsStep step = { doing, wsi_target_shot (done, i)->name, i + 1, done->shots->len };
  return ws_steps_tell (steps, &step, error);
}

/* Twice the same picture would count twice. */
static gboolean
is_repeated (const WsTargetDone *done, guint i)
{
  for (guint k = 0; k < i; k++)
    if (g_strcmp0 (wsi_target_shot (done, k)->sha256, wsi_target_shot (done, i)->sha256) == 0)
      return TRUE;
  return FALSE;
}

static gboolean
find_in (WsTargetDone *done, guint i, const WsSteps *steps, GError **error)
{
  WsTargetShot *shot = wsi_target_shot (done, i);
  GError *local = NULL;
  if (!tell (done, i, "looking for the board", steps, error))
    return FALSE;
  g_autoptr (WsImage) image = load (shot, &local);
  if (image == NULL)
  {
    if (local != NULL)
      g_propagate_error (error, local);
    return local == NULL;
  }
  if (is_repeated (done, i))
  {
    shot->view->width = image->width;
    shot->view->height = image->height;
    wsi_target_view_reject (shot->view, g_strdup ("the same picture was given before"));
    return TRUE;
  }
  return wsi_target_find (image, &done->board, shot->view, error);
}

#define PLANE "the measuring plane's picture"

/* Of another size than the measuring plane's picture, or taken otherwise. */
static void
reject_others (WsTargetDone *done)
{
  const WsTargetShot *plane = wsi_target_shot (done, done->plane);
  for (guint i = 0; plane->view->width > 0 && i < done->shots->len; i++)
  {
    const WsTargetShot *shot = wsi_target_shot (done, i);
    WsTargetView *view = shot->view;
    if (view->width == 0)
      continue;
    char *difference = wsi_taken_difference (plane->taken, shot->taken, PLANE);
    if (view->width != plane->view->width || view->height != plane->view->height)
    {
      g_free (difference);
      difference = g_strdup_printf ("%u x %u pixels, but " PLANE " has %u x %u", view->width,
                                    view->height, plane->view->width, plane->view->height);
    }
    if (difference != NULL)
      wsi_target_view_reject (view, difference);
  }
}

/* Pictures are read again, so that no more than one is in memory at a time. */
static gboolean
refine_all (WsTargetDone *done, guint window, const WsSteps *steps, GError **error)
{
  for (guint i = 0; i < done->shots->len; i++)
  {
    WsTargetShot *shot = wsi_target_shot (done, i);
    if (shot->view->rejected != NULL)
      continue;
    if (!tell (done, i, "refining corners", steps, error))
      return FALSE;
    g_autoptr (WsImage) image = load (shot, error);
    if (image == NULL)
      return shot->view->rejected != NULL;
    if (strcmp (image->sha256, shot->sha256) != 0)
    {
      g_set_error (error, WS_ERROR, WS_ERROR_DATA,
                   "%s: the file has changed meanwhile; start again", shot->path);
      return FALSE;
    }
    if (!wsi_target_refine (image, &done->board, window, shot->view, error))
      return FALSE;
  }
  return TRUE;
}

static gboolean
fit (WsTargetDone *done, WsTargetView *const *views, GError **error)
{
  const WsTargetBoard *board = &done->board;
  if (done->camera == WS_TARGET_TELECENTRIC)
    return wsi_target_calibrate_flat (board, views[0], &done->result, error);
  return wsi_target_calibrate (board, views, done->shots->len, done->plane, &done->result, error);
}

static gboolean
calibrate (WsTargetDone *done, const WsSteps *steps, GError **error)
{
  for (guint i = 0; i < done->shots->len; i++)
    if (!find_in (done, i, steps, error))
      return FALSE;
  reject_others (done);
  g_autofree WsTargetView **views = views_of (done);
  const WsTargetView *const *seen = (const WsTargetView *const *)views;
  wsi_target_reject_blurred (views, done->shots->len);
  const guint window = wsi_target_window (seen, done->shots->len);
  return refine_all (done, window, steps, error) && fit (done, views, error);
}

/* ---- The calibration ------------------------------------------------------------------------ */

static void
add_sources (WsTargetDone *done)
{
  for (guint i = 0; i < done->shots->len; i++)
  {
    const WsTargetShot *shot = wsi_target_shot (done, i);
    wsi_calibration_add_source (done->calibration, shot->name, shot->sha256, shot->view->rejected,
                                shot->view->rms_px);
  }
}

static void remark (WsTargetDone *done, const char *format, ...) G_GNUC_PRINTF (2, 3);

static void
remark (WsTargetDone *done, const char *format, ...)
{
  va_list arguments;
  va_start (arguments, format);
  wsi_calibration_add_remark (done->calibration, g_strdup_vprintf (format, arguments));
  va_end (arguments);
}

static void
add_remarks (WsTargetDone *done)
{
  const WsTargetBoard *board = &done->board;
  const WsTargetResult *result = &done->result;
  g_autofree WsTargetView **views = views_of (done);
  const WsTargetView *const *seen = (const WsTargetView *const *)views;
  if (!(board->u_square_mm > 0))
    remark (done, "no uncertainty is given for the squares (--square-u); it is taken as 0, so U of "
                  "all lengths may be too small");
  remark (done, "a chessboard can't tell how much edges bloom: edge shift taken as 0; check with a "
                "pin of known diameter");
  if (wsi_target_span (board, seen, done->shots->len, 0) < GOOD_SPAN ||
      wsi_target_span (board, seen, done->shots->len, 1) < GOOD_SPAN)
    remark (done, "the boards leave much of the picture's rim empty, where the distortion is only "
                  "extrapolated; measure in the middle, or take views with the board there");
  if (result->tilt_deg > GOOD_TILT_DEG)
    remark (done,
            "the board seems to be tilted by %.1f degrees; it makes the scale less certain, so lay "
            "it flat",
            result->tilt_deg);
}

static void
make_calibration (WsTargetDone *done, const WsCalibrateOptions *options)
{
  const WsTargetBoard *board = &done->board;
  done->calibration = wsi_calibration_new ("target", options->camera);
  done->calibration->expires =
    g_date_time_add_days (done->calibration->made, (int)options->valid_days);
  done->calibration->lens = done->result.lens;
  done->calibration->taken = wsi_taken_copy (wsi_target_shot (done, done->plane)->taken);
  g_autofree char *size = wsi_number_format (board->square_mm, 4);
  g_autofree char *what =
    g_strdup_printf ("chessboard %u x %u, %s mm", board->columns, board->rows, size);
  wsi_calibration_add_artefact (done->calibration, what, options->certificate, board->square_mm,
                                board->u_square_mm);
  add_sources (done);
  add_remarks (done);
}

/* ---- The whole ------------------------------------------------------------------------------ */

/* Index of the shot, which is added unless it is there already. */
static guint
add_shot (WsTargetDone *done, const char *path)
{
  g_autofree char *full = g_canonicalize_filename (path, NULL);
  for (guint i = 0; i < done->shots->len; i++)
  {
    g_autofree char *other = g_canonicalize_filename (wsi_target_shot (done, i)->path, NULL);
    if (g_str_equal (full, other))
      return i;
  }
  g_ptr_array_add (done->shots, shot_new (path));
  return done->shots->len - 1;
}

static gboolean
list_shots (WsTargetDone *done, char *const *pictures, guint plane, GError **error)
{
  done->shots = g_ptr_array_new_with_free_func (shot_free);
  for (guint i = 0; pictures[i] != NULL; i++)
  {
    const guint shot = add_shot (done, pictures[i]);
    done->plane = i == plane ? shot : done->plane;
  }
  const WsTargetBoard *board = &done->board;
  if (MIN (board->columns, board->rows) < WS_TARGET_MIN_SIDE ||
      MAX (board->columns, board->rows) > WS_TARGET_MAX_SIDE || !(board->square_mm > 0))
  {
    g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE, "there is no such chessboard");
    return FALSE;
  }
  if (done->shots->len > 0 && (done->camera == WS_TARGET_PINHOLE || done->shots->len == 1))
    return TRUE;
  g_set_error_literal (error, WS_ERROR, WS_ERROR_USAGE,
                       done->shots->len == 0
                         ? "name at least one picture"
                         : "expected one picture, of the board in the measuring "
                           "plane");
  return FALSE;
}

/* Why pictures were left out, when too few are left: what the user has to know then. */
static void
tell_left_out (const WsTargetDone *done, const WsCalibrateOptions *options)
{
  for (guint i = 0; options->left_out != NULL && i < done->shots->len; i++)
    if (wsi_target_shot (done, i)->view->rejected != NULL)
      options->left_out (wsi_target_shot (done, i)->name, wsi_target_shot (done, i)->view->rejected,
                         options->data);
}

WsTargetDone *
ws_calibrate_target (const WsTargetBoard *board, char *const *pictures, guint plane,
                     WsTargetCamera camera, const WsCalibrateOptions *options, GError **error)
{
  g_autoptr (WsTargetDone) done = g_new0 (WsTargetDone, 1);
  done->board = *board;
  done->camera = camera;
  if (!list_shots (done, pictures, plane, error))
    return NULL;
  if (!calibrate (done, &options->steps, error))
  {
    tell_left_out (done, options);
    return NULL;
  }
  make_calibration (done, options);
  return g_steal_pointer (&done);
}
