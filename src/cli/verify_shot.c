#include "cli/verify.h"

#include <math.h>

#include "optics/calibrate/board.h"
#include "optics/calibrate/pin.h"
#include "optics/calibrate/ring.h"
#include "optics/calibrate/target.h"

#define COVERAGE_FACTOR 2.0 /* JCGM 100:2008, 6.3.3: about 95 % */

/* RMS distance of a board's corners from its grid, parts of a square, above which it doesn't lie in
 * the measuring plane: about 7 degrees of tilt without perspective, less with.  Own choice. */
#define MAX_OFF_GRID 0.02

static void
add (const WsVerifying *verifying, const char *quantity, double value, double u, double reference,
     double u_reference)
{
  if (!isnan (reference))
    g_ptr_array_add (verifying->checks,
                     ws_check_new (verifying->run, quantity, value, COVERAGE_FACTOR * u, reference,
                                   COVERAGE_FACTOR * u_reference));
}

static gboolean
fail (WsVerifying *verifying, WsRetake reason, const char *detail)
{
  verifying->reason = reason;
  g_free (verifying->detail);
  verifying->detail = g_strdup (detail);
  return FALSE;
}

static gboolean
measure_pin (WsVerifying *verifying, const WsShot *shot, const WsImage *image, GError **error)
{
  (void)error;
  WsPin pin;
  double u;
  if (!ws_pin_measure (image, verifying->optics, &pin))
    return fail (verifying, pin.trouble, pin.detail);
  const double diameter = ws_pin_diameter_mm (&pin, verifying->optics, &u);
  add (verifying, "diameter_mm", diameter, u, shot->size_mm, shot->u_mm);
  return TRUE;
}

static gboolean
measure_disc (WsVerifying *verifying, const WsShot *shot, const WsImage *image, GError **error)
{
  (void)error;
  WsRing ring;
  double u;
  if (!ws_ring_measure (image, verifying->optics, &ring))
    return fail (verifying, ring.trouble, ring.detail);
  if (!isnan (shot->hole_mm) && !ring.has_hole)
    return fail (verifying, WS_RETAKE_WRONG_VIEW, "a disc without a hole");
  const double outer = ws_ring_diameter_mm (&ring.outer, verifying->optics, &u);
  add (verifying, "outer_mm", outer, u, shot->size_mm, shot->u_mm);
  if (isnan (shot->hole_mm))
    return TRUE;
  const double inner = ws_ring_diameter_mm (&ring.inner, verifying->optics, &u);
  add (verifying, "inner_mm", inner, u, shot->hole_mm, shot->u_mm);
  return TRUE;
}

/* The board's corners; a view that can't be used is rejected. */
static gboolean
find_corners (const WsTargetBoard *board, const WsImage *image, WsTargetView *view, GError **error)
{
  if (!ws_target_find (image, board, view, error))
    return FALSE;
  ws_target_reject_blurred (&view, 1);
  const WsTargetView *const found = view;
  return view->rejected != NULL ||
         ws_target_refine (image, board, ws_target_window (&found, 1), view, error);
}

static gboolean
measure_board (WsVerifying *verifying, const WsShot *shot, const WsImage *image, GError **error)
{
  const WsTargetBoard board = { shot->columns, shot->rows, shot->size_mm, shot->u_mm };
  g_autoptr (WsTargetView) view = ws_target_view_new ();
  WsBoardScale scale;
  if (!find_corners (&board, image, view, error))
    return FALSE;
  if (view->rejected != NULL)
    return fail (verifying, WS_RETAKE_WRONG_VIEW, view->rejected);
  const WsBoardSeen seen = { view->corners, shot->columns, shot->rows };
  if (!ws_board_scale (&seen, verifying->optics, &scale))
    return fail (verifying, WS_RETAKE_WRONG_VIEW, "corners beyond what the calibration holds for");
  if (scale.rms > MAX_OFF_GRID)
    return fail (verifying, WS_RETAKE_WRONG_VIEW, "the board doesn't lie in the measuring plane");
  add (verifying, "square_mm", scale.square_mm, scale.u_mm, shot->size_mm, shot->u_mm);
  return TRUE;
}

gboolean
ws_verify_measure (WsVerifying *verifying, const WsShot *shot, const WsImage *image, GError **error)
{
  switch (shot->kind)
  {
  case WS_SHOT_DISC:
    return measure_disc (verifying, shot, image, error);
  case WS_SHOT_BOARD:
    return measure_board (verifying, shot, image, error);
  case WS_SHOT_PIN:
    break;
  }
  return measure_pin (verifying, shot, image, error);
}
