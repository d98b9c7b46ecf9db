/*
 * Steps of light over the whole picture, with the body's axis upright.
 */
#ifndef WS_TOOL_DRILL_RELIEF_STEPS_H
#define WS_TOOL_DRILL_RELIEF_STEPS_H

#include "tool/drill/relief/axis.h"
#include "tool/drill/relief/plane.h"

#include <math.h>

G_BEGIN_DECLS

/* i counts away from the corner over the flank, square to the axis, j down along it, cells. */
typedef struct
{
  const WsReliefPlane *plane;
  WsPoint middle;     /* cell of the plane at (0.5 width, 0.5 height) */
  WsPoint away, down; /* unit */
  guint width, height;
  float *light; /* means over 3 x 3 cells, NAN outside the picture */
  float *step;  /* light above less light below, along an edge across */
} WsReliefSteps;

/* Rows above and below an edge that its step is read from. */
#define WS_RELIEF_ROWS 2

/* Clear with wsi_relief_steps_clear(). */
WsReliefSteps wsi_relief_steps_new (const WsReliefPlane *plane, const WsReliefAxis *axis);
void wsi_relief_steps_clear (WsReliefSteps *map);

/* The plane's cell at (i, j). */
WsPoint wsi_relief_steps_cell (const WsReliefSteps *map, double i, double j);

/* Light or step there, whichever `of` is; NAN outside.  Searches for corners do little else. */
static inline double
wsi_relief_steps_value (const WsReliefSteps *map, const float *of, double i, double j)
{
  const double x = i + 0.5, y = j + 0.5;
  if (!(x > 0 && y > 0 && x < map->width && y < map->height))
    return (double)NAN;
  /* Through signed numbers, which processors turn into at once. */
  return (double)of[(gsize)(gint)y * map->width + (gsize)(gint)x];
}

G_END_DECLS

#endif
