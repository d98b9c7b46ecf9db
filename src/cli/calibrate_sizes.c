/*
 * calibrate pin, calibrate disc: a camera from pictures of things of known size.
 */
#include "base/language.h"
#include "cli/calibrate.h"

#include <math.h>
#include <stdio.h>

#include <whetsight/calibrate.h>
#include <whetsight/report.h>

#include "base/file.h"
#include "cli/fail.h"
#include "cli/say.h"

/* As typed. */
typedef struct
{
  char *shots;
  char *out;
  char *residuals;
  char *camera;
  char *certificate;
  double valid_days;
  double diameter, outer, inner;
  double u;
  gboolean json;
  char **images;
} Options;

/* ---- Options ------------------------------------------------------------------------------ */

/* The same thing in all pictures. */
static gboolean
read_one_artefact (WsShotKind kind, const Options *options, GPtrArray **shots, GError **error)
{
  const double size = wsi_option_number (options->diameter, options->outer);
  const double hole = options->inner, u = wsi_option_number (options->u, 0);
  if (isnan (size) && isnan (hole))
    return wsi_refuse_usage (error, "give --shots, or %s and pictures",
                             kind == WS_SHOT_PIN ? "--diameter" : "--outer, --inner");
  if (hole >= size)
    return wsi_refuse_usage (error, "--inner: expected less than --outer");
  if (options->images == NULL)
    return wsi_refuse_usage (error, "name at least one picture");
  *shots = ws_shots_new ();
  for (gsize i = 0; options->images[i] != NULL; i++)
  {
    WsShot *shot = ws_shot_new (g_strdup (options->images[i]), kind);
    shot->size_mm = size;
    shot->hole_mm = hole;
    shot->u_mm = u;
    g_ptr_array_add (*shots, shot);
  }
  return TRUE;
}

static gboolean
read_list (WsShotKind kind, const Options *options, GPtrArray **shots, GError **error)
{
  if (options->images != NULL || !isnan (options->diameter) || !isnan (options->outer) ||
      !isnan (options->inner) || !isnan (options->u))
    return wsi_refuse_usage (error,
                             "--shots: the list tells pictures and sizes; leave out the others");
  *shots = ws_shots_load (options->shots, error);
  if (*shots == NULL)
    return FALSE;
  const WsShot *first = g_ptr_array_index (*shots, 0);
  if (first->kind == kind)
    return TRUE;
  return wsi_refuse (error, WS_ERROR_DATA, "%s: %s", options->shots,
                     first->kind == WS_SHOT_PIN ? _ ("lists pins; use whetsight calibrate pin")
                                                : _ ("lists discs; use whetsight calibrate disc"));
}

/* Nothing that was read may be overwritten, and a long job shouldn't fail at its end. */
static gboolean
check_output (const Options *options, const GPtrArray *shots, const char *path, GError **error)
{
  if (!wsi_calibrate_check_folder (path, error) ||
      (options->shots != NULL && !wsi_calibrate_check_input (path, options->shots, error)))
    return FALSE;
  for (guint i = 0; i < shots->len; i++)
  {
    const WsShot *shot = g_ptr_array_index (shots, i);
    if (!wsi_calibrate_check_input (path, shot->path, error))
      return FALSE;
  }
  return TRUE;
}

/* `shots` is the caller's, also after an error. */
static gboolean
prepare (WsShotKind kind, Options *options, GPtrArray **shots, GError **error)
{
  if (options->out == NULL)
    return wsi_refuse_usage (error, "--out: name the calibration to write");
  g_autofree char *stem = wsi_calibrate_stem (options->out);
  if (options->residuals == NULL)
    options->residuals = g_strconcat (stem, ".residuals.png", NULL);
  if (options->camera == NULL)
    options->camera = g_path_get_basename (stem);
  const gboolean listed = options->shots != NULL;
  if (!(listed ? read_list : read_one_artefact) (kind, options, shots, error))
    return FALSE;
  if (wsi_calibrate_same_file (options->out, options->residuals))
    return wsi_refuse_usage (error, "--residuals: give it another name than --out");
  return check_output (options, *shots, options->out, error) &&
         check_output (options, *shots, options->residuals, error);
}

/* ---- Doing -------------------------------------------------------------------------------- */

static gboolean
save_chart (const WsSizesDone *done, const char *path, GError **error)
{
  g_autoptr (GBytes) png = ws_report_sizes_chart (done, error);
  return png != NULL &&
         wsi_file_save (path, g_bytes_get_data (png, NULL), g_bytes_get_size (png), error);
}

static gboolean
print (const WsSizesDone *done, const Options *options, GError **error)
{
  g_autofree char *words =
    options->json ? ws_report_sizes_json (done, options->out) : ws_report_sizes_text (done);
  const int wrote = options->json
                      ? wsi_say ("%s\n", words)
                      : wsi_say ("%s\nwritten: %s, %s\n", words, options->out, options->residuals);
  return (wrote >= 0 && fflush (stdout) == 0) ||
         wsi_refuse (error, WS_ERROR_CANT_WRITE, "can't write to standard output");
}

