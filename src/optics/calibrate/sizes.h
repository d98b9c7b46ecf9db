/*
 * Calibration by pictures of things of known size: what pins and discs share, and what reports of
 * it show.
 */
#ifndef WS_OPTICS_CALIBRATE_SIZES_H
#define WS_OPTICS_CALIBRATE_SIZES_H

#include <whetsight/calibrate.h>
#include <whetsight/image.h>

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

struct WsSizesDone
{
  const GPtrArray *shots; /* of WsShot; borrowed, and NULL when done */
  GPtrArray *seen;        /* of WsShotSeen, one a shot */
  GArray *widths;         /* of WsShotWidth */
  GArray *marks;          /* of WsShotMark */
  GArray *lines;          /* of WsPoint, two by two: what was seen */
  guint picture_width;    /* px; 0 before the first picture */
  guint picture_height;
  WsTaken *taken; /* of the first picture; NULL when it doesn't say */
  WsScaleFit fit;
  WsCalibration *calibration; /* NULL before the fit */
};

/* One way to measure shots. */
typedef struct
{
  const char *name; /* "pin" */
  /* Adds widths, marks and lines of a picture; sets blur and clipping of `seen`.  NULL, or why
   * it can't be measured, which the caller owns. */
  char *(*measure) (const WsImage *image, WsSizesDone *done, guint shot, WsShotSeen *seen);
} WsSizesMethod;

extern const WsSizesMethod wsi_sizes_pin, wsi_sizes_disc;

/* For measure(): adds a width and returns its index. */
guint wsi_sizes_add_width (WsSizesDone *done, const WsShotWidth *width);

/* What reports need: a width or what became of a shot, by its index. */
const WsShotWidth *wsi_sizes_width (const WsSizesDone *done, guint i);
const WsShotSeen *wsi_sizes_seen (const WsSizesDone *done, guint shot);

/* px in the picture as micrometres; expanded uncertainty (k = 2) of a parameter of the fit. */
double wsi_sizes_um (const WsSizesDone *done, double px);
double wsi_sizes_U (const WsSizesDone *done, guint parameter);

/* Adds what the user should know to the calibration. */
void wsi_sizes_add_remarks (WsSizesDone *done);

G_END_DECLS

#endif
