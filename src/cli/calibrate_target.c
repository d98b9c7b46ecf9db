/*
 * calibrate target: a camera from pictures of a chessboard.
 */
#include "base/language.h"
#include "cli/calibrate.h"

#include <math.h>
#include <stdio.h>

#include <whetsight/calibrate.h>
#include <whetsight/report.h>

#include "cli/fail.h"
#include "cli/say.h"

typedef struct
{
  double columns, rows, square, square_u, valid_days;
  char *plane;
  char *out;
  char *residuals;
  char *camera;
  char *certificate;
  gboolean telecentric;
  char **pictures;
} Options;

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
  { WS_OPTION_NUMBER, "columns", 0, G_STRUCT_OFFSET (Options, columns), "N",
    "Inner corners along a row", &is_side },
  { WS_OPTION_NUMBER, "rows", 0, G_STRUCT_OFFSET (Options, rows), "N",
    "Inner corners along a column", &is_side },
  { WS_OPTION_LENGTH, "square", 0, G_STRUCT_OFFSET (Options, square), "MM", "Side of a square",
    &is_square },
  { WS_OPTION_LENGTH, "square-u", 0, G_STRUCT_OFFSET (Options, square_u), "MM",
    "Its standard uncertainty by the certificate, as mean over the board", &wsi_check_mm_or_0 },
  { WS_OPTION_FILE, "plane", 0, G_STRUCT_OFFSET (Options, plane), "PICTURE",
    "The picture whose board lies in the measuring plane", NULL },
  { WS_OPTION_FLAG, "telecentric", 0, G_STRUCT_OFFSET (Options, telecentric), NULL,
    "The lens is telecentric: one picture of the board in the measuring plane will do", NULL },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (Options, out), "NAME.calib",
    "Write the calibration there", NULL },
  { WS_OPTION_FILE, "residuals", 0, G_STRUCT_OFFSET (Options, residuals), "FILE.png",
    "Write the picture of residuals there, NAME.residuals.png by default", NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (Options, camera), "TEXT",
    "What you call this camera in this place; NAME by default", NULL },
  { WS_OPTION_TEXT, "certificate", 0, G_STRUCT_OFFSET (Options, certificate), "TEXT",
    "Number of the board's certificate", NULL },
  { WS_OPTION_NUMBER, "valid-days", 0, G_STRUCT_OFFSET (Options, valid_days), "N",
    "Days until it expires, " G_STRINGIFY (WS_CALIBRATE_VALID_DAYS) " by default",
    &wsi_check_days },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, pictures), "PICTURE…", NULL, NULL },
  WS_OPTIONS_END
};

static gboolean
read_board (const Options *given, WsTargetBoard *board, GError **error)
{
  if (!wsi_options_require (target_options, "columns", given, error) ||
      !wsi_options_require (target_options, "rows", given, error) ||
      !wsi_options_require (target_options, "square", given, error))
    return FALSE;
  board->columns = (guint)given->columns;
  board->rows = (guint)given->rows;
  board->square_mm = given->square;
  board->u_square_mm = wsi_option_number (given->square_u, 0);
  return board->u_square_mm < board->square_mm ||
         wsi_refuse (error, WS_ERROR_USAGE, "--square-u: expected less than --square");
}

/* ---- Pictures ----------------------------------------------------------------------------- */

/* All of them, the one in the measuring plane last; ending in NULL.  Free with g_strfreev(). */
static char **
list_pictures (const Options *options, guint *plane)
{
  GPtrArray *list = g_ptr_array_new ();
  for (gsize i = 0; options->pictures != NULL && options->pictures[i] != NULL; i++)
    g_ptr_array_add (list, g_strdup (options->pictures[i]));
  *plane = list->len;
  if (options->plane != NULL)
    g_ptr_array_add (list, g_strdup (options->plane));
  else
    *plane = 0;
  g_ptr_array_add (list, NULL);
  return (char **)g_ptr_array_free (list, FALSE);
}

