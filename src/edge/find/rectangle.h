/*
 * Things that are no tool: colour cards, rules, pins.
 */
#ifndef WS_EDGE_FIND_RECTANGLE_H
#define WS_EDGE_FIND_RECTANGLE_H

#include "edge/find/things.h"

G_BEGIN_DECLS

/* A full rectangle, turned any way: all of it, with its four corners. */
gboolean wsi_things_is_rectangle (const WsThings *things, guint label);

G_END_DECLS

#endif
