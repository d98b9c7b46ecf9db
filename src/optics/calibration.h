/*
 * What a calibration is made of, for those who make calibrations and who report them.
 */
#ifndef WS_OPTICS_CALIBRATION_H
#define WS_OPTICS_CALIBRATION_H

#include <whetsight/calibration.h>
#include <whetsight/image.h>

G_BEGIN_DECLS

/* Every text is UTF-8 without line breaks. */
struct WsCalibration
{
  char *id;           /* "20261125T155225Z-396c459d" */
  char *camera;       /* the user's name for the camera and its set-up */
  GDateTime *made;    /* UTC */
  GDateTime *expires; /* UTC; NULL: never */
  char *program;      /* name and version */
  char *method;       /* "pin", "disc", "target" */
  WsLens lens;
  GPtrArray *artefacts; /* of WsArtefact */
  GPtrArray *sources;   /* of WsCalibrationSource */
  GPtrArray *remarks;   /* of char *: what the user should know, each one sentence */
  WsTaken *taken;       /* how its pictures were taken; NULL when they don't say */
  char *sha256;         /* of the file as loaded or last saved; NULL before */
};

/* With an id of its own, made now, expiring never, empty lists, no lens.  Free with
 * ws_calibration_free(). */
WsCalibration *wsi_calibration_new (const char *method, const char *camera);

/* Copies the texts. */
void wsi_calibration_add_artefact (WsCalibration *calibration, const char *what,
                                   const char *certificate, double size_mm, double u_mm);
void wsi_calibration_add_source (WsCalibration *calibration, const char *name, const char *sha256,
                                 const char *rejected, double rms_px);

/* `text` is taken over. */
void wsi_calibration_add_remark (WsCalibration *calibration, char *text);

G_END_DECLS

#endif
