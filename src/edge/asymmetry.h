/*
 * What makes a two-flute body's outline asymmetric about its axis: a skewed picture, a lean of the
 * axis toward the camera, a near camera.
 */
#ifndef WS_EDGE_ASYMMETRY_H
#define WS_EDGE_ASYMMETRY_H

#include "edge/mirror.h"

G_BEGIN_DECLS

/* With q half the distance between both sides at the height z and q' its slope, the mid-points of a
 * skewed body lie by q q' off its axis, those of a leaning one by q'^2, those of one seen from near
 * by q'^2 z as well. */
typedef enum
{
  WS_ASYMMETRY_SKEW, /* of q q' */
  WS_ASYMMETRY_LEAN, /* of q'^2, px */
  WS_ASYMMETRY_NEAR, /* of q'^2 (z - the body's middle) */
  WS_N_ASYMMETRIES
} WsAsymmetryTerm;

typedef struct
{
  double term[WS_N_ASYMMETRIES];
  double covariance[WS_N_ASYMMETRIES][WS_N_ASYMMETRIES];
  double left_px; /* RMS of the mid-points that this leaves */
} WsAsymmetry;

/* About the axis of `mirror`, fitted to the same outline.  `terms`: a bit each (1 <<
 * WsAsymmetryTerm); the others are held at 0.  FALSE when the outline doesn't tell. */
gboolean wsi_asymmetry_fit (const WsEdgePoint *points, guint n, const WsMirror *mirror,
                            double spacing, guint terms, WsAsymmetry *found);

/* Moves the outline's points so that the body is symmetric again; what lies beyond the body stays.
 */
void wsi_asymmetry_undo (WsEdgePoint *points, guint n, const WsMirror *mirror, double spacing,
                         const WsAsymmetry *found);

G_END_DECLS

#endif
