/*
 * The axis of a two-flute body from the mirror symmetry of its outline.
 *
 * A body that maps onto itself when turned half a turn about its axis has, in
 * parallel projection, an outline that is mirror-symmetric about the axis in every
 * position: (x, y, z) in the body implies (-x, -y, z).  The mid-points between left
 * and right outline at equal height therefore lie on the axis, however scalloped
 * the sides are.
 */
#ifndef WS_EDGE_MIRROR_H
#define WS_EDGE_MIRROR_H

#include "edge/axis.h"
#include "edge/outline.h"

G_BEGIN_DECLS

typedef struct
{
  WsAxis axis;
  double u_angle;       /* standard uncertainty, rad */
  double u_offset;      /* of the axis across, at `pivot_z`, px */
  double pivot_z;       /* where angle and offset are uncorrelated, in the tool frame */
  double rms_px;        /* of the mid-points about the axis */
  double length_px;     /* length of body used */
  double z_low, z_high; /* its ends in the tool frame */
  double kept;          /* share of heights that agree with one axis, 0 .. 1 */

  /* What an axis that heeds all heights makes of it: how far it lies from this one, rad and px at
   * `pivot_z`, and the RMS of the mid-points about it. */
  double pull_angle, pull_offset, spread_px;
} WsMirror;

/*
 * Improves `start` from the outline between z_low and z_high of its frame (the range is
 * carried along with the frame); neighbouring points lie up to `spacing` px apart.  FALSE when
 * there are too few heights seen on both sides or no convergence.
 */
gboolean wsi_mirror_fit (const WsEdgePoint *points, guint n, const WsAxis *start, double z_low,
                         double z_high, double spacing, WsMirror *mirror);

/* How far the outline is from being symmetric about `axis` in that range: the median distance
 * of mid-points from their median, px; HUGE_VAL when it can't be told.  Points may be a thinned
 * outline: neighbours up to `spacing` px apart. */
double wsi_mirror_defect (const WsEdgePoint *points, guint n, const WsAxis *axis, double z_low,
                          double z_high, double spacing);

G_END_DECLS

#endif
