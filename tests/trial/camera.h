/*
 * Calibrations and tool cards for scenes: what a shop would have beside the picture.
 */
#ifndef TRIAL_CAMERA_H
#define TRIAL_CAMERA_H

#include "scene/scene.h"

#include <whetsight/calibration.h>

G_BEGIN_DECLS

#define TRIAL_CAMERA_NAME "near camera of bench 2"

/* A calibration of the scene's camera, off by one draw from its covariance, which is about
 * that of a dozen chessboard views.  Free with ws_calibration_free(). */
WsCalibration *trial_calibration (const SceneCamera *camera, guint64 seed);

/* Saves it; FALSE, with a line on standard error, when it can't. */
gboolean trial_calibration_save (const SceneCamera *camera, guint64 seed, const char *path);

/* A card with the drill's nominal size; `web_mm` when it is not NAN, `hand` when not NULL. */
gboolean trial_card_save (const SceneDrill *drill, double web_mm, const char *hand,
                          const char *path);

G_END_DECLS

#endif
