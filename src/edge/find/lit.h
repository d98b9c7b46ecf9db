/*
 * Is a tool lit from the front, or a silhouette before a light panel?
 */
#ifndef WS_EDGE_FIND_LIT_H
#define WS_EDGE_FIND_LIT_H

#include <glib.h>

G_BEGIN_DECLS

/* By the light of tool and ground, linear: the tool's own is no small part of the ground's, or
 * more. */
gboolean wsi_is_front_lit (double tool_level, double ground_level);

G_END_DECLS

#endif
