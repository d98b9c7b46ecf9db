/*
 * What to grind when a drill's flanks are wrong: of all views that tell them.
 */
#ifndef WS_TOOL_DRILL_FLANK_ADVICE_H
#define WS_TOOL_DRILL_FLANK_ADVICE_H

#include <whetsight/result.h>

G_BEGIN_DECLS

/* By the quantity of that stem; FALSE, and nothing, unless it is rejected. */
gboolean wsi_drill_advise_relief (WsResult *result, const char *stem);

void wsi_drill_advise_chisel (WsResult *result);

G_END_DECLS

#endif
