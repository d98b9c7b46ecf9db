/*
 * A ring or a disc seen face-on in silhouette: its borders as circles.
 *
 * A border's diameter is that of the geometric least-squares circle through its outline, at equal
 * steps of the angle, so that the form counts alike all around.  docs/methods/calibration.md, (C5)
 * to (C7).
 */
#ifndef WS_OPTICS_CALIBRATE_RING_H
#define WS_OPTICS_CALIBRATE_RING_H

#include <whetsight/image.h>
#include <whetsight/optics.h>
#include <whetsight/retake.h>

G_BEGIN_DECLS

/* Places around a border that are kept. */
#define WS_RING_SAMPLES 72

/* Lengths and places are those of the ideal picture when measured through a lens, else of the
 * picture itself. */
typedef struct
{
  double diameter_px;
  double u_diameter_px; /* standard: form, noise, the edge's bias */
  WsPoint centre;
  double roundness_px;           /* greatest minus least distance from the centre */
  double residual_px;            /* RMS distance from the circle */
  double left_out;               /* share of the border with dust or damage */
  WsPoint seen[WS_RING_SAMPLES]; /* around the circle, in the picture as it was taken */
  double outward;                /* 1: the dark side is inside (outer border), -1: hole */
} WsRingBorder;

typedef struct
{
  WsRetake trouble; /* WS_RETAKE_NONE, or why it can't be measured */
  char detail[96];  /* what was seen, when trouble */
  WsRingBorder outer;
  gboolean has_hole; /* FALSE: a disc */
  WsRingBorder inner;
  double blur_px;
  gboolean is_clipped; /* the light is at full scale, so that edges bloom */
} WsRing;

/* Measures the one ring or disc in the picture, which must be whole.  FALSE when ring->trouble
 * says why not. */
gboolean wsi_ring_measure (const WsImage *image, const WsOptics *optics, WsRing *ring);

/* The diameter that the same border would have through another lens, px of its ideal picture. */
double wsi_ring_diameter_through (const WsRingBorder *border, const WsLens *lens);

/* The border's diameter, mm; optics->has_scale is a must.  `u_mm` as of a pin. */
double wsi_ring_diameter_mm (const WsRingBorder *border, const WsOptics *optics, double *u_mm);

G_END_DECLS

#endif
