/*
 * What an outline must show to be measured as a blade.
 */
#ifndef WS_TOOL_BLADE_GATES_H
#define WS_TOOL_BLADE_GATES_H

#include <whetsight/retake.h>

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Sets both and returns FALSE. */
gboolean ws_blade_refuse (WsRetake *reason, WsRetake why, char detail[96], const char *text);

/* Each edge straight and clean; none far less sharp than the others; and that these three are a
 * blade. */
gboolean ws_blade_gate_edges (const WsBlade *blade, WsRetake *reason, char detail[96]);
gboolean ws_blade_gate_sharp (const WsBlade *blade, WsRetake *reason, char detail[96]);
gboolean ws_blade_gate_whole (const WsBlade *blade, WsRetake *reason, char detail[96]);

G_END_DECLS

#endif
