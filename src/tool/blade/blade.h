/*
 * Finding a cutoff blade in an outline.  Mostly it has two long edges with the front between; a
 * side view may lack one of them or have a top in two parts (side_layout.h).
 */
#ifndef WS_TOOL_BLADE_BLADE_H
#define WS_TOOL_BLADE_BLADE_H

#include "base/refusal.h"
#include "tool/blade/shape.h"

G_BEGIN_DECLS

/*
 * Two long edges and the front between them, none bowed by more than WS_BLADE_STRAIGHT or _HOLLOW.
 * NULL with the reason when the outline is not a measurable blade.  Free with wsi_blade_free().
 */
WsBlade *wsi_blade_locate (const WsOutline *outline, double most_bow, WsRefusal *refusal);

/* The walk alone, for a blade of unusual layout.  NULL as above. */
WsBlade *wsi_blade_walk (const WsOutline *outline, double most_bow, WsRefusal *refusal);

/* Its edges: one more than there are joints, whose places are known roughly.  Each must be
 * straight, clean and sharp; whether they make a blade is for the caller to say. */
gboolean wsi_blade_fit (WsBlade *blade, const WsBladeJoint *joints, guint n_joints,
                        WsRefusal *refusal);

void wsi_blade_free (WsBlade *blade);

G_DEFINE_AUTOPTR_CLEANUP_FUNC (WsBlade, wsi_blade_free)

G_END_DECLS

#endif
