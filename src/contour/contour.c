#include <whetsight/contour.h>

#include "base/geometry.h"

WsPoint
ws_contour_point (const WsContourSegment *segment, double t)
{
  if (!(fabs (segment->sweep) > 0))
    return wsi_point_along (segment->from, t, wsi_point_sub (segment->to, segment->from));
  const WsPoint d = wsi_point_sub (segment->from, segment->centre);
  const double c = cos (t * segment->sweep), s = sin (t * segment->sweep);
  return wsi_point_add (segment->centre, wsi_point (c * d.x - s * d.y, s * d.x + c * d.y));
}

double
ws_contour_length (const WsContourSegment *segment)
{
  return fabs (segment->sweep) > 0 ? segment->radius * fabs (segment->sweep)
                                   : wsi_point_distance (segment->from, segment->to);
}

/* Whether an arc passes the direction `angle` from its centre. */
static gboolean
passes (const WsContourSegment *arc, double angle)
{
  const WsPoint d = wsi_point_sub (arc->from, arc->centre);
  double ahead = remainder (angle - atan2 (d.y, d.x), 2 * G_PI);
  if (arc->sweep > 0 && ahead < 0)
    ahead += 2 * G_PI;
  if (arc->sweep < 0 && ahead > 0)
    ahead -= 2 * G_PI;
  return fabs (ahead) <= fabs (arc->sweep);
}

void
ws_contour_heights (const WsContour *contour, double *least, double *greatest)
{
  *least = HUGE_VAL;
  *greatest = -HUGE_VAL;
  for (guint i = 0; i < contour->segments->len; i++)
  {
    const WsContourSegment *s = &g_array_index (contour->segments, WsContourSegment, i);
    *least = MIN (*least, MIN (s->from.y, s->to.y));
    *greatest = MAX (*greatest, MAX (s->from.y, s->to.y));
    if (fabs (s->sweep) > 0 && passes (s, G_PI / 2))
      *greatest = MAX (*greatest, s->centre.y + s->radius);
    if (fabs (s->sweep) > 0 && passes (s, -G_PI / 2))
      *least = MIN (*least, s->centre.y - s->radius);
  }
}

void
ws_contour_free (WsContour *contour)
{
  if (contour == NULL)
    return;
  g_array_unref (contour->segments);
  g_free (contour);
}
