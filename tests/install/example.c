/*
 * What a program that uses Whetsight looks like: calibrates a camera from a list of pictures,
 * measures a tool, opens an archive.  tests/install/run.sh builds it against the installed package.
 *   example SHOTS.csv OUT.calib CARD SCALE PICTURE ARCHIVE
 */
#include <stdio.h>

#include <whetsight/whetsight.h>

static gboolean
tell (const WsStep *step, gpointer data)
{
  (void)data;
  fprintf (stderr, "%u of %u: %s\n", step->number, step->all, step->picture);
  return TRUE; /* FALSE would stop it */
}

static gboolean
calibrate (const char *list, const char *out, GError **error)
{
  const WsCalibrateOptions options = { .camera = "bench-2",
                                       .valid_days = 365,
                                       .steps = { tell, NULL } };
  g_autoptr (GPtrArray) shots = ws_shots_load (list, error);
  g_autoptr (WsSizesDone) done = shots != NULL ? ws_calibrate_sizes (shots, &options, error) : NULL;
  if (done == NULL || !ws_calibration_save (ws_sizes_done_calibration (done), out, error))
    return FALSE;
  const WsLens *lens = ws_calibration_lens (ws_sizes_done_calibration (done));
  printf ("scale %.7f U %.7f\n", ws_lens_mm_per_px (lens), 2 * ws_lens_u_mm_per_px (lens));
  return TRUE;
}

/* An archive is opened by a library that is itself opened when it is first needed. */
static gboolean
keep (const char *folder, GError **error)
{
  g_autoptr (WsArchive) archive = ws_archive_open (folder, WS_ARCHIVE_WRITE, error);
  if (archive != NULL)
    printf ("archive open\n");
  return archive != NULL;
}

/* The drill's point angle: the picture's whole result lives in a WsResult, by names. */
static gboolean
measure (const char *card_path, double scale, const char *picture, GError **error)
{
  const WsOptics optics = { .has_scale = TRUE, .mm_per_px = scale };
  g_autoptr (WsToolCard) card = ws_tool_card_load (card_path, error);
  g_autoptr (WsImage) image =
    card != NULL ? ws_image_load (picture, NULL, WS_IMAGE_GREY, error) : NULL;
  if (image == NULL)
    return FALSE;
  g_autoptr (WsResult) result = ws_measure (ws_view_for_kind (card->kind), image, card, &optics);
  const WsQuantity *angle = ws_result_quantity (result, "point_angle");
  if (angle != NULL && angle->known)
    printf ("point angle %.3f U %.3f\n", angle->value, angle->U);
  else
    printf ("%s\n", ws_retake_sentence (result->reason));
  return TRUE;
}

int
main (int argc, char **argv)
{
  g_autoptr (GError) error = NULL;
  if (argc != 7)
    return 64;
  printf ("version %s\n", ws_version ());
  if (calibrate (argv[1], argv[2], &error) &&
      measure (argv[3], g_ascii_strtod (argv[4], NULL), argv[5], &error) && keep (argv[6], &error))
    return 0;
  fprintf (stderr, "%s\n", error->message);
  return 1;
}
