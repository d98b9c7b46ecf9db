#include "tool/drill/relief/faces.h"

#include "base/geometry.h"
#include "tool/flank/drawn.h"
#include "tool/flank/strip.h"

/* The margin below the edge, so many px deep. */
#define GRAIN_FROM 3
#define GRAIN_TO 10

gboolean
wsi_relief_has_grain (const WsImage *image, const WsOptics *optics, const WsReliefEdge *edge)
{
  WsDrawn drawn = { 0 };
  for (guint i = 0; i < edge->points->len; i++)
    for (gint d = GRAIN_FROM; d <= GRAIN_TO; d++)
    {
      const WsPoint p = g_array_index (edge->points, WsPoint, i);
      const WsPoint at =
        wsi_strip_picture (optics, wsi_point_along (wsi_point_along (edge->corner, p.x, edge->away),
                                                    p.y + d, edge->down));
      wsi_drawn_look (&drawn, image, at);
    }
  return !wsi_is_drawn (&drawn);
}

/* Flank and margin are faces of light of their own: what the edge's step is close to it, px, is
 * left by this part farther off (rendered drills: 0.9 to 1.2).  A line on one face has no step
 * there. */
#define STEP_NEAR_FROM 2
#define STEP_NEAR_TO 4
#define STEP_FAR_FROM 8
#define STEP_FAR_TO 12
#define LEAST_LEFT 0.5

/* A stretch of the edge, s from `first` to `last`. */
typedef struct
{
  double first, last;
} Stretch;

/* Mean light above the edge less that below it, over their sum. */
static double
step_between (const WsImage *image, const WsOptics *optics, const WsReliefEdge *edge,
              const Stretch *stretch, gint from, gint to)
{
  double light[2] = { 1e-9, 1e-9 };
  for (guint i = 0; i < edge->points->len; i++)
    for (gint d = from; d <= to; d++)
      for (guint side = 0; side < 2; side++)
      {
        const WsPoint p = g_array_index (edge->points, WsPoint, i);
        const double off = side == 0 ? -d : d;
        if (p.x < stretch->first || p.x >= stretch->last)
          continue;
        const WsPoint at = wsi_strip_picture (
          optics,
          wsi_point_along (wsi_point_along (edge->corner, p.x, edge->away), p.y + off, edge->down));
        if (at.x >= 0 && at.y >= 0 && at.x < image->width && at.y < image->height)
          light[side] += image->linear[(gsize)at.y * image->width + (gsize)at.x];
      }
  return (light[0] - light[1]) / (light[0] + light[1]);
}

/* Margin and land have light of their own, so that the flank may be lighter than the one and darker
 * than the other: each counts by its step. */
gboolean
wsi_relief_parts_faces (const WsImage *image, const WsOptics *optics, const WsReliefEdge *edge,
                        const WsReliefTangent *tangent)
{
  const double step_at = tangent->step_at;
  const Stretch stretches[2] = { { 0, step_at }, { step_at, HUGE_VAL } };
  double near = 0, far = 0;
  for (guint k = 0; k < 2; k++)
  {
    const double share = k == 0 ? step_at : MAX (tangent->length - step_at, 0);
    const double close =
      step_between (image, optics, edge, &stretches[k], STEP_NEAR_FROM, STEP_NEAR_TO);
    const double off =
      step_between (image, optics, edge, &stretches[k], STEP_FAR_FROM, STEP_FAR_TO);
    near += share * fabs (close);
    far += share * (close > 0 ? off : -off);
  }
  return far >= LEAST_LEFT * near;
}
