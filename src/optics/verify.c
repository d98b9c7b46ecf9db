#include <whetsight/verify.h>

#include <math.h>

#include <whetsight/image.h>

#include "image/taken.h"
#include "optics/calibrate/board.h"
#include "optics/calibrate/pin.h"
#include "optics/calibrate/ring.h"
#include "optics/calibrate/target.h"
#include "optics/calibration.h"

#define COVERAGE_FACTOR 2.0 /* JCGM 100:2008, 6.3.3: about 95 % */

/* RMS distance of a board's corners from its grid, parts of a square, above which it doesn't lie in
 * the measuring plane: about 7 degrees of tilt without perspective, less with.  Own choice. */
#define MAX_OFF_GRID 0.02

struct WsVerify
{
  const WsCalibration *calibration;
  WsOptics optics; /* its */
  char *run;
  char time[WS_CHECK_TIME_SIZE];
  GPtrArray *checks;    /* of WsCheck */
  const WsTaken *taken; /* that pictures are to be taken by; or NULL */
  WsImageFlags flags;   /* that they are loaded by */
};

/* A picture at work. */
typedef struct
{
  WsVerify *verify;
  const WsShot *shot;
  const WsImage *image;
  WsVerifySeen *seen;
} Picture;

WsVerify *
ws_verify_new (const WsCalibration *calibration)
{
  WsVerify *verify = g_new0 (WsVerify, 1);
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autofree char *time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  g_strlcpy (verify->time, time, sizeof verify->time);
  verify->calibration = calibration;
  verify->optics = ws_optics_of_lens (&calibration->lens);
  verify->run = ws_checks_new_run (now);
  verify->checks = ws_checks_new ();
  verify->flags = WS_IMAGE_GREY;
  return verify;
}

void
ws_verify_confine (WsVerify *verify)
{
  verify->flags |= WS_IMAGE_CONFINED;
}

void
ws_verify_free (WsVerify *verify)
{
  if (verify == NULL)
    return;
  g_free (verify->run);
  g_ptr_array_unref (verify->checks);
  g_free (verify);
}

void
ws_verify_expect (WsVerify *verify, const WsTaken *taken)
{
  verify->taken = taken;
}

void
ws_verify_seen_clear (WsVerifySeen *seen)
{
  g_clear_pointer (&seen->detail, g_free);
}

const GPtrArray *
ws_verify_checks (const WsVerify *verify)
{
  return verify->checks;
}

/* ---- Kinds of things ---------------------------------------------------------------- */

static void
add (const Picture *picture, const char *quantity, double value, double u, double reference,
     double u_reference)
{
  const WsVerify *verify = picture->verify;
  if (isnan (reference))
    return;
  WsCheck *check = ws_check_new (verify->run, quantity, value, COVERAGE_FACTOR * u, reference,
                                 COVERAGE_FACTOR * u_reference);
  check->calibration = g_strdup (verify->calibration->id);
  check->file = g_path_get_basename (picture->shot->path);
  check->sha256 = g_strdup (picture->image->sha256);
  g_strlcpy (check->time, verify->time, sizeof check->time);
  g_ptr_array_add (verify->checks, check);
}

static gboolean
fail (const Picture *picture, WsRetake reason, const char *detail)
{
  picture->seen->reason = reason;
  picture->seen->detail = g_strdup (detail);
  return FALSE;
}

static gboolean
measure_pin (const Picture *picture, GError **error)
{
  const WsShot *shot = picture->shot;
  const WsOptics *optics = &picture->verify->optics;

  (void)error;
  WsPin pin;
  double u;
  if (!wsi_pin_measure (picture->image, optics, &pin))
    return fail (picture, pin.trouble, pin.detail);
  const double diameter = wsi_pin_diameter_mm (&pin, optics, &u);
  add (picture, "diameter_mm", diameter, u, shot->size_mm, shot->u_mm);
  return TRUE;
}

