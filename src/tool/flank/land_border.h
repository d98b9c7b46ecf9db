/*
 * Borders that run beside a cutting edge, deeper than a land is looked for or fainter than one is.
 */
#ifndef WS_TOOL_FLANK_LAND_BORDER_H
#define WS_TOOL_FLANK_LAND_BORDER_H

#include "colour/band.h"

G_BEGIN_DECLS

/* Does light change at once along a line beside the edge, or beside an eighth of it, where `width`
 * (NULL, or of each column) has no land end?  The first `from` px are the edge's blur; `band` may
 * be deeper than the land's own.  What lies before such a border may be a land that nobody would
 * take for one, so that nothing is ruled out.  docs/methods/front-lit.md (L113). */
gboolean wsi_land_border_find (const WsBand *band, const guint8 *hidden, const double *width,
                               guint from);

G_END_DECLS

#endif
