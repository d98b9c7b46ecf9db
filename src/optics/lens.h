/*
 * The parameters of lens models, by number.
 */
#ifndef WS_OPTICS_LENS_H
#define WS_OPTICS_LENS_H

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* Order of a lens' parameters.  The edge shift comes first in both models. */
enum
{
  WS_LENS_EDGE_SHIFT, /* px: how far a dark edge looks too small (light bloom) */

  /* Telecentric: q ideal = c + (q - c) (1 + K1 r^2), c the picture's middle, r the distance
   * from there in half diagonals. */
  WS_LENS_T_SCALE = 1, /* mm per px in the middle */
  WS_LENS_T_K1,
  WS_LENS_T_N,

  /* Pinhole (D. C. Brown 1966, in the convention of OpenCV's calib3d): focal lengths and
   * principal point in px, radial K1 K2 K3 and tangential P1 P2 on normalised coordinates,
   * and the measuring plane Z = 0 at rotation vector R (rad) and translation T (mm). */
  WS_LENS_P_FX = 1,
  WS_LENS_P_FY,
  WS_LENS_P_CX,
  WS_LENS_P_CY,
  WS_LENS_P_K1,
  WS_LENS_P_K2,
  WS_LENS_P_P1,
  WS_LENS_P_P2,
  WS_LENS_P_K3,
  WS_LENS_P_RX,
  WS_LENS_P_RY,
  WS_LENS_P_RZ,
  WS_LENS_P_TX,
  WS_LENS_P_TY,
  WS_LENS_P_TZ,
  WS_LENS_P_N
};

G_STATIC_ASSERT (WS_LENS_P_N <= WS_LENS_MAX && WS_LENS_T_N <= WS_LENS_MAX);

/* Number of parameters of a model. */
guint wsi_lens_n_parameters (WsLensModel model);

/* "edge_shift_px", "mm_per_px", "k1", "fx_px", …: as calibration files have them; static. */
const char *wsi_lens_parameter_name (WsLensModel model, guint parameter);

G_END_DECLS

#endif
