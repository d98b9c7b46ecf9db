/*
 * What a lens that nobody calibrated may do to points.
 */
#ifndef WS_OPTICS_UNKNOWN_LENS_H
#define WS_OPTICS_UNKNOWN_LENS_H

#include <whetsight/optics.h>

G_BEGIN_DECLS

/*
 * The distortion that is allowed for where neither a calibration nor WsOptics.lens_distortion tells
 * it: 0.3 % in the picture's corner.  Lenses of normal and longer focal length, as pictures for
 * measuring are taken with, keep to that; wide ones don't (common practice, no source).
 */
#define WS_UNKNOWN_DISTORTION 0.003

/* As told, else that; a share of the corner's distance from the middle. */
double wsi_unknown_lens_distortion (const WsOptics *optics);

/* A lens without distortion for pictures of that size, of which the radial term alone is uncertain:
 * anything up to the distortion, either way, is as likely. */
WsLens wsi_unknown_lens (const WsOptics *optics, guint width, guint height);

/* How far it may bow a straight edge between two places of such a picture, px: its middle against
 * its ends. */
double wsi_unknown_lens_bow (const WsLens *unknown, WsPoint from, WsPoint to);

G_END_DECLS

#endif
