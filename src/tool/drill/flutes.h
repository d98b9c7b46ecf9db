/*
 * Flutes: what a drill's silhouette shows and a turned rod's doesn't.
 */
#ifndef WS_TOOL_DRILL_FLUTES_H
#define WS_TOOL_DRILL_FLUTES_H

#include "tool/drill/point.h"

G_BEGIN_DECLS

/* Behind the margins a drill's outline falls away into its flutes, FALSE where the body stays
 * as wide as its envelope as far as it is seen. */
gboolean wsi_drill_shows_flutes (const WsDrillPoint *point);

G_END_DECLS

#endif
