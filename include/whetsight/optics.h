/*
 * From pixels to millimetres: a scale given by the user, or a calibrated camera.
 *
 * Measuring code works on an *ideal picture*: the picture that a camera free of distortion
 * would take of the measuring plane, with square pixels of mm_per_px and the same centre
 * and orientation.  Points of the outline are mapped there one by one; the picture itself is
 * never resampled.
 */
#ifndef WHETSIGHT_OPTICS_H
#define WHETSIGHT_OPTICS_H

#include <whetsight/point.h>

G_BEGIN_DECLS

typedef enum
{
  WS_LENS_TELECENTRIC, /* parallel projection: scale and a radial term */
  WS_LENS_PINHOLE,     /* Brown's distortion and the measuring plane's pose */
  WS_N_LENSES
} WsLensModel;

/* "telecentric", "pinhole"; static. */
const char *ws_lens_model_name (WsLensModel model);

/* Most parameters of a model. */
#define WS_LENS_MAX 16

typedef struct
{
  WsLensModel model;
  guint width, height;                          /* px, of the pictures it holds for */
  double parameters[WS_LENS_MAX];               /* as many as the model has */
  double covariance[WS_LENS_MAX * WS_LENS_MAX]; /* row-major, n x n packed in the first n * n */
  double residual_px; /* RMS distance of the calibration's points from the model: what
                         distortion it leaves over */
} WsLens;

/* Picture to ideal picture and back, px.  NAN where the model has no answer. */
WsPoint ws_lens_to_ideal (const WsLens *lens, WsPoint picture);
WsPoint ws_lens_to_picture (const WsLens *lens, WsPoint ideal);

/* Scale of the ideal picture, and its standard uncertainty by the covariance. */
double ws_lens_mm_per_px (const WsLens *lens);
double ws_lens_u_mm_per_px (const WsLens *lens);

/* Distance of the pinhole from the measuring plane along the line of sight, mm; INFINITY for
 * a telecentric lens.  `foot` (optional): the ideal picture's point straight below the
 * pinhole, where depth causes no shift; NAN for a telecentric lens. */
double ws_lens_distance_mm (const WsLens *lens, WsPoint *foot);

/* What a measurement knows of the camera. */
typedef struct
{
  gboolean has_scale;     /* FALSE: lengths stay in px */
  double mm_per_px;       /* > 0 when has_scale */
  double u_mm_per_px;     /* standard uncertainty, >= 0 */
  const WsLens *lens;     /* NULL without a calibration; borrowed */
  double known_mm;        /* > 0: a size of the tool itself, measured otherwise, that the scale
                             follows from; 0 when it doesn't */
  double u_known_mm;      /* standard uncertainty, >= 0 */
  gboolean is_unchecked;  /* a check of its calibration is due: nothing is judged by it */
  gboolean is_doubted;    /* its calibration failed its last check: nothing is judged by it */
  double lens_distortion; /* without a calibration: how far at most the lens shifts the picture's
                             corner, as a share of its distance from the middle; 0: nobody knows */
  double lean_max;        /* by which tools lie out of the measuring plane at most, rad; 0: nobody
                             knows */
  gboolean has_fixture;   /* tools lie in a fixture whose direction is known */
  double fixture;         /* of their bodies, rad from the picture's rows, counter-clockwise, modulo
                             half a turn */
  double u_fixture;       /* its standard uncertainty */
} WsOptics;

#define WS_OPTICS_UNKNOWN                                                                          \
  {                                                                                                \
    .has_scale = FALSE, .mm_per_px = 1.0                                                           \
  }

/* Of a calibrated camera; `lens` is borrowed. */
WsOptics ws_optics_of_lens (const WsLens *lens);

G_END_DECLS

#endif
