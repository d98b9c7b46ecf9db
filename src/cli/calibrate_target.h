/*
 * What `calibrate target` works on, and what it says of it.
 */
#ifndef WS_CLI_CALIBRATE_TARGET_H
#define WS_CLI_CALIBRATE_TARGET_H

#include <whetsight/calibration.h>

#include "optics/calibrate/target.h"

G_BEGIN_DECLS

typedef struct
{
  double columns, rows, square, square_u, valid_days; /* as typed */
  char *plane;
  char *out;
  char *residuals;
  char *camera;
  char *certificate;
  gboolean telecentric;
  char **pictures;
  WsTargetBoard board;
  double days;
} WsTargetOptions;

/* One picture. */
typedef struct
{
  char *path;
  char *name;
  char *sha256;
  WsTargetView *view;
} WsTargetShot;

typedef struct
{
  const WsTargetOptions *options;
  GPtrArray *shots; /* of WsTargetShot */
  guint plane;      /* index */
  WsTargetResult result;
  WsCalibration *calibration; /* NULL before the fit */
} WsTargetJob;

WsTargetShot *ws_target_shot (const WsTargetJob *job, guint i);

/* Free with g_free(); the views stay the shots'. */
WsTargetView **ws_target_views (const WsTargetJob *job);

/* Adds what the user should know to the calibration. */
void ws_target_add_remarks (WsTargetJob *job);

/* The summary, to standard output. */
void ws_target_print (const WsTargetJob *job);

/* The picture of residuals as a PNG file's bytes.  Errors: WS_ERROR_INTERNAL. */
GBytes *ws_target_chart (const WsTargetJob *job, GError **error);

G_END_DECLS

#endif
