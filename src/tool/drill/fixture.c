#include "tool/drill/fixture.h"

#include "base/geometry.h"

#include <math.h>

/* Width is told in steps of so many px from the tip on. */
#define STEP_PX 4.0

/* It is compared with the greatest one more than so many steps nearer to the tip. */
#define STEPS_APART 3

/* A fixture is so much wider than the tool, and begins so many widths from the tip, beyond any
 * point: one of 70 degrees has 0.7 widths; own choice. */
#define WIDER 1.4
#define LEAST_DEPTH 0.7

/* What blur and shadow at the fixture's edge spoil, in widths, and at least px. */
#define CLEAR_SHARE 0.03
#define CLEAR_PX 6.0

/* Fewer points on a side are a corner that just reaches it. */
#define MIN_TOUCHING 4

static WsEdgePoint *
point_at (const WsOutline *outline, guint i)
{
  return &g_array_index (outline->points, WsEdgePoint, i);
}

/* The way the tool points, a unit vector along rows or columns; (0, 0) when the outline doesn't
 * leave the picture as above. */
static WsPoint
pointing (const WsOutline *outline)
{
  guint left = 0, right = 0, top = 0, bottom = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = point_at (outline, i);
    if (!p->on_frame)
      continue;
    left += (double)p->nx < -0.7;
    right += (double)p->nx > 0.7;
    top += (double)p->ny < -0.7;
    bottom += (double)p->ny > 0.7;
  }
  const gboolean across = left >= MIN_TOUCHING && right >= MIN_TOUCHING;
  const gboolean along = top >= MIN_TOUCHING && bottom >= MIN_TOUCHING;
  if (across && !along && top != bottom && MIN (top, bottom) < MIN_TOUCHING)
    return wsi_point (0, bottom > top ? -1 : 1);
  if (along && !across && left != right && MIN (left, right) < MIN_TOUCHING)
    return wsi_point (right > left ? -1 : 1, 0);
  return wsi_point (0, 0);
}

static double
depth_of (const WsEdgePoint *p, WsPoint toward)
{
  return -(p->x * toward.x + p->y * toward.y);
}

static double
place_across (const WsEdgePoint *p, WsPoint toward)
{
  return fabs (toward.x) > 0.5 ? p->y : p->x;
}

typedef struct
{
  double low, high; /* across */
} Extent;

/* Extents in steps from the tip's depth on. */
static GArray *
read_extents (const WsOutline *outline, WsPoint toward, double tip)
{
  GArray *extents = g_array_new (FALSE, FALSE, sizeof (Extent));
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = point_at (outline, i);
    if (p->on_frame)
      continue;
    const guint step = (guint)((depth_of (p, toward) - tip) / STEP_PX);
    const Extent none = { HUGE_VAL, -HUGE_VAL };
    while (extents->len <= step)
      g_array_append_val (extents, none);
    Extent *extent = &g_array_index (extents, Extent, step);
    const double u = place_across (p, toward);
    extent->low = MIN (extent->low, u);
    extent->high = MAX (extent->high, u);
  }
  return extents;
}

/* Depth from the tip at which the outline gets wide at once, and how far the tool reaches across
 * there; 0 when it doesn't. */
static double
find_widening (const GArray *extents, Extent *tool)
{
  *tool = (Extent){ HUGE_VAL, -HUGE_VAL };
  for (guint i = STEPS_APART; i < extents->len; i++)
  {
    const Extent before = g_array_index (extents, Extent, i - STEPS_APART);
    *tool = (Extent){ MIN (tool->low, before.low), MAX (tool->high, before.high) };
    const double width = tool->high - tool->low;
    const Extent here = g_array_index (extents, Extent, i);
    /* A cone's width goes with the depth at which a step ends. */
    const double cone = width * (i + 1) / (i + 1 - STEPS_APART);
    if (i * STEP_PX > LEAST_DEPTH * width && here.high - here.low > WIDER * cone)
      return i * STEP_PX;
  }
  return 0;
}

/* Deeper than `last` the outline is border where the tool goes on, and nothing beside it. */
static void
cut_from (WsOutline *outline, WsPoint toward, double last, const Extent *tool)
{
  guint kept = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    WsEdgePoint p = *point_at (outline, i);
    if (depth_of (&p, toward) > last)
    {
      const double u = place_across (&p, toward);
      if (u < tool->low || u > tool->high)
        continue;
      p.on_frame = TRUE;
      p.after_gap = FALSE;
    }
    *point_at (outline, kept++) = p;
  }
  g_array_set_size (outline->points, kept);
}

gboolean
wsi_fixture_cut (WsOutline *outline)
{
  const WsPoint toward = pointing (outline);
  if (fabs (toward.x) + fabs (toward.y) < 0.5)
    return FALSE;
  double tip = HUGE_VAL;
  for (guint i = 0; i < outline->points->len; i++)
    if (!point_at (outline, i)->on_frame)
      tip = MIN (tip, depth_of (point_at (outline, i), toward));
  g_autoptr (GArray) extents = read_extents (outline, toward, tip);
  Extent tool;
  const double widening = find_widening (extents, &tool);
  if (!(widening > 0))
    return FALSE;
  cut_from (outline, toward, tip + widening - MAX (CLEAR_SHARE * (tool.high - tool.low), CLEAR_PX),
            &tool);
  return TRUE;
}
