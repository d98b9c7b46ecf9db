#include "edge/find/shelf.h"

#include "edge/find/lit.h"
#include "image/light.h"

#include <math.h>

/* Where to look for the ground, blurs and px beyond the edge: past the edge's own blur, before the
 * far side of any but the narrowest face. */
#define BEYOND_BLURS 3.0
#define BEYOND_PX 1.0
#define LOOK_PX 3

/* Light that differs from the ground by more than this part of the step isn't ground: several
 * times what uneven light leaves over, half of what the raised threshold leaves.  Own choice. */
#define MAX_DIFFERENCE 0.15

/* Part of the step from the ground at which a raised threshold lies: some five deviations of a
 * noisy ground away from it.  Own choice. */
#define TAKEN_IN 0.25

static double
light_at (const WsImage *image, double x, double y)
{
  const double column = floor (x + 0.5), row = floor (y + 0.5);
  if (column < 0 || row < 0 || column >= image->width || row >= image->height)
    return NAN;
  return wsi_image_light_at (image, (guint)column, (guint)row) / (double)WS_IMAGE_FULL_SCALE;
}

/* Mean light beyond a point of the outline; NAN outside the picture. */
static double
light_beyond (const WsImage *image, const WsEdgePoint *p, double blur)
{
  const double from = BEYOND_BLURS * blur + BEYOND_PX;
  double sum = 0;
  for (guint i = 0; i < LOOK_PX; i++)
    sum += light_at (image, p->x + (from + i) * (double)p->nx, p->y + (from + i) * (double)p->ny);
  return sum / LOOK_PX;
}

double
wsi_shelf_share (const WsImage *image, const WsSegment *segment, const WsOutline *outline)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  const double step = fabs (segment->ground_level - segment->tool_level);
  guint n = 0, wrong = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    const WsEdgePoint *p = &points[i];
    if (p->on_frame)
      continue;
    const double ground =
      2 * wsi_level_at (&segment->threshold, image, p->x, p->y) - segment->tool_level;
    const double light = light_beyond (image, p, outline->blur_px);
    if (isfinite (light))
      n++;
    if (fabs (light - ground) > MAX_DIFFERENCE * step) /* never where it is NAN */
      wrong++;
  }
  return n > 0 ? (double)wrong / n : 0;
}

/* RMS residual over step of a scan line that is no single step: as the gate of silhouette.c. */
#define MAX_RESIDUAL 0.12f

double
wsi_shelf_unclean (const WsOutline *outline)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  guint n = 0, wrong = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    if (points[i].on_frame)
      continue;
    n++;
    wrong += points[i].noise > MAX_RESIDUAL ? 1 : 0;
  }
  return n > 0 ? (double)wrong / n : 0;
}

gboolean
wsi_shelf_may_be (const WsSegment *segment)
{
  return segment->tool_is_dark && wsi_is_front_lit (segment->tool_level, segment->ground_level);
}

void
wsi_shelf_take_in (WsSegment *segment)
{
  /* The threshold is half of ground and tool together. */
  const double rest = 2 * (1 - TAKEN_IN);
  for (guint k = 0; k < G_N_ELEMENTS (segment->threshold.c); k++)
    segment->threshold.c[k] *= rest;
  segment->threshold.c[0] -= (rest - 1) * segment->tool_level;
}
