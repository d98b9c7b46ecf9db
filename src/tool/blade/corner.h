/*
 * A blade's corners: where two edges meet, and how round they are.
 */
#ifndef WS_TOOL_BLADE_CORNER_H
#define WS_TOOL_BLADE_CORNER_H

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Puts corner k where its edges' lines meet, and finds its gap and what it spoils.  FALSE when
 * they make no corner of a blade. */
gboolean wsi_blade_corner_place (WsBlade *blade, guint k);

/*
 * How far the half-level outline of a corner with this interior angle, rounded to `radius` and
 * blurred by `blur`, stays from where its lines meet, along the bisector; px.
 */
double wsi_blade_corner_gap (double interior, double radius, double blur);

/* The radius that has the gap; 0 when a sharp corner's is greater already. */
double wsi_blade_corner_radius (double interior, double gap, double blur);

/* How far the outline is off an arc of `radius` that touches both edges, at most, between where
 * they end; px.  Blurred, an arc's outline lies up to blur^2 / (2 radius) inside. */
double wsi_blade_corner_off_arc (const WsBlade *blade, const WsBladeCorner *corner, double radius);

/* Standard deviation of a corner's radius when its gap has `u_gap`, px. */
double wsi_blade_corner_spread (const WsBladeCorner *corner, double blur, double u_gap);

G_END_DECLS

#endif
