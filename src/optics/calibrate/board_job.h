/*
 * Calibration by pictures of a chessboard: what reports of it show.
 */
#ifndef WS_OPTICS_CALIBRATE_BOARD_JOB_H
#define WS_OPTICS_CALIBRATE_BOARD_JOB_H

#include "optics/calibrate/target.h"

G_BEGIN_DECLS

/* One picture. */
typedef struct
{
  char *path;
  char *name; /* without its folder */
  char *sha256;
  WsTaken *taken; /* NULL when the picture doesn't say */
  WsTargetView *view;
} WsTargetShot;

struct WsTargetDone
{
  WsTargetBoard board;
  WsTargetCamera camera;
  GPtrArray *shots; /* of WsTargetShot */
  guint plane;      /* index */
  WsTargetResult result;
  WsCalibration *calibration; /* NULL before the fit */
};

WsTargetShot *wsi_target_shot (const WsTargetDone *done, guint i);

G_END_DECLS

#endif
