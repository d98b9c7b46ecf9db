/*
 * Light along the depth of a flank: what in it is no land.  A profile is light's logarithm less the
 * flank's own, a px of depth each.
 */
#ifndef WS_TOOL_FLANK_LAND_PROFILE_H
#define WS_TOOL_FLANK_LAND_PROFILE_H

#include <glib.h>

G_BEGIN_DECLS

/* Keeps the logarithm of dark cells from being noise: one code of 8 bits near black. */
#define WS_LAND_DARK 0.003

/* Logarithm of a band's cell's luminance. */
double wsi_land_log_light (const float *cell);

/* How much light changes from place to place in the deeper two thirds of `n` px, as a standard
 * deviation.  Shading goes on evenly and leaves differences alike; streaks along the edge, and
 * bands that a sensor writes, don't. */
double wsi_land_unevenness (const double *profile, guint n);

/* Greatest fall of a profile whose step is 1, in its upper third; the first `edge` px don't count.
 */
double wsi_land_steepest (const double *profile, guint edge, guint n);

/* First place from `from` on that is lower than `level`, and the next too; `n` without one. */
guint wsi_land_first_below (const double *height, guint from, guint n, double level);

/* Robust spread of a land's own light, its blurred ends left out. */
double wsi_land_spread (const double *profile, guint edge, guint w);

G_END_DECLS

#endif
