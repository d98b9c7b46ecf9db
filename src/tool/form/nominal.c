#include "tool/form/nominal.h"

#include "base/geometry.h"

/* Neighbours whose directions differ by less join smoothly: chords of a curve, tangent arcs. */
#define SMOOTH_RAD 0.03

WsPoint
wsi_form_direction (const WsContourSegment *s, double t)
{
  if (!(fabs (s->sweep) > 0))
  {
    const WsPoint d = wsi_point_sub (s->to, s->from);
    const double length = MAX (wsi_point_length (d), 1e-12);
    return wsi_point (d.x / length, d.y / length);
  }
  const WsPoint r = wsi_point_sub (ws_contour_point (s, t), s->centre);
  const double sign = s->sweep > 0 ? 1 : -1;
  return wsi_point (-sign * r.y / s->radius, sign * r.x / s->radius);
}

void
wsi_form_nominal_clear (WsFormNominal *profile)
{
  g_free (profile->segments);
  g_free (profile->start);
  g_free (profile->corner);
}

WsPoint
wsi_form_px (WsPoint mm, double scale)
{
  return wsi_point (mm.x * scale, -mm.y * scale);
}

static void
find_corners (WsFormNominal *profile)
{
  for (guint i = 0; i < profile->n; i++)
  {
    const guint before = i > 0 ? i - 1 : profile->n - 1;
    const WsPoint a = wsi_form_direction (&profile->segments[before], 1),
                  b = wsi_form_direction (&profile->segments[i], 0);
    const double turn = fabs (atan2 (wsi_point_cross (a, b), wsi_point_dot (a, b)));
    const gboolean joint = profile->segments[before].number != profile->segments[i].number;
    profile->corner[i] = turn > SMOOTH_RAD || joint || (i == 0 && !profile->is_closed);
  }
}

void
wsi_form_nominal_init (WsFormNominal *profile, const WsContour *contour, double scale)
{
  profile->n = contour->segments->len;
  profile->segments = g_new (WsContourSegment, profile->n);
  profile->start = g_new (double, profile->n);
  profile->corner = g_new0 (gboolean, profile->n);
  profile->is_closed = contour->is_closed;
  profile->length = 0;
  WsPoint low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };
  for (guint i = 0; i < profile->n; i++)
  {
    WsContourSegment s = g_array_index (contour->segments, WsContourSegment, i);
    s.from = wsi_form_px (s.from, scale);
    s.to = wsi_form_px (s.to, scale);
    s.centre = wsi_form_px (s.centre, scale);
    s.radius *= scale;
    s.sweep = -s.sweep;
    profile->segments[i] = s;
    profile->start[i] = profile->length;
    profile->length += ws_contour_length (&s);
    low = wsi_point (MIN (low.x, MIN (s.from.x, s.to.x)), MIN (low.y, MIN (s.from.y, s.to.y)));
    high = wsi_point (MAX (high.x, MAX (s.from.x, s.to.x)), MAX (high.y, MAX (s.from.y, s.to.y)));
  }
  profile->size = hypot (high.x - low.x, high.y - low.y);
  find_corners (profile);
}

/* Part of the arc at which the direction from its centre is that of p; clamped to its ends. */
static double
arc_part (const WsContourSegment *s, WsPoint p)
{
  const WsPoint a = wsi_point_sub (s->from, s->centre), b = wsi_point_sub (p, s->centre);
  double ahead = atan2 (wsi_point_cross (a, b), wsi_point_dot (a, b));
  /* Directions beyond the arc's middle by half a circle belong to the nearer end. */
  const double middle = 0.5 * s->sweep;
  ahead = middle + remainder (ahead - middle, 2 * G_PI);
  return CLAMP (ahead / s->sweep, 0, 1);
}

static double
line_part (const WsContourSegment *s, WsPoint p)
{
  const WsPoint run = wsi_point_sub (s->to, s->from);
  const double squares = MAX (wsi_point_dot (run, run), 1e-18);
  return CLAMP (wsi_point_dot (wsi_point_sub (p, s->from), run) / squares, 0, 1);
}

static gboolean
may_be_nearer (const WsContourSegment *s, WsPoint p, double than)
{
  if (fabs (s->sweep) > 0)
    return fabs (wsi_point_distance (p, s->centre) - s->radius) < than;
  return p.x > MIN (s->from.x, s->to.x) - than && p.x < MAX (s->from.x, s->to.x) + than &&
         p.y > MIN (s->from.y, s->to.y) - than && p.y < MAX (s->from.y, s->to.y) + than;
}

WsFormFoot
wsi_form_nominal_nearest (const WsFormNominal *profile, WsPoint p, WsPoint heading, double reach)
{
  WsFormFoot best = { .distance = HUGE_VAL };
  double limit = reach;
  for (guint i = 0; i < profile->n; i++)
  {
    const WsContourSegment *s = &profile->segments[i];
    if (!may_be_nearer (s, p, limit))
      continue;
    const double t = fabs (s->sweep) > 0 ? arc_part (s, p) : line_part (s, p);
    const WsPoint foot = ws_contour_point (s, t);
    const double distance = wsi_point_distance (foot, p);
    if (distance >= limit || wsi_point_dot (wsi_form_direction (s, t), heading) < 0.8)
      continue;
    best = (WsFormFoot){ distance, i, t, foot };
    limit = distance;
  }
  return best;
}

gboolean
wsi_form_nominal_near_corner (const WsFormNominal *profile, const WsFormFoot *foot, double reach)
{
  double run = foot->t * ws_contour_length (&profile->segments[foot->segment]);
  for (guint i = foot->segment; run < reach; i--)
  {
    if (profile->corner[i])
      return TRUE;
    if (i == 0)
      break;
    run += ws_contour_length (&profile->segments[i - 1]);
  }
  run = (1 - foot->t) * ws_contour_length (&profile->segments[foot->segment]);
  for (guint i = foot->segment + 1; run < reach && i < profile->n; i++)
  {
    if (profile->corner[i])
      return TRUE;
    run += ws_contour_length (&profile->segments[i]);
  }
  return run < reach && profile->corner[0];
}

gboolean
wsi_form_nominal_beyond_ends (const WsFormNominal *profile, const WsFormFoot *foot)
{
  if (profile->is_closed)
    return FALSE;
  return (foot->segment == 0 && !(foot->t > 0)) ||
         (foot->segment == profile->n - 1 && !(foot->t < 1));
}
