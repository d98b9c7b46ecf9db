/*
 * A front ground with two reliefs, whose knee is too slight for the cut into straight stretches
 * (side_layout.h) to see.
 */
#ifndef WS_TOOL_BLADE_SIDE_KNEE_H
#define WS_TOOL_BLADE_SIDE_KNEE_H

#include "tool/blade/side_layout.h"

G_BEGIN_DECLS

/* Sets the point of the walk where two straight lines explain the front better than one line, or
 * one bow, does.  FALSE where none does. */
gboolean wsi_side_knee_find (const WsBlade *blade, const WsSideLayout *layout, guint *at);

/* The layout with the front parted there, of a blade with fewer than WS_BLADE_MAX_EDGES. */
void wsi_side_knee_part (const WsBlade *blade, guint at, WsSideLayout *layout);

G_END_DECLS

#endif
