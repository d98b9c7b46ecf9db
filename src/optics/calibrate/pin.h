/*
 * A gauge pin in silhouette, seen from the side.
 *
 * In parallel light the silhouette of a cylinder is as wide as the cylinder.  For a pinhole at
 * distance z from its axis the lines of sight touch it before its middle, and in the plane of
 * the axis it looks D / sqrt (1 - (D / 2z)^2) wide; wsi_pin_diameter_mm() takes that back.
 * docs/methods/calibration.md, (C1) to (C4).
 */
#ifndef WS_OPTICS_CALIBRATE_PIN_H
#define WS_OPTICS_CALIBRATE_PIN_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/retake.h>

G_BEGIN_DECLS

/* Places along a side that are kept, enough to average a lens' bend over it. */
#define WS_PIN_SAMPLES 16

/* Lengths and places are those of the ideal picture when measured through a lens, else of the
 * picture itself. */
typedef struct
{
  WsRetake trouble;    /* WS_RETAKE_NONE, or why it can't be measured */
  char detail[96];     /* what was seen, when trouble */
  double width_px;     /* distance of both sides, fitted as parallels */
  double u_width_px;   /* standard: residuals, correlated along the edge, and the edge's bias */
  WsPoint middle;      /* of the centre line's seen stretch */
  WsPoint direction;   /* unit, along the centre line */
  double length_px;    /* of the stretch */
  double taper_rad;    /* angle between the sides when each has its own */
  double residual_px;  /* RMS distance of the outline from the parallels, damage left out */
  double blur_px;      /* standard deviation of the edge spread */
  gboolean is_clipped; /* the light is at full scale, so that edges bloom */
  WsPoint sides[2][WS_PIN_SAMPLES]; /* along both sides, in the picture as it was taken */
} WsPin;

/* Measures the one pin in the picture, which may enter from any border at any angle, or cross
 * it, and whose end may be seen.  FALSE when pin->trouble says why not. */
gboolean wsi_pin_measure (const WsImage *image, const WsOptics *optics, WsPin *pin);

/* The width that the same sides would have through another lens, px of its ideal picture. */
double wsi_pin_width_through (const WsPin *pin, const WsLens *lens);

/* The pin's diameter, mm; optics->has_scale is a must.  `u_mm`: its standard uncertainty by the
 * picture, the calibration's covariance (or u_mm_per_px without a lens) and by what the
 * calibration's own points left over. */
double wsi_pin_diameter_mm (const WsPin *pin, const WsOptics *optics, double *u_mm);

G_END_DECLS

#endif
