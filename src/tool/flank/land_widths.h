/*
 * A land's width in each column of a flank, px; NAN where it can't be seen.
 */
#ifndef WS_TOOL_FLANK_LAND_WIDTHS_H
#define WS_TOOL_FLANK_LAND_WIDTHS_H

#include <glib.h>

G_BEGIN_DECLS

/* Running median: single streaks of grinding are not the land's end. */
void wsi_land_widths_smooth (double *width, guint n);

/* At its corners the tool's own end is taken for the land's: forgets the columns there, `reach`
 * from either end, that are much wider than those beside them. */
void wsi_land_widths_forget_ends (double *width, guint n, guint reach);

/* Are there columns side by side of which no end of the land is found, though their flank is seen:
 * a notch that is deeper than all that is looked at? */
gboolean wsi_land_widths_lost (const double *width, const double *flank, guint n);

/* Standard deviation among columns that are seen. */
double wsi_land_widths_spread (const double *width, guint n);

G_END_DECLS

#endif
