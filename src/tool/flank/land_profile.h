/*
 * Light along the depth of a flank: what in it is no land.  A profile is light's logarithm less the
 * flank's own, a px of depth each.
 */
#ifndef WS_TOOL_FLANK_LAND_PROFILE_H
#define WS_TOOL_FLANK_LAND_PROFILE_H

#include <glib.h>

G_BEGIN_DECLS

/* How much light changes from place to place in the deeper two thirds of `n` px, as a standard
 * deviation.  Shading goes on evenly and leaves differences alike; streaks along the edge, and
 * bands that a sensor writes, don't. */
double wsi_land_unevenness (const double *profile, guint n);

/* Greatest fall of a profile whose step is 1, in its upper third; the first `edge` px don't count.
 */
double wsi_land_steepest (const double *profile, guint edge, guint n);

G_END_DECLS

#endif