static gboolean
measure_disc (const Picture *picture, GError **error)
{
  const WsShot *shot = picture->shot;
  const WsOptics *optics = &picture->verify->optics;

  (void)error;
  WsRing ring;
  double u;
  if (!wsi_ring_measure (picture->image, optics, &ring))
    return fail (picture, ring.trouble, ring.detail);
  if (!isnan (shot->hole_mm) && !ring.has_hole)
    return fail (picture, WS_RETAKE_WRONG_VIEW, "a disc without a hole");
  const double outer = wsi_ring_diameter_mm (&ring.outer, optics, &u);
  add (picture, "outer_mm", outer, u, shot->size_mm, shot->u_mm);
  if (isnan (shot->hole_mm))
    return TRUE;
  const double inner = wsi_ring_diameter_mm (&ring.inner, optics, &u);
  add (picture, "inner_mm", inner, u, shot->hole_mm, shot->u_mm);
  return TRUE;
}

/* The board's corners; a view that can't be used is rejected. */
static gboolean
find_corners (const WsTargetBoard *board, const WsImage *image, WsTargetView *view, GError **error)
{
  if (!wsi_target_find (image, board, view, error))
    return FALSE;
  wsi_target_reject_blurred (&view, 1);
  const WsTargetView *const found = view;
  return view->rejected != NULL ||
         wsi_target_refine (image, board, wsi_target_window (&found, 1), view, error);
}

static gboolean
measure_board (const Picture *picture, GError **error)
{
  const WsShot *shot = picture->shot;
  const WsOptics *optics = &picture->verify->optics;

  const WsTargetBoard board = { shot->columns, shot->rows, shot->size_mm, shot->u_mm };
  g_autoptr (WsTargetView) view = wsi_target_view_new ();
  WsBoardScale scale;
  if (!find_corners (&board, picture->image, view, error))
    return FALSE;
  if (view->rejected != NULL)
    return fail (picture, WS_RETAKE_WRONG_VIEW, view->rejected);
  const WsBoardSeen seen = { view->corners, shot->columns, shot->rows };
  if (!wsi_board_scale (&seen, optics, &scale))
    return fail (picture, WS_RETAKE_WRONG_VIEW, "corners beyond what the calibration holds for");
  if (scale.rms > MAX_OFF_GRID)
    return fail (picture, WS_RETAKE_WRONG_VIEW, "the board doesn't lie in the measuring plane");
  add (picture, "square_mm", scale.square_mm, scale.u_mm, shot->size_mm, shot->u_mm);
  return TRUE;
}

static gboolean
measure (const Picture *picture, GError **error)
{
  switch (picture->shot->kind)
  {
  case WS_SHOT_DISC:
    return measure_disc (picture, error);
  case WS_SHOT_BOARD:
    return measure_board (picture, error);
  case WS_SHOT_PIN:
    break;
  }
  return measure_pin (picture, error);
}

static gboolean
made_from (const WsCalibration *calibration, const WsImage *image)
{
  for (guint i = 0; i < calibration->sources->len; i++)
  {
    const WsCalibrationSource *source = g_ptr_array_index (calibration->sources, i);
    if (g_strcmp0 (source->sha256, image->sha256) == 0)
      return TRUE;
  }
  return FALSE;
}

gboolean
ws_verify_shot (WsVerify *verify, const WsShot *shot, WsVerifySeen *seen, GError **error)
{
  *seen = (WsVerifySeen){ .first = verify->checks->len };
  g_autoptr (WsImage) image = ws_image_load (shot->path, NULL, verify->flags, error);
  if (image == NULL)
    return FALSE;
  if (!ws_calibration_fits_picture (verify->calibration, image, error) ||
      (verify->taken != NULL && !wsi_taken_check (verify->taken, image->taken, "the bench", error)))
  {
    g_prefix_error (error, "%s: ", shot->path);
    return FALSE;
  }
  const Picture picture = { verify, shot, image, seen };
  if (!measure (&picture, error))
    return FALSE;
  seen->n = verify->checks->len - seen->first;
  seen->made_it = made_from (verify->calibration, image);
  return TRUE;
}
