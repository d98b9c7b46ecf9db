#include "tool/drill/relief/steps.h"

#include "base/geometry.h"

/* Cells averaged along an edge, to both sides. */
#define ALONG 2

WsPoint
wsi_relief_steps_cell (const WsReliefSteps *map, double i, double j)
{
  return wsi_point_along (wsi_point_along (map->middle, i - 0.5 * map->width, map->away),
                          j - 0.5 * map->height, map->down);
}

static void
fill_light (WsReliefSteps *map)
{
  for (guint j = 0; j < map->height; j++)
    for (guint i = 0; i < map->width; i++)
    {
      double sum = 0;
      for (gint k = 0; k < 9; k++)
      {
        const gint row = k / 3;
        const WsPoint p = wsi_relief_steps_cell (map, (gint)i + k % 3 - 1, (gint)j + row - 1);
        sum += wsi_relief_light (map->plane, p.x, p.y);
      }
      map->light[(gsize)j * map->width + i] = (float)(sum / 9);
    }
}

/* Light above less light below a place. */
static double
fall_at (const WsReliefSteps *map, gint i, gint j)
{
  double sum = 0;
  for (gint k = -ALONG; k <= ALONG; k++)
    sum += wsi_relief_steps_value (map, map->light, i + k, j - WS_RELIEF_ROWS) -
           wsi_relief_steps_value (map, map->light, i + k, j + WS_RELIEF_ROWS);
  return sum / (2 * ALONG + 1);
}

/* Where light falls evenly there is no edge: so many rows off the same is taken away. */
#define OFF_ROWS 5

static void
fill_steps (WsReliefSteps *map)
{
  for (gint j = 0; j < (gint)map->height; j++)
    for (gint i = 0; i < (gint)map->width; i++)
    {
      const double here = fall_at (map, i, j);
      const double even = 0.5 * (fall_at (map, i, j - OFF_ROWS) + fall_at (map, i, j + OFF_ROWS));
      const double left = even * here > 0 ? MAX (fabs (here) - fabs (even), 0) : fabs (here);
      map->step[(gsize)j * map->width + (guint)i] = (float)(isnan (even) ? NAN
                                                            : here > 0   ? left
                                                                         : -left);
    }
}

WsReliefSteps
wsi_relief_steps_new (const WsReliefPlane *plane, const WsReliefAxis *axis)
{
  const gsize n = (gsize)plane->width * plane->height;
  WsReliefSteps map = { plane,
                        wsi_point (0.5 * plane->width, 0.5 * plane->height),
                        wsi_point (-axis->inward.x, -axis->inward.y),
                        wsi_point (-axis->up.x, -axis->up.y),
                        plane->width,
                        plane->height,
                        g_new (float, n),
                        g_new (float, n) };
  fill_light (&map);
  fill_steps (&map);
  return map;
}

void
wsi_relief_steps_clear (WsReliefSteps *map)
{
  g_clear_pointer (&map->light, g_free);
  g_clear_pointer (&map->step, g_free);
}
