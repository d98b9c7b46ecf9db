#include "tool/face/grain.h"

#include "base/geometry.h"
#include "tool/flank/drawn.h"

/* Places of the flank, inside of its borders by so much of its length and depth. */
#define PLACES 60
#define MARGIN 0.2

/* How much light differs between places so far apart, px: NEAR ones by noise, and by grain, FAR
 * ones by grain alone. */
#define NEAR 2.0
#define FAR 6.0

/* Noise is as great at either; grain of a few px grows by so much, and a smear, which is all that
 * changes over its length, by more (photographs of sand-blasted and ground flanks: 2.4 to 4.2). */
#define LEAST_GROWTH 1.5
#define MOST_GROWTH 5.0

/* As sharp as square to it. */
#define ALIKE 0.6

static WsPoint
in_picture (const WsFace *face, const WsOptics *optics, double s, double d)
{
  const WsStrip *strip = &face->strip;
  return wsi_strip_picture (
    optics, wsi_point_along (wsi_point_along (strip->origin, s, strip->along), d, strip->inward));
}

static gboolean
light_at (const WsSampler *sampler, WsPoint at, double *light)
{
  WsLight seen;
  /* Between four pixels: the mean of them. */
  if (!wsi_sampler_at (sampler, wsi_point (floor (at.x) + 0.5, floor (at.y) + 0.5), &seen))
    return FALSE;
  *light = seen.g;
  return TRUE;
}

/* Mean square of the difference over `lag` along the edge (way 0) or away from it. */
static double
difference (const WsFace *face, const WsSampler *sampler, const WsOptics *optics, double depth,
            guint way, double lag)
{
  const double length = face->strip.length, inside = 1 - 2 * MARGIN;
  double sum = 0;
  guint n = 0;
  for (guint i = 0; i < PLACES; i++)
    for (guint k = 0; k < PLACES; k++)
    {
      const double s = length * (MARGIN + inside * i / PLACES);
      const double d = depth * (MARGIN + inside * k / PLACES);
      double here, there;
      if (!light_at (sampler, in_picture (face, optics, s, d), &here) ||
          !light_at (sampler,
                     in_picture (face, optics, s + (way == 0 ? lag : 0), d + (way == 1 ? lag : 0)),
                     &there))
        continue;
      sum += (there - here) * (there - here);
      n++;
    }
  return sum / MAX (n, 1);
}

void
wsi_face_grain (const WsFace *face, const WsSampler *sampler, const WsOptics *optics, double depth,
                gboolean sharp[2])
{
  double near[2], far[2];
  for (guint way = 0; way < 2; way++)
  {
    near[way] = difference (face, sampler, optics, depth, way, NEAR);
    far[way] = difference (face, sampler, optics, depth, way, FAR);
  }
  for (guint way = 0; way < 2; way++)
    sharp[way] = far[way] > LEAST_GROWTH * near[way] && far[way] < MOST_GROWTH * near[way] &&
                 far[way] > ALIKE * far[1 - way];
}

/* Inside of the borders. */
#define DRAWN_FROM_PX 3

gboolean
wsi_face_is_drawn (const WsFace *face, const WsSampler *sampler, const WsOptics *optics,
                   double depth)
{
  WsDrawn drawn = { 0 };
  for (guint d = DRAWN_FROM_PX; d < depth; d++)
    for (guint s = DRAWN_FROM_PX; s + DRAWN_FROM_PX < face->strip.length; s++)
    {
      wsi_drawn_look (&drawn, sampler->image,
                      wsi_strip_picture (optics, wsi_strip_place (&face->strip, s, d)));
    }
  return wsi_is_drawn (&drawn);
}
