/*
 * A drill that lies in a V-block or a clamp: what of the outline is the fixture's.
 */
#ifndef WS_TOOL_DRILL_FIXTURE_H
#define WS_TOOL_DRILL_FIXTURE_H

#include "edge/outline.h"

G_BEGIN_DECLS

/*
 * When the outline leaves the picture on opposite sides, and on one side between them, a tool that
 * points away from that side is taken to stand out of a fixture where it suddenly gets wide.  From
 * there on the outline counts as the picture's border.  FALSE when nothing was cut.
 */
gboolean wsi_fixture_cut (WsOutline *outline);

G_END_DECLS

#endif
