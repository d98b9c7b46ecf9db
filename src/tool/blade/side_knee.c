#include "tool/blade/side_knee.h"

#include "edge/runs.h"

#include <math.h>

/* Left out beside the corners. */
#define BESIDE_BLURS 3.0
#define BESIDE_PX 4.0

/* Either part is no shorter, px, nor than this part of the front. */
#define SHORTEST_PX 20.0
#define SHORTEST_SHARE 0.05

/* Both parts are straight, RMS, px, as ground edges are. */
#define STRAIGHT_PX 0.1

/* Two lines leave no more than this part of what a bow leaves, and take away so many times what
 * noise makes of as many neighbours as are alike.  Own choice. */
#define MOST_LEFT 0.7
#define STANDS_OUT 100.0

/* The two lines' joint lies off either's middle as far along the walk as wheels leave a fillet. */
#define FILLET_BLURS 3.0
#define FILLET_PX 2.0

static guint
trim_of (const WsOutline *outline)
{
  return (guint)ceil ((BESIDE_BLURS * outline->blur_px + BESIDE_PX) / outline->spacing_px);
}

gboolean
wsi_side_knee_find (const WsBlade *blade, const WsSideLayout *layout, guint *at)
{
  const WsOutline *outline = blade->outline;
  const WsEdgePoint *points = wsi_blade_points (blade);
  const guint trim = trim_of (outline);
  const guint from = wsi_blade_begin (blade, (guint)layout->front) + trim,
              to = wsi_blade_end (blade, (guint)layout->front);
  guint n = to > from + trim ? to - trim - from : 0;
  const guint part = (guint)ceil (MAX (SHORTEST_PX / outline->spacing_px, SHORTEST_SHARE * n));
  if (n < 2 * part)
    return FALSE;
  g_autofree WsRunSums *sums = wsi_runs_new (points + from, n, 1, &n);
  double least = HUGE_VAL;
  guint best = 0;
  for (guint i = part; i + part <= n; i++)
  {
    const double both = wsi_runs_misfit (sums, 0, i) + wsi_runs_misfit (sums, i, n);
    if (both < least)
    {
      least = both;
      best = i;
    }
  }
  const double bow = wsi_runs_bow_misfit (points + from, n);
  *at = from + best;
  return least <= MOST_LEFT * bow && bow - least >= STANDS_OUT * least / n &&
         wsi_runs_misfit (sums, 0, best) <= STRAIGHT_PX * STRAIGHT_PX * best &&
         wsi_runs_misfit (sums, best, n) <= STRAIGHT_PX * STRAIGHT_PX * (n - best);
}

void
wsi_side_knee_part (const WsBlade *blade, guint at, WsSideLayout *layout)
{
  const guint front = (guint)layout->front, n = blade->n_edges - 1;
  const double fillet = FILLET_BLURS * blade->outline->blur_px + FILLET_PX;
  const guint beside = (guint)ceil (fillet / blade->outline->spacing_px);
  const gboolean front_first = layout->top < layout->front;
  for (guint k = 0, from = 0; k <= n; k++)
    layout->joints[k] = k == front ? (WsBladeJoint){ TRUE, at - MIN (at, beside), at + beside }
                                   : blade->joints[from++];
  layout->n_joints = n + 1;
  gint *const edges[] = { &layout->rear, &layout->top, &layout->base };
  for (gsize i = 0; i < G_N_ELEMENTS (edges); i++)
    if (*edges[i] > (gint)front)
      ++*edges[i];
  layout->heel = (gint)(front_first ? front + 1 : front);
  layout->front = (gint)(front_first ? front : front + 1);
  layout->tip = (guint)MIN (layout->top, layout->front);
  layout->foot = layout->base == WS_SIDE_NONE ? WS_SIDE_NONE : MIN (layout->heel, layout->base);
}
