#include "edge/find/exposure.h"

#include "image/light.h"

#include <math.h>

/* Where the ground's level is taken from, blurs and px from the edge: as far as scan lines reach
 * (outline.c). */
#define FROM_BLURS 1.5
#define TO_BLURS 4.5
#define TO_PX 2.0

/* Neighbours on the outline whose ground is judged together. */
#define NEIGHBOURS 25

/*
 * Noise alone lifts some pixels to full scale, where the ground is just below it.  Of a normal
 * distribution cut at its upper 15 % the mean is less by 0.08 of its deviation, which moves the
 * half-level place of a blurred step by 0.1 s times noise over step: nothing.  Where more is cut,
 * the light may be anything above full scale.
 */
#define MAX_LOCAL 0.15

/* Half an 8-bit code below full scale, as in segment.c. */
#define FULL (WS_IMAGE_FULL_SCALE - WS_IMAGE_FULL_SCALE / 250)

typedef struct
{
  double clipped, seen; /* pixels */
} Count;

static Count
count_beside (const WsImage *image, const WsEdgePoint *p, double blur)
{
  Count count = { 0, 0 };
  const double to = TO_BLURS * blur + TO_PX;
  for (double d = FROM_BLURS * blur; d <= to; d += 1)
  {
    const double x = floor (p->x + d * (double)p->nx + 0.5);
    const double y = floor (p->y + d * (double)p->ny + 0.5);
    if (x < 0 || y < 0 || x >= image->width || y >= image->height)
      continue;
    count.seen += 1;
    count.clipped += wsi_image_light_at (image, (guint)x, (guint)y) >= FULL ? 1 : 0;
  }
  return count;
}

double
wsi_exposure_clipped (const WsImage *image, const WsOutline *outline)
{
  const WsEdgePoint *points = (const WsEdgePoint *)(void *)outline->points->data;
  Count here = { 0, 0 };
  guint n = 0, bad = 0, gathered = 0;
  for (guint i = 0; i < outline->points->len; i++)
  {
    if (points[i].on_frame)
      continue;
    const Count more = count_beside (image, &points[i], outline->blur_px);
    here.clipped += more.clipped;
    here.seen += more.seen;
    if (++gathered < NEIGHBOURS)
      continue;
    n++;
    bad += here.clipped > MAX_LOCAL * here.seen ? 1 : 0;
    here = (Count){ 0, 0 };
    gathered = 0;
  }
  return n > 0 ? (double)bad / n : 0;
}