static gboolean
check_pictures (const Options *options, char *const *pictures, GError **error)
{
  if (options->plane == NULL && !options->telecentric)
    return wsi_refuse_usage (error,
                             "--plane: name the picture whose board lies in the measuring plane");
  if (*pictures == NULL)
    return wsi_refuse_usage (error, "name at least one picture");
  for (gsize i = 1; options->telecentric && pictures[i] != NULL; i++)
    if (!wsi_calibrate_same_file (pictures[i], pictures[0]))
      return wsi_refuse_usage (
        error, "--telecentric: name one picture, of the board in the measuring plane");
  return TRUE;
}

/* Nothing that was read may be overwritten, and a long job shouldn't fail at its end. */
static gboolean
check_output (char *const *pictures, const char *path, GError **error)
{
  if (!wsi_calibrate_check_folder (path, error))
    return FALSE;
  for (gsize i = 0; pictures[i] != NULL; i++)
    if (!wsi_calibrate_check_input (path, pictures[i], error))
      return FALSE;
  return TRUE;
}

static gboolean
name_outputs (Options *options, GError **error)
{
  if (options->out == NULL)
    return wsi_refuse_usage (error, "--out: name the calibration to write");
  g_autofree char *stem = wsi_calibrate_stem (options->out);
  if (options->camera == NULL)
    options->camera = g_path_get_basename (stem);
  if (options->residuals == NULL)
    options->residuals = g_strconcat (stem, ".residuals.png", NULL);
  return !wsi_calibrate_same_file (options->out, options->residuals) ||
         wsi_refuse_usage (error, "--residuals: give it another name than --out");
}

/* ---- Doing -------------------------------------------------------------------------------- */

static void
tell_left_out (const char *picture, const char *why, gpointer data)
{
  (void)data;
  wsi_say_aside ("%s: %s\n", picture, why);
}

/* The picture last: it is of use with the calibration only. */
static gboolean
save (const WsTargetDone *done, const Options *options, GError **error)
{
  g_autoptr (GBytes) chart = ws_report_target_chart (done, error);
  return chart != NULL &&
         ws_calibration_save (ws_target_done_calibration (done), options->out, error) &&
         ws_report_save (options->residuals, g_bytes_get_data (chart, NULL),
                         g_bytes_get_size (chart), error);
}

static gboolean
make (Options *options, GError **error)
{
  guint plane;
  WsTargetBoard board;
  g_auto (GStrv) pictures = list_pictures (options, &plane);
  if (!name_outputs (options, error) || !read_board (options, &board, error) ||
      !check_pictures (options, pictures, error) || !check_output (pictures, options->out, error) ||
      !check_output (pictures, options->residuals, error))
    return FALSE;
  const WsCalibrateOptions how = { .camera = options->camera,
                                   .certificate = options->certificate,
                                   .valid_days = (guint)wsi_option_number (options->valid_days,
                                                                           WS_CALIBRATE_VALID_DAYS),
                                   .steps = { wsi_calibrate_tell, NULL },
                                   .left_out = tell_left_out };
  g_autoptr (WsTargetDone) done = ws_calibrate_target (
    &board, pictures, plane, options->telecentric ? WS_TARGET_TELECENTRIC : WS_TARGET_PINHOLE, &how,
    error);
  if (done == NULL || !save (done, options, error))
    return FALSE;
  g_autofree char *text = ws_report_target_text (done);
  wsi_say ("%s", text);
  return TRUE;
}

static int
run (gpointer options, char **words)
{
  GError *error = NULL;
  (void)words;
  return make (options, &error) ? WS_EXIT_ACCEPT : wsi_fail (error);
}

const WsCommand wsi_method_target = {
  .name = "target",
  .summary = "by a chessboard seen from several sides",
  .about = "Finds a camera's lens and its place before the measuring plane from pictures of a "
           "chessboard.",
  .notes = "Take ten or so pictures of the whole board, tilted by 15 to 30 degrees to different "
           "sides, also in\nthe picture's corners, and one with the board in the measuring "
           "plane. Corners where four\nsquares meet count: a board of 12 x 9 squares has 11 x 8.",
  .groups = { { target_options, 0 } },
  .size = sizeof (Options),
  .run = run,
};
