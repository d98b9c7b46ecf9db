/*
 * Which straight edge of a blade seen from the side is what, where it isn't the usual top, front
 * and base: a top ground behind the edge that steps up to the blade's own, and a base outside the
 * picture.  docs/methods/blade.md, "Finding the edges".
 */
#ifndef WS_TOOL_BLADE_SIDE_LAYOUT_H
#define WS_TOOL_BLADE_SIDE_LAYOUT_H

#include "tool/blade/shape.h"

G_BEGIN_DECLS

/* Not in the picture. */
#define WS_SIDE_NONE (-1)

/* Numbers of edges and joints in the order of the walk. */
typedef struct
{
  WsBladeJoint joints[WS_BLADE_MAX_EDGES - 1];
  guint n_joints;
  gint rear;  /* the top as the blade came, behind what is ground at the edge */
  gint top;   /* at the edge */
  gint front; /* below the edge */
  gint heel;  /* below that, where the front is ground with two reliefs */
  gint base;
  guint tip;           /* joint of top and front */
  gint foot;           /* joint of front, or heel, and base */
  gboolean has_knee;   /* without a base: the step may be that of a front with two reliefs */
  gboolean is_one_top; /* no step is seen: `rear` and `top` are parts of one straight edge */
} WsSideLayout;

/* FALSE when the walk isn't of one of these layouts: then it may be of the usual one. */
gboolean wsi_side_layout_find (const WsBlade *walk, WsSideLayout *layout);

static inline gboolean
wsi_side_layout_has_base (const WsSideLayout *layout)
{
  return layout->base != WS_SIDE_NONE;
}

/* The usual one: three edges, the tip being the sharper corner. */
WsSideLayout wsi_side_layout_usual (const WsBlade *blade);

G_END_DECLS

#endif
