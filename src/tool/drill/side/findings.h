/*
 * What a drill's quantities say of it.
 */
#ifndef WS_TOOL_DRILL_SIDE_FINDINGS_H
#define WS_TOOL_DRILL_SIDE_FINDINGS_H

#include "tool/drill/side/facts.h"

G_BEGIN_DECLS

void wsi_drill_add_findings (const WsDrillFacts *drill);

G_END_DECLS

#endif
