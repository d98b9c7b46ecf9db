/*
 * What a calibration's uncertainty does to points.
 */
#ifndef WS_OPTICS_DEVIATE_H
#define WS_OPTICS_DEVIATE_H

#include <whetsight/optics.h>

G_BEGIN_DECLS

/* Lenses that each differ from `lens` by one column of a square root of its covariance: a
 * quantity's variance by the calibration is the sum of squares of what these change in it.
 * Returns how many there are (parameters that are known exactly need none). */
guint wsi_lens_deviations (const WsLens *lens, WsLens deviations[WS_LENS_MAX]);

/* A lens whose radial distortion differs by what the calibration leaves over: over the picture the
 * RMS shift is lens->residual_px.  Noise of the calibration's points is in that as well, so it
 * states rather too much than too little. */
WsLens wsi_lens_left_over (const WsLens *lens);

/* Where a point of the ideal picture of `lens` would have come out with `other`, in px of the
 * former's scale: a change of scale moves points too. */
WsPoint wsi_lens_deviate (const WsLens *lens, const WsLens *other, WsPoint ideal);

G_END_DECLS

#endif
