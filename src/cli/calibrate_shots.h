/*
 * Calibration by pictures of things of known size: what `calibrate pin` and `calibrate disc` share.
 */
#ifndef WS_CLI_CALIBRATE_SHOTS_H
#define WS_CLI_CALIBRATE_SHOTS_H

#include <whetsight/calibration.h>
#include <whetsight/image.h>

#include "cli/options.h"
#include "cli/shots.h"
#include "optics/calibrate/scale_fit.h"

G_BEGIN_DECLS

/* A width seen in a shot. */
typedef struct
{
  guint shot;       /* index */
  const char *part; /* "pin", "outer", "inner"; static */
  WsScaleWidth width;
  WsScaleResidual residual;
} WsShotWidth;

/* A place on the edge of a width, px, and the unit vector that a greater width moves it along. */
typedef struct
{
  guint width; /* index */
  WsPoint where, out;
} WsShotMark;

/* What became of a shot. */
typedef struct
{
  char *name;     /* file name without its folder */
  char *sha256;   /* NULL when it couldn't be read */
  char *rejected; /* why, or NULL */
  double blur_px;
  gboolean is_clipped;
} WsShotSeen;

typedef struct
{
  GPtrArray *shots;    /* of WsShot */
  GPtrArray *seen;     /* of WsShotSeen, one a shot */
  GArray *widths;      /* of WsShotWidth */
  GArray *marks;       /* of WsShotMark */
  GArray *lines;       /* of WsPoint, two by two: what was seen */
  guint picture_width; /* px; 0 before the first picture */
  guint picture_height;
  WsScaleFit fit;
  WsCalibration *calibration; /* NULL before the fit */
} WsCalibrateJob;

/* One way to measure shots. */
typedef struct
{
  const char *name; /* "pin" */
  WsShotKind kind;
  /* Adds widths, marks and lines of a picture; sets blur and clipping of `seen`.  NULL, or why
   * it can't be measured, which the caller owns. */
  char *(*measure) (const WsImage *image, WsCalibrateJob *job, guint shot, WsShotSeen *seen);
} WsCalibrateMethod;

/* As typed. */
typedef struct
{
  char *shots;
  char *out;
  char *residuals;
  char *camera;
  char *certificate;
  double valid_days;
  double diameter, outer, inner;
  double u;
  gboolean json;
  char **images;
} WsShotsOptions;

/* Of a WsShotsOptions: those that pins and discs share, and what --help says of them. */
extern const WsOption ws_shots_options[];
extern const char ws_shots_notes[];

/* Runs the method; returns the exit status. */
int ws_calibrate_by_shots (const WsCalibrateMethod *method, WsShotsOptions *options);

/* For measure(): adds a width and returns its index. */
guint ws_calibrate_add_width (WsCalibrateJob *job, const WsShotWidth *width);

/* "the light is …" and so on: adds what the user should know to the calibration. */
void ws_calibrate_add_remarks (WsCalibrateJob *job);

/* The summary for people, ending in a newline; the same as one line of JSON.  Free with
 * g_free(). */
char *ws_calibrate_text (const WsCalibrateJob *job);
char *ws_calibrate_json (const WsCalibrateJob *job, const char *path);

/* The picture of residuals as a PNG file's bytes. */
GBytes *ws_calibrate_chart (const WsCalibrateJob *job, GError **error);

G_END_DECLS

#endif
