/*
 * Which of the things on a ground is the tool.
 */
#ifndef WS_EDGE_FIND_WHICH_TOOL_H
#define WS_EDGE_FIND_WHICH_TOOL_H

#include <whetsight/retake.h>

#include "edge/find/things.h"

G_BEGIN_DECLS

/*
 * The number of the thing that is the tool: the one that comes in from the picture's border, or,
 * where none does, the only one.  What lies wholly inside the picture beside it is no second tool
 * when it is a rectangle: a colour or grey card, a rule, a pin; nor is a slice of a smaller
 * neighbour that the border cuts off.  A thing that is whole is the tool when only such slices are
 * beside it.  0 with the reason, and in
 * `detail` (96 bytes) what was seen, when there is no telling.
 */
guint wsi_things_tool (const WsThings *things, WsRetake *reason, char detail[96]);

/* Median change of lightness within three cells across the thing's border, over the median of how
 * far apart it is. */
double wsi_things_sharpness (const WsThings *things, guint label);

/* Whether `other` is such a slice beside `tool`, on a picture of width x height cells. */
gboolean wsi_is_cut_neighbour (const WsPatch *other, const WsPatch *tool, guint width,
                               guint height);

G_END_DECLS

#endif
