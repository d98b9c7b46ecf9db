/* Which edges a blade has, seen from the side. */
#include "tool/blade/blade.h"
#include "tool/blade/blade_side.h"
#include "tool/blade/side_knee.h"

/* A stretch beside the tip, clear of its rounding, of so many px that isn't one line with the rest
 * of top or front may be ground there: too short to be told from it by its own line.  Own choice.
 */
#define MAX_STRAY_PX 10.0

/* Of a front less is told by how far off they are together, px^2: an arc's ends lie within noise.
 */
#define MAX_STRAY_AREA 0.6

/* Points beside the tip that an edge's line leaves out, in px along it, and how far inside of it
 * they are together, px^2; < 0 for what stands proud: a wire edge, or dirt. */
typedef struct
{
  double length, area;
} Stray;

static Stray
stray_at (const WsBlade *blade, guint edge, guint tip)
{
  const WsBladeEdge *e = &blade->edges[edge];
  const WsPoint *points = (const WsPoint *)(void *)e->points->data;
  const guint n = e->points->len;
  Stray stray = { 0, 0 };
  for (guint k = 0; k < n; k++)
  {
    const guint i = edge == tip ? n - 1 - k : k;
    if (e->used[i])
      break;
    stray.length += blade->outline->spacing_px;
    stray.area += wsi_line_distance (&e->line, points[i]) * blade->outline->spacing_px;
  }
  return stray;
}

/* The blade as its straight stretches, or the usual search, tell it. */
static WsBlade *
find_blade (const WsOutline *outline, WsSideLayout *layout, WsRefusal *refusal)
{
  g_autoptr (WsBlade) blade = wsi_blade_walk (outline, WS_BLADE_HOLLOW, refusal);
  if (blade == NULL)
    return NULL;
  if (wsi_side_layout_find (blade, layout))
    return wsi_blade_fit (blade, layout->joints, layout->n_joints, refusal)
             ? g_steal_pointer (&blade)
             : NULL;
  g_autoptr (WsBlade) usual = wsi_blade_locate (outline, WS_BLADE_HOLLOW, refusal);
  if (usual == NULL)
    return NULL;
  *layout = wsi_side_layout_usual (usual);
  const Stray stray = stray_at (usual, (guint)layout->top, layout->tip);
  if (stray.length <= MAX_STRAY_PX || stray.area < 0)
    return g_steal_pointer (&usual);
  wsi_refusal_set (refusal, WS_RETAKE_DIRTY_EDGE,
                   "just behind the edge the top is off its line: ground there, or damaged");
  return NULL;
}

WsBlade *
wsi_blade_side_find (const WsOutline *outline, WsSideLayout *layout, WsRefusal *refusal)
{
  g_autoptr (WsBlade) blade = find_blade (outline, layout, refusal);
  guint knee;
  if (blade == NULL || layout->heel != WS_SIDE_NONE)
    return g_steal_pointer (&blade);
  if (!wsi_side_knee_find (blade, layout, &knee))
  {
    if (stray_at (blade, (guint)layout->front, layout->tip).area < MAX_STRAY_AREA)
      return g_steal_pointer (&blade);
    wsi_refusal_set (refusal, WS_RETAKE_DIRTY_EDGE,
                     "just below the edge the front is off its line: another relief, or damaged");
    return NULL;
  }
  g_autoptr (WsBlade) parted = wsi_blade_walk (outline, WS_BLADE_HOLLOW, refusal);
  wsi_side_knee_part (blade, knee, layout);
  if (parted != NULL && wsi_blade_fit (parted, layout->joints, layout->n_joints, refusal))
    return g_steal_pointer (&parted);
  *refusal = (WsRefusal){ 0 };
  wsi_refusal_set (refusal, WS_RETAKE_TOO_SMALL,
                   "the first of the front's two reliefs is too short in the picture");
  return NULL;
}
