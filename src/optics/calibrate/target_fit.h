/*
 * One pinhole camera for several views of a flat board: least squares and their covariance.
 */
#ifndef WS_OPTICS_CALIBRATE_TARGET_FIT_H
#define WS_OPTICS_CALIBRATE_TARGET_FIT_H

#include <whetsight/optics.h>

#include "optics/lens.h"

G_BEGIN_DECLS

#define WS_TARGET_POSE 6                    /* rotation vector, translation */
#define WS_TARGET_CAMERA (WS_LENS_P_K3 + 1) /* as in WsLens, pose left out */

/* Borrowed. */
typedef struct
{
  guint width, height; /* px, of the pictures */
  guint n_views;
  guint n_points;        /* of the board */
  const WsPoint *board;  /* mm, n_points */
  const WsPoint *points; /* px, n_points for each view in turn */
  gboolean same_corners; /* each point is the same corner of the board in every view */
} WsTargetData;

typedef struct
{
  double camera[WS_TARGET_CAMERA];
  gboolean is_free[WS_TARGET_CAMERA]; /* others stay as they are */
  double *poses;                      /* WS_TARGET_POSE a view */
  guint n_parameters;                 /* free ones of the camera, then the poses */
  double *covariance;                 /* n_parameters squared */
  double sigma_px;                    /* of a corner's coordinate */
  double board_mm;                    /* of a coordinate of the board's corners */
  double rms_px;                      /* distance of corners from the model */
} WsTargetFit;

/* A first camera, with k1 and k2, and poses.  Errors: WS_ERROR_DATA, WS_ERROR_INTERNAL.  Clear
 * with wsi_target_fit_clear(), also after an error. */
gboolean wsi_target_fit_start (const WsTargetData *data, WsTargetFit *fit, GError **error);

/* Least squares from where `fit` stands over the parameters that are free, and covariance
 * (docs/methods/calibration.md, T2 to T5).  Errors: WS_ERROR_DATA when the views don't determine
 * them. */
gboolean wsi_target_fit_solve (const WsTargetData *data, WsTargetFit *fit, GError **error);

/* Index of a camera's parameter, or of a view's pose, in the covariance; -1 of one not free. */
int wsi_target_fit_index (const WsTargetFit *fit, guint parameter, guint view);

/* Camera and a view's pose as a lens has them. */
void wsi_target_fit_parameters (const WsTargetFit *fit, guint view, double parameters[WS_LENS_P_N]);

/* Seen less expected, px. */
WsPoint wsi_target_fit_residual (const WsTargetData *data, const WsTargetFit *fit, guint view,
                                 guint point);

void wsi_target_fit_clear (WsTargetFit *fit);

G_DEFINE_AUTO_CLEANUP_CLEAR_FUNC (WsTargetFit, wsi_target_fit_clear)

G_END_DECLS

#endif
