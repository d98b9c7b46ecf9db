/*
 * What a turning tool off centre height does to its angles.
 */
#ifndef WS_TOOL_CENTRE_HEIGHT_H
#define WS_TOOL_CENTRE_HEIGHT_H

#include <glib.h>

G_BEGIN_DECLS

/*
 * The turn d = asin (2 h / D), rad, of the cutting direction at the edge of a tool that stands h
 * above centre on work of diameter D (turning outside; below centre h < 0): the effective rake
 * is greater by d, the effective relief less by d.  Plane geometry: the edge lies on the work's
 * surface, the radius to it rises by d.  NAN when the edge misses the work, 2 |h| > D.
 */
double wsi_centre_height_turn (double diameter, double height);

/* Below this diameter a tool h above centre with that relief (rad) only rubs: 2 h / sin (relief);
 * 0 for a tool at or below centre. */
double wsi_centre_height_rubs_below (double height, double relief);

G_END_DECLS

#endif