static WsSizesDone *
calibrate (const Options *options, const GPtrArray *shots, GError **error)
{
  const double days = wsi_option_number (options->valid_days, WS_CALIBRATE_VALID_DAYS);
  const WsCalibrateOptions how = { .camera = options->camera,
                                   .certificate = options->certificate,
                                   .valid_days = (guint)days,
                                   .steps = { wsi_calibrate_tell, NULL } };
  return ws_calibrate_sizes (shots, &how, error);
}

static int
run (WsShotKind kind, Options *options)
{
  GError *error = NULL;
  g_autoptr (GPtrArray) shots = NULL;
  g_autoptr (WsSizesDone) done = NULL;
  if (!prepare (kind, options, &shots, &error) ||
      (done = calibrate (options, shots, &error)) == NULL ||
      !ws_calibration_save (ws_sizes_done_calibration (done), options->out, &error) ||
      !save_chart (done, options->residuals, &error) || !print (done, options, &error))
    return wsi_fail (error);
  return WS_EXIT_ACCEPT;
}

static int
pin (gpointer data, char **words)
{
  Options *options = data;
  (void)words;
  options->outer = options->inner = NAN; /* no options here */
  return run (WS_SHOT_PIN, options);
}

static int
disc (gpointer data, char **words)
{
  Options *options = data;
  (void)words;
  options->diameter = NAN; /* no option here */
  return run (WS_SHOT_DISC, options);
}

/* ---- The tables --------------------------------------------------------------------------- */

static const WsOption common[] = {
  { WS_OPTION_LENGTH, "diameter-u", 0, G_STRUCT_OFFSET (Options, u), "MM",
    "Standard uncertainty of the diameters by their certificate", &wsi_check_mm_or_0 },
  { WS_OPTION_FILE, "out", 'o', G_STRUCT_OFFSET (Options, out), "NAME.calib",
    "Write the calibration there", NULL },
  { WS_OPTION_FILE, "residuals", 0, G_STRUCT_OFFSET (Options, residuals), "FILE.png",
    "Write the picture of residuals there, NAME.residuals.png by default", NULL },
  { WS_OPTION_TEXT, "camera", 0, G_STRUCT_OFFSET (Options, camera), "TEXT",
    "What you call this camera in this place; NAME by default", NULL },
  { WS_OPTION_TEXT, "certificate", 0, G_STRUCT_OFFSET (Options, certificate), "TEXT",
    "Number of the certificate of the diameters", NULL },
  { WS_OPTION_NUMBER, "valid-days", 0, G_STRUCT_OFFSET (Options, valid_days), "N",
    "Days until it expires, " G_STRINGIFY (WS_CALIBRATE_VALID_DAYS) " by default",
    &wsi_check_days },
  { WS_OPTION_FLAG, "json", 'j', G_STRUCT_OFFSET (Options, json), NULL, "Print the summary as JSON",
    NULL },
  { WS_OPTION_FILES, NULL, 0, G_STRUCT_OFFSET (Options, images), "[PICTURE…]", NULL, NULL },
  WS_OPTIONS_END
};

static const char notes[] =
  "u_mm is the standard uncertainty (k = 1) of each diameter; the list's file names are relative "
  "to\nits folder. Two or more diameters tell how much the edges bloom, too.";

static const WsOption pin_options[] = {
  { WS_OPTION_LENGTH, "diameter", 'd', G_STRUCT_OFFSET (Options, diameter), "MM",
    "Diameter of the one pin in all PICTUREs, in place of --shots", &wsi_check_mm },
  { WS_OPTION_FILE, "shots", 's', G_STRUCT_OFFSET (Options, shots), "LIST.csv",
    "List with the columns file, diameter_mm, u_mm", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_method_pin = {
  .name = "pin",
  .summary = "by gauge pins seen from the side",
  .about =
    "Finds a camera's scale from pictures of gauge pins, back-lit, seen from the side: across the "
    "whole picture or entering it, at any angle.",
  .notes = notes,
  .groups = { { pin_options, 0 }, { common, 0 } },
  .size = sizeof (Options),
  .run = pin,
};

static const WsOption disc_options[] = {
  { WS_OPTION_LENGTH, "outer", 0, G_STRUCT_OFFSET (Options, outer), "MM",
    "Outer diameter of the one ring or disc in all PICTUREs, in place of --shots", &wsi_check_mm },
  { WS_OPTION_LENGTH, "inner", 0, G_STRUCT_OFFSET (Options, inner), "MM", "Its inner diameter",
    &wsi_check_mm },
  { WS_OPTION_FILE, "shots", 's', G_STRUCT_OFFSET (Options, shots), "LIST.csv",
    "List with the columns file, outer_mm, inner_mm, u_mm", NULL },
  WS_OPTIONS_END
};

const WsCommand wsi_method_disc = {
  .name = "disc",
  .summary = "by rings or discs seen face-on",
  .about =
    "Finds a camera's scale from pictures of rings or discs, back-lit, seen face-on and whole.",
  .notes = notes,
  .groups = { { disc_options, 0 }, { common, 0 } },
  .size = sizeof (Options),
  .run = disc,
};
