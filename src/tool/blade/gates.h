/*
 * What an outline must show to be measured as a blade.
 */
#ifndef WS_TOOL_BLADE_GATES_H
#define WS_TOOL_BLADE_GATES_H

#include "base/refusal.h"
#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Each edge straight and clean; none far less sharp than the others; and that these three are a
 * blade. */
gboolean wsi_blade_gate_edges (const WsBlade *blade, WsRefusal *refusal);
gboolean wsi_blade_gate_sharp (const WsBlade *blade, WsRefusal *refusal);
gboolean wsi_blade_gate_whole (const WsBlade *blade, WsRefusal *refusal);

G_END_DECLS

#endif
