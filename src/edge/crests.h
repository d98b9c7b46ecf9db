/*
 * Edges of all that lies in a picture, not of the tool alone: where light changes fastest.
 *
 * The picture is smoothed, and along each row or column, whichever is nearer to the edge's normal,
 * the greatest change is put between pixels by a parabola through its logarithm, which is exact for
 * a blurred step (after Devernay, INRIA RR-2724, 1995, who takes the change itself).  Straight
 * edges are found without bias whatever their blur, so that two pictures of unlike sharpness agree.
 */
#ifndef WS_EDGE_CRESTS_H
#define WS_EDGE_CRESTS_H

#include <whetsight/image.h>

#include "edge/outline.h"

G_BEGIN_DECLS

/* The smoothing, px. */
#define WS_CRESTS_SMOOTHING 1.2

/* Of WsEdgePoint, with place and normal toward the light: every edge whose light changes by more
 * than `least` a px, of full scale, and that is at least `shortest` points long, so that dust is
 * none.  Free with g_array_unref(). */
GArray *wsi_crests_find (const WsImage *image, double least, guint shortest);

G_END_DECLS

#endif
