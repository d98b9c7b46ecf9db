/*
 * Calibrations of a camera, kept as NAME.calib.
 */
#ifndef WHETSIGHT_CALIBRATION_H
#define WHETSIGHT_CALIBRATION_H

#include <whetsight/image.h>
#include <whetsight/optics.h>

G_BEGIN_DECLS

/* A picture that a calibration rests on. */
typedef struct
{
  char *name;     /* file name without its folder */
  char *sha256;   /* of the file, 64 hex digits */
  char *rejected; /* NULL, or why it was left out */
  double rms_px;  /* of its residuals; NAN when it has none */
} WsCalibrationSource;

/* A thing of known size. */
typedef struct
{
  char *what;        /* "pin 4.638 mm", "chessboard 11 x 8, 1.27 mm" */
  char *certificate; /* certificate number, or NULL */
  double size_mm;
  double u_mm; /* standard uncertainty */
} WsArtefact;

/* A calibration.  Made by those of calibrate.h, or loaded; every text is UTF-8 without line breaks.
 */
typedef struct WsCalibration WsCalibration;

void ws_calibration_free (WsCalibration *calibration);

/* What it says; all owned by the calibration. */
const char *ws_calibration_id (const WsCalibration *calibration); /* "20261125T155225Z-396c459d" */
const char *ws_calibration_camera (const WsCalibration *calibration); /* the user's name for it */
const char *ws_calibration_method (const WsCalibration *calibration); /* "pin", "disc", "target" */
const char *ws_calibration_sha256 (const WsCalibration *calibration); /* of the file as loaded or
                                                                         last saved; NULL before */
const WsLens *ws_calibration_lens (const WsCalibration *calibration);
GDateTime *ws_calibration_made (const WsCalibration *calibration);    /* UTC */
GDateTime *ws_calibration_expires (const WsCalibration *calibration); /* UTC; NULL: never */

/* Of WsArtefact, of WsCalibrationSource, and of char *: what the user should know, each one
 * sentence. */
const GPtrArray *ws_calibration_artefacts (const WsCalibration *calibration);
const GPtrArray *ws_calibration_sources (const WsCalibration *calibration);
const GPtrArray *ws_calibration_remarks (const WsCalibration *calibration);

/* Writes a GLib key file with a checksum over its content; whole or not at all.  Errors:
 * WS_ERROR_CANT_WRITE; WS_ERROR_INTERNAL when it holds what can't be (no scale, NAN) and would not
 * load again. */
gboolean ws_calibration_save (WsCalibration *calibration, const char *path, GError **error);

/* NULL with WS_ERROR_NO_INPUT, or WS_ERROR_DATA when the file is no calibration, was edited
 * (checksum), or holds what can't be.  Expiry is not judged here. */
WsCalibration *ws_calibration_load (const char *path, GError **error);

/* Errors: WS_ERROR_DATA when pictures of this size are not what it was made for. */
gboolean ws_calibration_fits (const WsCalibration *calibration, guint width, guint height,
                              GError **error);

/* The same of a picture, and that it was taken by the same camera with the same settings as those
 * that the calibration rests on, where these say so, or at the bench of this calibration. */
gboolean ws_calibration_fits_picture (const WsCalibration *calibration, const WsImage *image,
                                      GError **error);

/* `now` in any time zone; FALSE when it never expires. */
gboolean ws_calibration_expired (const WsCalibration *calibration, GDateTime *now);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsCalibration, ws_calibration_free)

G_END_DECLS

#endif
