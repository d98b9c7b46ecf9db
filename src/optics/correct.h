/*
 * What a calibration does to an outline.
 */
#ifndef WS_OPTICS_CORRECT_H
#define WS_OPTICS_CORRECT_H

#include <whetsight/optics.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* Moves every point outward by the edge shift, then to the ideal picture, with its normal;
 * nothing without a lens.  Points that the lens has no answer for become `on_frame`. */
void wsi_optics_correct (const WsOptics *optics, WsOutline *outline);

G_END_DECLS

#endif
